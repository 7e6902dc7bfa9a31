"""Strings of the run-out: matrix numbers and stamper codes."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.analysis import Assertion
from sayso.claims.draft import CODE
from sayso.claims.index import CLASS, Hit
from sayso.claims.stampers import codes_behind
from sayso.lexicon.scan import scan
from sayso.lexicon.terms import Term, Word
from sayso.model import Claim, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_PAIR = scan(r"(?<![A-Za-z0-9-])(\d{1,2}) ?([A-Z]{1,3})(?:\s*(?:/|,|and|&)\s*)(\d{1,2}) ?([A-Z]{1,3})(?![A-Za-z0-9])")
_FIGURE = re.compile(r"\d")
_SLASH = re.compile(r"\s*/\s*")
_ENDS = re.compile(
    r"(?:[A-H][- ]?\d{0,2}|(?<=[\d -])[A-H][- ]\d{1,2}[A-Z]{1,2}|(?<=[\d -])[A-H][- ]{0,2}\d{3,4}|-\d[A-Z]?|\d[A-H])$"
)
_MOTHER = re.compile(r"\w+ (\d{1,2})\W+(?:[a-z]+ )?([A-Z]{1,3})(?: [a-z]+ |\s?/\s?)([A-Z]{1,3})(?!\w)")


def read_stampers(draft: Draft) -> None:
    """A number and letters for each side ('3 RT and 4 GH') where the run-out is spoken of."""
    for h in draft.a.of("stamper", 0, draft.everything):
        start = draft.a.toks[h.i][0]
        if (
            not draft.claiming(start)
            or _no_code(draft, h)
            or any(o.i <= h.i and h.j <= o.j and o.j - o.i > h.j - h.i for o in draft.a.of("stamper", h.i - 3, h.i + 1))
        ):
            continue
        m = _MOTHER.match(draft.a.folded[start : start + 60])
        if m:
            value = f"{m.group(1)}{m.group(2)}/{m.group(1)}{m.group(3)}"
            said = draft.a.assertion(start, start + m.end())
            draft.drop(
                [c for c in draft.claims.touching(start, start + m.end()) if c.feature == "deadwax.stamper_code"]
            )
            draft.add("deadwax.stamper_code", start, start + m.end(), said, said.polarity, value, None, rule="mother")
        else:
            codes_behind(draft, h)
    for m in _PAIR.finditer(draft.a.folded):
        a, _ = draft.a.sentence(m.start())
        near = any(abs(c.start - m.start()) < 80 and c.feature == "deadwax.matrix" for c in draft.claims.last(8))
        if any(c.feature == "deadwax.stamper_code" for c in draft.claims.touching(*m.span())):
            continue
        if len(m.group(2)) + len(m.group(4)) < 2 or not (near or _called_stampers(draft, a, m)):
            continue
        if any(c.feature == "deadwax.matrix" and c.start <= m.start() for c in draft.claims.touching(*m.span())):
            continue  # 'Matrices 3G / 2G, stampers GO and R'
        value = f"{m.group(1)}{m.group(2)}/{m.group(3)}{m.group(4)}"
        said = draft.a.assertion(m.start(), m.end())
        draft.add("deadwax.stamper_code", m.start(), m.end(), said, said.polarity, value, None, rule="stampers")


_CODES_BEHIND = re.compile(r"\W{0,3}(?:\d{1,2}/)?(?!I\b|[AB]\b)(?:[A-Z]{1,3}\d{0,2}|\d{1,2}/\d{1,2})(?![\w-])")
"""Signs that only stampers have: letters, or figures with a stroke; '1A / 1B' may as well be the number's end."""


def _no_code(draft: Draft, h: Hit) -> bool:
    """'First-pressing stampers 1A / 1B', 'early stampers': said of the metal, and no word for its codes."""
    at = draft.a.toks[h.j - 1][1]
    side = next((s.j for s in draft.a.of("side", h.j, h.j + 2)), None)
    if _CODES_BEHIND.match(draft.a.folded, draft.a.toks[side - 1][1] if side else at):
        return False  # 'Early stampers, G and GO', 'low stampers both sides: 4/5'
    return any(
        isinstance(o.row, Term) and o.row.feature == "deadwax.stamper_code" and o.row.kind == "carrier" and h.j <= o.j
        for o in draft.a.of("term", h.i - 4, h.i + 1)
    )


_ROUND_THE_CLOCK = 110
"""Characters behind the hour within which the signs are told."""


def _called_stampers(draft: Draft, a: int, m: re.Match[str]) -> bool:
    """Whether a word for stampers stands before a pair of codes or right behind it, and not before another pair."""
    return bool(draft.a.within("stamper", a, m.end() + 3))


def read_clock(draft: Draft) -> None:
    """A lone number and a lone letter told by where they stand ('at nine o'clock a tiny 1, at three a G')."""
    done = -1
    for hit in draft.a.of("clock", 0, draft.everything):
        at = draft.a.toks[hit.i][0]
        a, b = draft.a.line(at)
        if a == done:
            continue
        done = a
        stretch = draft.a.folded[at : min(b, at + _ROUND_THE_CLOCK)]
        digit = re.search(r"(?<![\w-])\d{1,2}(?![\w\"'%-])", stretch)
        letter = re.search(r"(?<![\w'-])(?!A\b|I\b)[A-Z]{1,2}(?![\w'-])", stretch)
        if not digit or not letter:
            continue
        said = draft.a.assertion(at, draft.a.toks[hit.j - 1][1])
        said = replace(said, certainty="hedged", status="possible", polarity="present")
        end = at + max(digit.end(), letter.end())
        _stamp(draft, at, end, said, digit.group() + letter.group(), "a")
        other = draft.a.within("side", end, b)
        if not other:
            continue
        start = draft.a.toks[other[0].i][0]
        rest = draft.a.folded[start:b]
        second = re.search(r"(?<![\w'-])(?!A\b|I\b)[A-Z]{1,2}(?![\w'-])", rest)
        number = re.search(r"(?<![\w-])\d{1,2}(?![\w-])", rest)
        if second:
            value = (number or digit).group() + second.group()
            _stamp(draft, start, start + second.end(), said, value, "b")


def _stamp(draft: Draft, start: int, end: int, said: Assertion, value: str, side: Side) -> None:
    before = len(draft.claims)
    draft.add("deadwax.stamper_code", start, end, said, "present", value, None, sided=False, rule="clock")
    if len(draft.claims) > before:
        draft.claims.amend(draft.claims.last(1)[0], side=side)


def read_codes(draft: Draft) -> None:
    """Strings of the run-out, where a word of the run-out stands in the sentence or two of them are joined."""
    figures = [m.start() for m in _FIGURE.finditer(draft.a.folded)]
    for a, b in draft.a.sentences:
        at = bisect_left(figures, a)
        if at == len(figures) or figures[at] >= b:
            continue
        found = [m for m in CODE.finditer(draft.a.folded, a, b) if _FIGURE.search(m.group())]
        wax = bool(found) and (bool(draft.parts(a, b, "deadwax")) or _asked_just_before(draft, a))
        n = 0
        while n < len(found):
            m = found[n]
            nxt = found[n + 1] if n + 1 < len(found) else None
            plain = nxt is not None and _SIDED_PAIR.fullmatch(f"{m.group().strip()}/{nxt.group().strip()}")
            joined = nxt is not None and _SLASH.fullmatch(draft.a.folded, m.end(), nxt.start())
            ends = _ENDS.search(m.group()) or plain
            if joined and nxt and (wax or ends) and (ends or re.search(r"[A-H]\d*$", nxt.group())):
                said = draft.a.assertion(m.start(), m.end())
                value = f"{m.group().strip()}/{nxt.group()}"
                _code(draft, m.start(), nxt.end(), said, value, "both")
                n += 2
                continue
            stampers = [
                h for h in draft.a.within("stamper", max(a, m.start() - 22), m.start()) if not _no_code(draft, h)
            ]
            if stampers:
                said = draft.a.assertion(m.start(), m.end())
                draft.add("deadwax.stamper_code", m.start(), m.end(), said, said.polarity, m.group(), None, rule="code")
            elif (
                (wax and (ends or _SIDED_ONE.fullmatch(m.group())) and len(m.group()) >= 2)
                or _sided(draft, m.group(), m.start())
                or (_CUT.fullmatch(m.group()) and draft.a.of(_OF_A_CUT, *_behind(draft, m)))
                or (wax and (_introduced(draft, m, a) or _lettered(draft, m)))
                or (n > 0 and _tied_to(draft, found[n - 1], m))
            ):
                side = _side_of(draft, m.group()) or draft.side(m.start(), m.end())
                if _BARE_CUT.fullmatch(m.group()):  # in '1A on both sides' the letter tells of the cut
                    side = _side_behind(draft, m.end()) or draft.side(m.start(), m.end()) or side
                _code(draft, m.start(), m.end(), draft.a.assertion(m.start(), m.end()), m.group(), side)
            n += 1
    _read_slashed(draft)
    _read_endings(draft)
    _drop_bare(draft)


_ENDING = re.compile(r"\s*(?:[:=]\s*)?\"?(-?\d{1,2}[A-Z]{0,2}\d?|-?[A-Z]\d{1,2}[A-Z]?)(?![\w%\"'.-]\w|\w|%)")
_NEXT_ENDING = re.compile(r"[^.;\n]{0,28}?(?:,|and|/|&)\s*(?:the other\s+)?(?=-?\d{0,2}[A-Z]?\d{0,2}\s+on\b)", re.I)
_NEXT_SIDE = re.compile(r"[^.;\n]{0,12}?(?:,|and|/|&)\s*(?P<side>[^.;,\n]{3,22}?)(?<!\w)(?=-?\d{1,2}[A-Z]\d?(?!\w))")
"""'A side ends in 1A, B side in 2A': the side stands first."""


_CUT = re.compile(r"\d{1,2}[A-H]")
_OF_A_CUT = f"{CLASS}of a cut"
"""Nouns before which '1A' can only be the end of the number of the run-out."""


def _behind(draft: Draft, m: re.Match[str]) -> tuple[int, int]:
    """The tokens right behind a string, as a range."""
    i = draft.a.token(m.end() - 1) + 1
    return i, i + 1


_BRIEF = 24
"""A question of so few characters asks for what the next sentence tells."""


def _asked_just_before(draft: Draft, a: int) -> bool:
    """'Matrix? A1U and B2U.'"""
    if a == 0:
        return False
    x, y = draft.a.sentence(a - 1)
    return y - x <= _BRIEF and draft.a.folded[x:y].rstrip().endswith("?") and bool(draft.parts(x, y, "deadwax"))


def _read_endings(draft: Draft) -> None:
    """'Mine ends in 1K on side one and 3K on side two': the last signs of the number, without the rest of it."""
    for h in draft.a.of("number_ends", 0, draft.everything):
        at = draft.a.toks[h.j - 1][1]
        _, b = draft.a.sentence(at - 1)
        m = _ENDING.match(draft.a.folded, at, b)
        while m is not None:
            start, end = m.span(1)
            if not any(c.feature == "deadwax.matrix" for c in draft.claims.touching(start, end)):
                said = draft.a.assertion(start, end)
                _code(draft, start, end, said, m.group(1), _side_behind(draft, end) or draft.side(start, end))
            on = _NEXT_ENDING.match(draft.a.folded, end, b)
            if on is None:
                on = _NEXT_SIDE.match(draft.a.folded, end, b)
                on = on if on and draft.a.within("side", *on.span("side")) else None
            m = _ENDING.match(draft.a.folded, on.end(), b) if on else None


def _side_behind(draft: Draft, end: int) -> Side | None:
    """The side named right behind a code ('1A on both sides'), but not behind a comma, where it opens what follows."""
    i = draft.a.token(end - 1) + 1
    if draft.a.words[i : i + 1] == [","]:
        return None
    return next((s.row.value for s in draft.a.of("side", i, i + 3) if isinstance(s.row, Word)), None)  # type: ignore[misc]


def _read_slashed(draft: Draft) -> None:
    """'6360 021 1Y // 2 ▽ 420': numbers of a maker whose grammar has two slashes in it, unmistakable for any other."""
    from sayso.claims.runout import read_runout

    text = draft.a.folded
    if "//" not in text:
        return
    for a, b in draft.a.sentences:
        if "//" not in text[a:b]:
            continue
        read = read_runout(text[a:b], None, draft.lexicon)
        if read["system"] is None:
            continue
        for side in read.sides:
            start, end = a + side["start"], a + side["end"]
            if "//" not in text[start:end] or not draft.claiming(start):
                continue
            inside = [c for c in draft.claims.begun(start, end) if c.feature == "deadwax.matrix"]
            draft.drop(inside)
            _code(draft, start, end, draft.a.assertion(start, end), text[start:end], side["side"])


def _drop_bare(draft: Draft) -> None:
    """'Matrix T 121 A': the word says no more than the string behind it."""
    coded = [c for c in draft.claims if c.feature == "deadwax.matrix" and c.value is not None]
    bare = [c for c in draft.claims if c.feature == "deadwax.matrix" and c.value is None and c.certainty == "certain"]
    # 'There's no matrix of the first issue, just ARG-1140-A' has one.
    denied = [c for c in draft.claims if c.feature == "deadwax.matrix" and c.value is None and c.polarity == "absent"]
    there = {draft.a.sentence(c.start): c.start for c in coded if c.polarity == "present"}
    draft.drop(
        [c for c in draft.claims if c.feature == _MATRIX and c.certainty == "hedged" and _only_asked(draft, c, coded)]
    )
    draft.drop([c for c in denied if there.get(draft.a.sentence(c.start), -1) > c.end])
    draft.drop(
        [
            c
            for c in bare
            if any(
                o.polarity == c.polarity
                and o.certainty == c.certainty
                and 0 <= o.start - c.end <= 40
                and draft.a.sentence(o.start) == draft.a.sentence(c.start)
                for o in coded
            )
        ]
    )


def _only_asked(draft: Draft, claim: Claim, coded: Sequence[Claim]) -> bool:
    """'Matrix? A1U and B2U.': whether the word asks for what the next sentence tells."""
    _, b = draft.a.sentence(claim.start)
    asked = claim.value is None and draft.a.folded[claim.end : b].strip() == "?"
    return asked and any(0 <= o.start - b <= 1 for o in coded)


def _tied_to(draft: Draft, code: re.Match[str], m: re.Match[str]) -> bool:
    """'SKV 19 A1 and B2': the end of the other side's number, tied to a number by a small word."""
    if not _OTHER_END.fullmatch(m.group()) or m.group()[0] in code.group()[-3:]:
        return False
    told = any(c.feature == _MATRIX and c.value for c in draft.claims.touching(*code.span()))
    gap = draft.a.folded[code.end() : m.start()].strip().lower()
    return told and (gap in ("&", "+") or gap in draft.a.index.small["list_and"])


def _introduced(draft: Draft, m: re.Match[str], a: int) -> bool:
    """'On the shiny part: FCG 207': letters and a number right behind a word for the run-out."""
    if not re.match(r"[A-Z]{1,5}[ -]?\d{2,6}|[A-Z]{1,4}-[A-Z]{1,3}-\d", m.group()):
        return False
    i = draft.a.token(m.start())
    if any(o.j == i for o in draft.a.of(f"{CLASS}reads out", i - 4, i)) and draft.parts(a, m.start(), "deadwax"):
        return True  # 'in the smooth area I can read TW 44'
    return (
        bool(draft.parts(max(a, m.start() - 24), m.start(), "deadwax"))
        and ":" in draft.a.folded[m.start() - 3 : m.start()]
    )


_NUMBER = re.compile(r"[A-Z]{1,5}[ -]?\d{3,6}")
_BESIDE = 2
"""Tokens between a number and the word that says by what hand it was made."""


def _lettered(draft: Draft, m: re.Match[str]) -> bool:
    """'In the run-out DQ by hand and LP 1041 stamped': a number that is said to be etched or stamped stands there."""
    if not _NUMBER.fullmatch(m.group()):
        return False
    i, j = draft.a.token(m.start()), draft.a.token(m.end() - 1) + 1
    near = draft.a.of("term", i - 8, j + _BESIDE + 1)
    made = [h for h in near if isinstance(h.row, Term) and h.row.feature == "deadwax.lettering" and h.row.value]
    made = [h for h in made if 0 <= i - h.j <= _BESIDE or 0 <= h.i - j <= _BESIDE]
    if not made:
        return False
    named = [p for p, _ in draft.parts(*draft.a.sentence(m.start()), "deadwax")]
    return any(not any(h.i <= p.i < h.j for h in made) for p in named)  # 'stamped' alone tells of no place


def _sided(draft: Draft, code: str, at: int) -> bool:
    """A catalogue number with a side and a cut behind it stands nowhere but in the run-out."""
    sides = draft.a.within("side", max(0, at - 14), at)
    if re.fullmatch(r"[AB]//\d{1,2}[A-Z]?", code):
        return True
    if re.fullmatch(r"[AB]-?\d{1,2}[A-Z]?", code) and (
        any(draft.a.toks[s.j - 1][1] <= at for s in sides) or _SIDE_BEFORE.search(draft.a.folded, max(0, at - 8), at)
    ):
        return True
    if sides and _SIDED_LONG.fullmatch(code):
        return True  # 'Side A: PL 3 A1'
    if draft.a.segment(at).kind != "title" and _of_the_number(draft, code):
        return True
    return draft.a.segment(at).kind != "title" and bool(
        re.fullmatch(r"[A-Z]{1,5}[ -]?\d{2,6}[ -](?:[AB](?:[ -]?\d{1,2}N?)?|\d{1,2}[A-HJ-NP-Z])", code)
    )


_SIDED_LONG = re.compile(r"[A-Z]{1,5}[ -]?\d{1,6}[ -]?[AB][ -]?\d{0,2}[A-Z]?")
_MATRIX = "deadwax.matrix"
_BARE_CUT = re.compile(r"-?\d{1,2}[A-Z]")
_OTHER_END = re.compile(r"[AB](?:-?\d{1,2}|//\d{1,2})[A-Z]?")
_SIDED_ONE = re.compile(r"[AB]\d{1,2}[A-Z]")
_SIDED_PAIR = re.compile(r"A-?\d{1,2}[A-Z]?/B-?\d{1,2}[A-Z]?")
_SIDE_BEFORE = re.compile(r"\b[AB][ -]side[\s:=]*$", re.I)
_EXTENDED = re.compile(r"([A-Z]{1,5})[ -]?(\d{1,6})[ -]?(?=[A-Z\d-]*[A-H])[A-Z\d-]{1,5}")


def _of_the_number(draft: Draft, code: str) -> bool:
    """Whether a string is the title's catalogue number with something behind it ('HV 12 AB' of HV-12)."""
    m = _EXTENDED.fullmatch(code)
    title = next((s for s in draft.a.segments if s.kind == "title"), None)
    if m is None or title is None:
        return False
    return bool(
        re.search(rf"(?<![A-Z]){m.group(1)}[ -]?{m.group(2)}(?!\d|[ -]?[A-H]\b)", draft.a.text[title.start : title.end])
    )


def _side_of(draft: Draft, code: str) -> Side | None:
    # In '5044-2A' the figure is the side; what the cutter wrote behind the letter's own figure is not ('HK-1021-A 1S').
    m = re.search(r"(?<!\d-[12])[- ]?([AB])[- ]?\d{0,2}$|(?<=[\d -])([AB])[- ]\d{1,2}[A-Z]{1,2}$", code)
    return None if not m else "a" if (m.group(1) or m.group(2)) == "A" else "b"


def _code(draft: Draft, start: int, end: int, said: Assertion, value: str, side: Side | None) -> None:
    before = len(draft.claims)
    draft.add("deadwax.matrix", start, end, said, said.polarity, value, None, sided=False, rule="code")
    if len(draft.claims) > before:
        draft.claims.amend(draft.claims.last(1)[0], side=side)


_HANDED = frozenset({"deadwax.mastering_mark", "deadwax.plant_mark", "deadwax.stamper_code", "deadwax.lettering"})
_GAP = re.compile(r"[\s+&,()]{0,4}(?:(?:and|with|w/)\s)?")
_TIED = 6
"""Characters between two numbers that are told in one breath."""
_LINE = 200
"""Characters on both sides of a number within which the other side is told of."""


def read_handed_sides(draft: Draft) -> None:
    """'QL-88-A HKL, QL-88-B HKL': what follows the number of one side is of that side, where the other is told too."""
    for code in [c for c in draft.claims if c.feature == "deadwax.matrix" and c.value and c.side in ("a", "b")]:
        if not _other_told(draft, code):
            continue
        at = code.end
        near = draft.claims.touching(max(code.start - _TIED, 0), code.start)
        tied = any(c.feature == _MATRIX and c.side not in (None, code.side) for c in near)
        while True:
            gap = _GAP.match(draft.a.folded, at)
            nxt = [c for c in draft.claims.begun(at, (gap.end() if gap else at) + 1) if c.feature in _HANDED]
            found = next((c for c in nxt if c.start == (gap.end() if gap else at)), None)
            if found is None or found.end <= at:
                break
            of_both = tied and found.feature == "deadwax.lettering"  # 'QM-55-A und QM-55-B maschinell'
            if found.side is None and found.polarity == "present" and not of_both:
                draft.claims.amend(found, side=code.side)
            at = found.end


def _other_told(draft: Draft, code: Claim) -> bool:
    line, stop = draft.a.line(code.start)
    a, b = max(line, code.start - _LINE), min(stop, code.end + _LINE)
    other = "b" if code.side == "a" else "a"
    return any(c.feature == "deadwax.matrix" and c.side == other for c in draft.claims.begun(a, b)) or any(
        getattr(s.row, "value", "") == other for s in draft.a.within("side", a, b)
    )
