"""Years with their role, and weights."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sayso.claims.index import CLASS
from sayso.claims.measures import decade_words, decades, weights
from sayso.lexicon.scan import scan
from sayso.model import Role

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_YEAR = scan(
    r"(?:(?<![A-Za-z0-9./-])|(?<=\bc\.)|(?<=\bca\.))(?:(19[2-9]\d|20[0-2]\d)(s?)|'(\d\d)|((?:19)?[2-9]0)'?s)(?![A-Za-z0-9/])"
)

_CAPITALS = re.compile(r"(?<![A-Za-z])([A-Z]{2,4}|[a-z]{2,4})(?:-|[ ]{1,3})$")
_NAME = re.compile(r"([A-Za-z][a-z]{3,})[\s:,(-]+$")
_SIDE_CODE = re.compile(r" ?[-/]? ?[AB](?:[ -]?\d|\b)")


@dataclass(frozen=True)
class _When:
    """A year or a decade in the text."""

    start: int
    end: int
    value: str | int
    bare: bool
    """A decade without its century, which may be a kind of music ('70s soul')."""


def _when(draft: Draft) -> Iterator[_When]:
    text = draft.a.folded
    for m in _YEAR.finditer(text):
        if m.group(1):
            value: str | int = m.group(1) + "s" if m.group(2) else int(m.group(1))
        else:
            value = 1900 + int(m.group(3)) if m.group(3) else f"19{m.group(4)[-2:]}s"
        yield _When(m.start(), m.end(), value, bool(m.group(4) and not m.group(2)))
    if draft.a.tongue is None and "ties" not in text:
        return
    words = decade_words(draft.lexicon)
    for m in decades(draft.lexicon).finditer(text):
        figures = m.group(1) or m.group(2)
        yield _When(
            m.start(), m.end(), f"19{figures}s" if figures else words[" ".join(m.group().lower().split())], True
        )


def read_years(draft: Draft) -> None:
    taken: list[_When] = []
    for m in sorted(_when(draft), key=lambda w: w.start - w.end):
        if not any(o.start < m.end and m.start < o.end for o in taken):
            taken.append(m)
    for m in sorted(taken, key=lambda w: w.start):
        _year(draft, m)


def _numbered(draft: Draft, m: _When) -> bool:
    """'Zilverduin ZD 1967': behind capitals that shorten the label's name, or as often as they, a catalogue number."""
    before = _CAPITALS.search(draft.a.folded, max(0, m.start - 7), m.start)
    if before is None or not isinstance(m.value, int):
        return False
    if before.group(1).islower() and (before.group(1) in draft.a.index.known or draft.a.tongue is None):
        return False
    name = _NAME.search(draft.a.folded, max(0, before.start() - 30), before.start())
    letters = iter(name.group(1).lower()) if name else iter("")
    if (
        name
        and name.group(1)[0].lower() == before.group(1)[0].lower()
        and all(c in letters for c in before.group(1).lower())
    ):
        return True
    if before.group(1).islower():
        return False
    if draft.a.segment(m.start).kind == "title" and before.group(1).lower() not in draft.a.index.known:
        return True  # 'SBK 2007': capitals that mean nothing else
    side = _SIDE_CODE.match(draft.a.folded, m.end)
    # The same capitals before other numbers, or the same number twice.
    numbers = re.findall(rf"\b{before.group(1)}[ -]{{0,3}}(\d{{3,}})\b", draft.a.folded)
    return side is not None or len(numbers) > 1


def _year(draft: Draft, m: _When) -> None:
    if not draft.claiming(m.start) or _numbered(draft, m) or _of_something_else(draft, m):
        return
    a, b = draft.a.sentence(m.start)
    role = ""
    best, length = 40, 0
    for h in draft.a.within("role", max(a, m.start - 80), min(b, m.end + 80)):
        at, to = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        far = m.start - to if to <= m.start else at - m.end + 1
        # 'Reissue of the 1957 LP' binds its whole phrase to the year behind it, '1978 reissue of …' its first word.
        further = h.j - h.i > 1 if to <= m.start else h.j - h.i < length
        if at > m.end and _of_the_next(draft, m.end, at, to):
            continue
        if 0 <= far < best or (0 <= far == best and further):
            best, length, role = far, h.j - h.i, str(h.row.value) or "none"  # type: ignore[union-attr]
    if role == "none" or (
        best == 40 and m.bare and not draft.a.of("decade_part", draft.a.token(m.start) - 1, draft.a.token(m.start))
    ):
        return
    if _of_the_player(draft, m) or _of_a_life(draft, m):
        return
    said = draft.a.assertion(m.start, m.end)
    if said.polarity == "absent" and role != "pressed":
        return
    if said.polarity == "absent" and not draft.a.folded.endswith(" in ", 0, m.start):
        return
    means: Role = role if role in ("pressed", "released", "recorded") else "unspecified"  # type: ignore[assignment]
    draft.add("edition.year", m.start, m.end, said, said.polarity, m.value, None, role=means, rule="year")


_NEXT_YEAR = re.compile(r"[^,;.\n]{0,24}?(?<!\d)(?:19[2-9]\d|20[0-2]\d)(?!\d)")


def _of_the_next(draft: Draft, end: int, at: int, to: int) -> bool:
    """'Released in 1957, this pressing 1961': behind a comma, with a year of its own, the word is of that one."""
    return any(c in draft.a.folded[end:at] for c in ",;") and bool(_NEXT_YEAR.match(draft.a.folded, to))


def _of_something_else(draft: Draft, m: _When) -> bool:
    """'Cat. no. 1958', 'est. 1987', 'at our place in 1977': what stands right before says what the figures are."""
    i = draft.a.token(m.start)
    near = draft.a.of("year_else", i - 6, i)
    return any(h.j == i or (h.j == i - 1 and draft.a.words[h.j] in (":", ".", "#", "-")) for h in near)


def _of_the_player(draft: Draft, m: _When) -> bool:
    """'Tested on a 1970s deck': the year is that of what the record was played on."""
    i = draft.a.token(m.end)
    return any(all(w.isalpha() for w in draft.a.words[i : h.i]) for h in draft.a.of(f"{CLASS}player", i, i + _GEAR + 1))


def _of_a_life(draft: Draft, m: _When) -> bool:
    """'Hadley Marsh (1921-1979)': a span of years in brackets behind a name is that of a life or a career."""
    text = draft.a.folded
    behind, before = _TO_A_YEAR.match(text, m.end), _FROM_A_YEAR.search(text, max(m.start - 8, 0), m.start)
    at = m.start if behind else before.start() if before else -1
    return at > 0 and bool(_BRACKET.search(text, max(at - _NAMED, 0), at))


_TO_A_YEAR = re.compile(r"\s?-\s?(?:\d{4}|\d{2})\)")
_FROM_A_YEAR = re.compile(r"\d{4}\s?-\s?$")
_BRACKET = re.compile(r"[A-Z][\w.'’-]+ \((?:b\. ?|born )?$")
_NAMED = 30
_GEAR = 2
"""So many words may stand between a year and the player."""


def read_weights(draft: Draft) -> None:
    for m in weights(draft.lexicon).finditer(draft.a.folded):
        if 30 <= int(m.group(1)) <= 400 and not _of_the_parcel(draft, m.start(), m.end()):
            said = draft.a.assertion(m.start(), m.end())
            if draft.a.tongue and said.cues and all(c.kind in ("approx", "hearsay") for c in said.cues):
                # A kitchen scale is never exact, and what it says is no hearsay ('laut Waage ca. 138 g').
                said = replace(said, certainty="certain", status="affirmed", attribution="seller")
            draft.add("disc.weight", m.start(), m.end(), said, said.polarity, int(m.group(1)), None, rule="weight")
    _read_bare_weights(draft)


_PACKED = 4
"""So many words from a weight the parcel may be named."""


def _of_the_parcel(draft: Draft, start: int, end: int) -> bool:
    """'Shipping weight 350 grams', '400 g packed': the weight of what is sent is not that of the disc."""
    i, j = draft.a.token(start), draft.a.token(end - 1) + 1
    a, b = draft.a.sentence(start)
    near = draft.a.of(f"{CLASS}the parcel", i - _PACKED, j + _PACKED)
    return any(
        a <= draft.a.toks[h.i][0] < b
        and not any(w in ",;()" for w in (draft.a.words[h.j : i] if h.j <= i else draft.a.words[j : h.i]))
        for h in near
    )


_BARE = re.compile(r"(?<![\w.,/$£€-])(\d{2,3})(?![\w%/\"'-]|[.,]\d)")
_NEAR_THE_SCALES = 8
"""Tokens between a bare figure and the word for weighing."""
_LIKELY_GRAMS = range(80, 261)
"""What a bare figure beside the scales may be, in grams: ten- and twelve-inch discs. Common practice, no source."""


def _read_bare_weights(draft: Draft) -> None:
    """'It weighs 142', 'about 170 on my postal scale': the scales say the unit."""
    for h in draft.a.all_of(f"{CLASS}weighing"):
        a, b = draft.a.sentence(draft.a.toks[h.i][0])
        if any(c.feature == "disc.weight" for c in draft.claims.begun(a, b)):
            continue
        lo = draft.a.toks[max(h.i - _NEAR_THE_SCALES, 0)][0]
        hi = draft.a.toks[min(h.j + _NEAR_THE_SCALES, len(draft.a.toks)) - 1][1]
        m = _BARE.search(draft.a.folded, max(a, lo), min(b, hi))
        if (
            m is None
            or int(m.group(1)) not in _LIKELY_GRAMS
            or draft.a.folded[m.end() :].lstrip()[:2].lower() in ("oz", "lb")
        ):
            continue
        said = draft.a.assertion(m.start(), m.end())
        draft.add("disc.weight", m.start(), m.end(), said, said.polarity, int(m.group(1)), None, rule="weight")
