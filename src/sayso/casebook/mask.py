"""Masks how to reach people in what is stored: e-mail addresses, telephone numbers, sellers' names.

Every masked character becomes one '*', so that offsets into the text still hold. Numbers that are printed or cut on a
record are left alone: bar codes (their check digit is right), and whatever a claim about numbers or addresses quotes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sayso.claims.gtin import is_gtin

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit

MASK = "*"
_EMAIL = re.compile(r"[\w.+%-]{1,64}\s?(?:@|\(at\)|\[at\])\s?[\w-]{1,63}(?:\.[\w-]{1,63}){1,4}", re.IGNORECASE)
_HANDLE = re.compile(r"(?<![\w@.])@[A-Za-z_][\w.]{2,29}")
_NUMBER = re.compile(r"(?<![\w*])(?:\+|00)?\(?\d[\d\s()./-]{5,18}\d(?!\w)")
_NEAR = 24
"""A number is a telephone's where words for one stand at most so many characters before it."""
_SIGNED = r"[ \t]*[,.:!]?[ \t\n]*(?:[-–~][ \t]*)?"
_NAME = r"(?-i:[^\W\d_a-z][\w.'’-]*)(?:[ \t]+(?-i:[^\W\d_a-z][\w.'’-]*)){0,2}"
PRINTED = ("label.", "deadwax.", "jacket.", "identity.", "inner.")
"""What is printed or cut on a record; numbers and addresses there are no seller's."""


def contacts(
    text: str, lexicon: Lexicon, *, names: Iterable[str] = (), keep: Sequence[tuple[int, int]] = ()
) -> list[tuple[int, int]]:
    """Where contacts stand in `text`, in order. `names` are sellers' names known apart; spans in `keep` are left."""
    words = _words(lexicon)
    found = [m.span() for m in _EMAIL.finditer(text)] + [m.span() for m in _HANDLE.finditer(text)]
    found += [m.span() for m in _NUMBER.finditer(text) if _telephone(text, m, words)]
    for kind in ("reply_closing", "seller_key"):
        if kind in words:
            shape = re.compile(rf"(?:{words[kind]}){_SIGNED}({_NAME})[ \t]*(?:$|[.!,\n])", re.IGNORECASE | re.MULTILINE)
            found += [m.span(1) for m in shape.finditer(text)]
    for name in names:
        if len(name.strip()) >= 3:
            found += [m.span() for m in re.finditer(rf"(?<!\w){re.escape(name.strip())}(?!\w)", text, re.IGNORECASE)]
    free = [(a, b) for a, b in found if not any(c < b and a < d for c, d in keep)]
    merged: list[tuple[int, int]] = []
    for a, b in sorted(free):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _telephone(text: str, m: re.Match[str], words: dict[str, str]) -> bool:
    digits = re.sub(r"\D", "", m.group())
    if not 7 <= len(digits) <= 15:
        return False
    before = text[max(0, m.start() - _NEAR) : m.start()]
    if "phone_key" in words and re.search(rf"(?:{words['phone_key']})\W*$", before, re.IGNORECASE):
        return True
    if m.group().startswith("+"):
        return len(digits) >= 9
    if is_gtin(digits):
        return False
    if re.fullmatch(r"(?:19|20)\d\d\s*[-–/]\s*(?:19|20)\d\d", m.group().strip()):
        return False
    if m.group().startswith("0"):
        return len(digits) >= 9
    return bool(re.fullmatch(r"\(?\d{3}\)?[\s./-]\d{3}[\s./-]\d{4}", m.group().strip()))


def _words(lexicon: Lexicon) -> dict[str, str]:
    from sayso.replies.words import pattern

    out: dict[str, list[str]] = {}
    for row in lexicon.words:
        if row.kind in ("reply_closing", "seller_key", "phone_key"):
            out.setdefault(row.kind, []).extend(row.forms)
    return {kind: pattern(forms).pattern for kind, forms in out.items()}


def masked(text: str, spans: Iterable[tuple[int, int]]) -> str:
    """`text` with these spans as '*', character by character; line ends stay."""
    chars = list(text)
    for a, b in spans:
        chars[a:b] = [c if c.isspace() else MASK for c in chars[a:b]]
    return "".join(chars)


def mask_text(text: str, lexicon: Lexicon, names: Iterable[str] = ()) -> str:
    """A text that stands alone (a note, a message) without contacts."""
    return masked(text, contacts(text, lexicon, names=names))


def mask_audit(data: dict[str, Any], audit: Audit, lexicon: Lexicon) -> dict[str, Any]:
    """The JSON form of an audit, or of a reply that holds one under `audit`, without contacts."""
    text = audit.listing.text
    keep = [(c.start, c.end) for c in audit.claims if c.feature.startswith(PRINTED)]
    names = [audit.listing.seller] if audit.listing.seller else []
    spans = contacts(text, lexicon, names=names, keep=keep)
    clean = masked(text, spans)
    # Words that were masked must not survive in sentences that quote them.
    secrets = sorted({text[a:b] for a, b in spans} | set(names), key=len, reverse=True)
    start = int(data.get("reply_start", 0))
    return _Walk(clean, secrets, start).of(data)  # type: ignore[no-any-return]


class _Walk:
    """Goes through a JSON form: quotes are cut anew from the masked text, other words lose the secrets they repeat."""

    def __init__(self, text: str, secrets: Sequence[str], reply_start: int) -> None:
        self._text, self._secrets, self._reply_start = text, secrets, reply_start

    def of(self, node: Any, key: str = "", base: int = 0) -> Any:
        if isinstance(node, dict):
            return self._table(node, base)
        if isinstance(node, list):
            under = self._reply_start if key == "passages" else base
            return [self.of(x, key, under) for x in node]
        return self._plain(node) if isinstance(node, str) and key != "url" else node

    def _table(self, node: dict[str, Any], base: int) -> dict[str, Any]:
        out: dict[str, Any] = {}
        for key, value in node.items():
            if key == "text" and "segments" in node:
                out[key] = self._text
            elif key == "seller" and "segments" in node:
                out[key] = None
            elif key == "quote" and isinstance(node.get("start"), int) and isinstance(node.get("end"), int):
                out[key] = self._text[base + node["start"] : base + node["end"]]
            else:
                out[key] = self.of(value, key, base)
        return out

    def _plain(self, text: str) -> str:
        for secret in self._secrets:
            if secret in text:
                text = text.replace(secret, masked(secret, [(0, len(secret))]))
        return text
