"""Which elements a page hides: by attribute, by inline style, by the simple rules of its own style sheets."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

_HIDING = re.compile(
    r"(?:^|[;{\s])(?:display\s*:\s*none|visibility\s*:\s*(?:hidden|collapse)|opacity\s*:\s*0(?:\.0+)?\s*(?:[;!}]|$)"
    r"|font-size\s*:\s*0[a-z%]*\s*(?:[;!}]|$)|content-visibility\s*:\s*hidden)",
    re.I,
)
_STRIKING = re.compile(r"text-decoration(?:-line)?\s*:\s*[^;]*line-through", re.I)
_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_COMPOUND = re.compile(r"^([a-zA-Z][\w-]*|\*)?((?:[.#][\w-]+)*)$")
_PIECE = re.compile(r"[.#][\w-]+")
MOST_RULES = 5_000
"""Style rules read at most; a listing that hides text does it in the first few."""

Compound = tuple[str, frozenset[str], frozenset[str]]  # tag or '', classes, ids


def hides(style: str) -> bool:
    """True where this inline style makes its element invisible."""
    return bool(style) and bool(_HIDING.search(style))


def strikes(style: str) -> bool:
    """True where this inline style strikes its text out."""
    return bool(style) and bool(_STRIKING.search(style))


def _rules(css: str) -> Iterable[tuple[str, str]]:
    """(selectors, declarations) outside of conditional groups, and inside of those for all media or the screen."""
    css = _COMMENT.sub(" ", css)
    at, skipped, end = 0, 0, len(css)
    while at < end:
        opened = css.find("{", at)
        if opened < 0:
            return
        head = css[at:opened].rsplit(";", 1)[-1].strip().lstrip("}").strip()
        if head.startswith("@"):
            if re.match(r"@media\s+(?:all|screen|only\s+screen)\s*$", head, re.I):
                at = opened + 1  # its rules count: read on inside the group
                continue
            depth, at = 1, opened + 1
            while depth and at < end:
                brace = re.compile(r"[{}]").search(css, at)
                if brace is None:
                    return
                depth += 1 if brace.group() == "{" else -1
                at = brace.end()
            continue
        closed = css.find("}", opened)
        if closed < 0:
            closed = end
        yield head, css[opened + 1 : closed]
        skipped += 1
        if skipped >= MOST_RULES:
            return
        at = closed + 1


def _compound(text: str) -> Compound | None:
    match = _COMPOUND.match(text)
    if match is None or not text:
        return None
    pieces = _PIECE.findall(match[2] or "")
    tag = (match[1] or "").lower()
    return (
        "" if tag == "*" else tag,
        frozenset(p[1:] for p in pieces if p[0] == "."),
        frozenset(p[1:] for p in pieces if p[0] == "#"),
    )


class Sheet:
    """The hiding rules of a page. Selectors are compounds of tag, class and id, alone or one inside the other."""

    def __init__(self, sheets: Iterable[str] = ()) -> None:
        chains: dict[str, tuple[Compound, ...]] = {}
        for css in sheets:
            for selectors, declarations in _rules(css):
                display = re.search(r"(?:^|[;\s])(?:display|visibility)\s*:\s*([\w-]+)", declarations, re.I)
                hidden = hides(declarations)
                if not hidden and display is None:
                    continue
                for selector in selectors.split(","):
                    key = " ".join(selector.split())
                    if not hidden:
                        chains.pop(key, None)  # shown again by a later rule
                        continue
                    chain = tuple(_compound(part) for part in key.split(" "))
                    whole = tuple(c for c in chain if c is not None)
                    # Selectors with states, attributes or other combinators are left alone: to hide what a reader
                    # can see is the worse mistake.
                    if chain and len(whole) == len(chain) and whole[-1] != ("", frozenset(), frozenset()):
                        chains[key] = whole
        self._by_key: dict[str, list[tuple[Compound, ...]]] = {}
        for chain_ in chains.values():
            tag, classes, ids = chain_[-1]
            key = "#" + min(ids) if ids else "." + min(classes) if classes else tag
            self._by_key.setdefault(key, []).append(chain_)

    def hides(self, tag: Any) -> bool:
        """True where a rule of the sheets makes this element invisible."""
        if not self._by_key:
            return False
        keys = [tag.name, *("." + c for c in classes_of(tag)), "#" + str(tag.get("id") or "")]
        return any(_chain_fits(tag, chain) for key in keys for chain in self._by_key.get(key, ()))


def classes_of(tag: Any) -> list[str]:
    """The classes of an element."""
    value = tag.get("class") or []
    return value.split() if isinstance(value, str) else [str(v) for v in value]


def _fits(tag: Any, compound: Compound) -> bool:
    name, classes, ids = compound
    return (
        (not name or tag.name == name)
        and classes <= set(classes_of(tag))
        and (not ids or ids == {str(tag.get("id") or "")})
    )


def _chain_fits(tag: Any, chain: tuple[Compound, ...]) -> bool:
    if not _fits(tag, chain[-1]):
        return False
    wanted, above, steps = len(chain) - 2, tag.parent, 0
    while wanted >= 0 and above is not None and steps < 200:
        if _fits(above, chain[wanted]):
            wanted -= 1
        above, steps = above.parent, steps + 1
    return wanted < 0
