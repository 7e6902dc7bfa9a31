"""Grades, alone and in pairs, and what each of them is the grade of."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.claims.draft import JACKET, RECORD
from sayso.claims.tokens import fold, spans
from sayso.lexicon.terms import Term

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon


_BETWEEN = re.compile(r"\s*[/|]\s*|\s+")
_STOP = re.compile(r"[.;]\s")


@lru_cache(maxsize=8)
def _grades(lexicon: Lexicon) -> tuple[re.Pattern[str], frozenset[str]]:
    """The grades as one expression, and the words with which they begin."""
    symbols = sorted({f for w in lexicon.words if w.kind == "grade" for f in w.forms}, key=len, reverse=True)
    words = sorted({f for w in lexicon.words if w.kind == "grade_word" for f in w.forms}, key=len, reverse=True)
    firsts = frozenset(fold(f)[a:b].lower() for f in (*symbols, *words) for a, b in spans(fold(f))[:1])
    pattern = re.compile(
        rf"(?<![A-Za-zÀ-ɏ0-9_+'-])(?:(?P<s>(?:{'|'.join(symbols)})(?:\s?\+\+|\s?\+|-(?!\w))?)(?![A-Za-zÀ-ɏ0-9_'&])|(?<![A-Za-zÀ-ɏ0-9_])(?P<w>{'|'.join(words)})(?![A-Za-zÀ-ɏ0-9_]))"
    )
    return pattern, firsts


def _found(draft: Draft) -> Iterator[re.Match[str]]:
    """All grades of the text, from left to right."""
    pattern, firsts = _grades(draft.lexicon)
    a = draft.a
    if not a.folded.isascii():
        yield from pattern.finditer(a.folded)
        return
    # In plain text a grade begins where a word does, or within letters parted by full stops.
    done = 0
    for (start, end), word in zip(a.toks, a.words, strict=True):
        if word in firsts or (word[1:2] == "." and end - start > 2):
            for at in range(start, end, 2) if word not in firsts else (start,):
                m = pattern.match(a.folded, at) if at >= done else None
                if m is not None:
                    yield m
                    done = m.end()


def read_grades(draft: Draft) -> None:
    found = [m for m in _found(draft) if draft.claiming(m.start())]
    used: set[int] = set()
    for n, m in enumerate(found):
        if n in used:
            continue
        nxt = found[n + 1] if n + 1 < len(found) else None
        gap = draft.a.folded[m.end() : nxt.start()] if nxt else ""
        part = _grade_part(draft, m.start(), m.end())
        symbol = m.group("s") or ""
        if nxt and nxt.group("s") and _BETWEEN.fullmatch(gap) and (part is None or ("/" in gap and not part[1])):
            used.add(n + 1)
            line_a, line_b = draft.a.line(m.start())
            order = (RECORD, JACKET)
            first = [value for _, value in draft.parts(line_a, min(line_b, line_a + 2000), "disc", "jacket")]
            if len(first) >= 2 and first[0] == "jacket":
                order = (JACKET, RECORD)
            for feature, g in zip(order, (m, nxt), strict=True):
                _grade(draft, feature, g)
            continue
        if part is None:
            if m.group("w") or (len(re.sub(r"[+-]", "", symbol)) < 2 and not re.search(r"[+-]", symbol)):
                continue
            feature = RECORD
        else:
            if m.group("w") and not part[1]:
                continue
            feature = JACKET if part[0] == "jacket" else RECORD
        if len(symbol) == 1 and (part is None or not part[1]):
            continue
        _grade(draft, feature, m)


def _grade(draft: Draft, feature: str, m: re.Match[str]) -> None:
    said = draft.a.assertion(m.start(), m.end())
    value = re.sub(r"\s+(?=\+)", "", m.group())
    draft.add(feature, m.start(), m.end(), said, "present", value, None, rule="grade")


def _grade_part(draft: Draft, start: int, end: int) -> tuple[str, bool] | None:
    """Record or jacket, and whether the noun stands right beside the grade."""
    a, _ = draft.a.line(start)
    _, b = draft.a.sentence(start)
    best: tuple[int, str] | None = None
    named = [(p, value) for p, value in draft.parts(max(a, start - 300), min(b, end + 100), "disc", "jacket")]
    built = [h for h in draft.a.within("term", max(a, start - 40), start) if isinstance(h.row, Term)]
    named += [(h, "jacket") for h in built if h.row.feature == "jacket.construction"]  # type: ignore[union-attr]
    for p, value in named:
        at, to = draft.a.toks[p.i][0], draft.a.toks[p.j - 1][1]
        if to <= start and at >= a:
            far = start - to
            if best is not None and far >= best[0]:
                continue
            far += 30 if _STOP.search(draft.a.folded[to:start]) else 0
        elif at >= end and at < b:
            between = draft.a.folded[end:at]
            if "," in between or "/" in between:
                continue
            far = 0 if between == " " else len(between) + 25
        else:
            continue
        if best is None or far < best[0]:
            best = far, value
    return (best[1], best[0] <= 14) if best else None
