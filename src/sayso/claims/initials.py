"""Letters in the run-out that somebody copies without knowing whose they are."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.hits import CLASS

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_LETTERS = re.compile(r"(?<![\w-])(?:[A-Z](?: {1,3}[A-Z]){1,3}|[A-Z]{2,5})(?![\w-]|'\w)")
_BARE = re.compile(r"(?<![\w'./&-])(?:[A-Z]{2,4}|[A-Z]{2}[a-z])(?![\w./&-]*[\w&]|\s{0,3}\d|-\d|'\w)")
_ROMAN = re.compile(r"[IVX]+")
_KNOWN = ("no_initials", "term", "grade_weak", "colour", "side", "cue", "section", "part", "stamper")
_JOINS = frozenset({":", "-", ".", "=", '"'})
_LED = 24
"""Within so many characters words for the cutting lead to the letters."""
_LONE = re.compile(r"(?<![\w-])\d(?![\w-])")
_REACH, _LEFT = 60, 30
"""Characters between the words that lead to the letters and the letters, and before those words for a lone number."""


def read_initials(draft: Draft) -> None:
    """'Someone wrote HKL too', 'letters near the centre: M P D': a cutting mark, hedged, since nobody explains it."""
    for h in draft.a.all_of("initials_intro"):
        if any(o.i < h.i and h.j <= o.j for o in draft.a.of("initials_no", h.i - 2, h.i)):
            continue
        opens = draft.a.sentence(draft.a.toks[h.i][0])[0]
        if _LONE.search(draft.a.folded, max(opens, draft.a.toks[h.i][0] - _LEFT), draft.a.toks[h.i][0]):
            continue  # 'a 1 and then the letters': a number and letters apart are a stamper's
        at = draft.a.toks[h.j - 1][1]
        a, b = draft.a.sentence(at - 1)
        if not draft.parts(a, b, "deadwax") and not draft.near_wax(h) and not _goes_on(draft, a):
            continue
        m = _LETTERS.search(draft.a.folded, at, min(b, at + _REACH))
        if m is None or any(c.feature != _MARK for c in draft.claims.touching(*m.span())):
            continue
        own = [c for c in draft.claims.touching(*m.span()) if c.feature == _MARK]
        if any(c.certainty != "certain" or c.polarity == "absent" for c in own):
            continue
        if own and getattr(h.row, "value", None) == "signed":
            continue  # 'signed VTK': who knows whose letters they are says no more of them
        draft.drop(own)
        said = draft.a.assertion(m.start(), m.end())
        if said.certainty == "certain":
            said = replace(said, certainty="hedged", status="possible")
        known = own[0].value if own else None
        value = m.group().replace(" ", "") if known is None else str(known)
        draft.add(_MARK, m.start(), m.end(), said, said.polarity, value, None, rule="letters")


def read_cut_letters(draft: Draft) -> None:
    """'"DQ" is stamped on both', 'RVN stamp in the wax': letters said to be cut in, where the run-out is spoken of."""
    numbered: dict[str, bool] = {}
    for m in _LETTERS.finditer(draft.a.folded):
        i, j = draft.a.token(m.start()), draft.a.token(m.end() - 1) + 1
        if len(m.group()) < 2 or draft.a.of("term", i, j) or not draft.claiming(m.start()):
            continue
        if draft.claims.touching(*m.span()):
            continue
        letters = m.group()
        if _taxed(draft, i, j):
            continue
        if letters not in numbered:
            numbered[letters] = _in_numbers(draft, letters)
        if numbered[letters]:
            continue
        a, b = draft.a.sentence(m.start())
        wax = draft.parts(a, b, "deadwax") or any(
            c.feature.startswith("deadwax.") and abs(c.start - m.start()) < _NEAR
            for c in draft.claims.touching(max(m.start() - _NEAR, 0), m.start() + _NEAR)
        )
        if wax and _cut(draft, j, b):
            said = draft.a.assertion(m.start(), m.end())
            if said.certainty == "certain" and said.polarity == "present":
                said = replace(said, certainty="hedged", status="possible")
            draft.add(_MARK, m.start(), m.end(), said, said.polarity, m.group().replace(" ", ""), None, rule="letters")


def read_bare_letters(draft: Draft) -> None:
    """'In the dead wax you will find VTK', 'Mastering: AFK': capitals that nothing else explains, where they stand.

    Under a key or behind words for the cutting they are what these say; where only the run-out is spoken of they are
    hedged, since nobody says whose they are.
    """
    a = draft.a
    for m in _BARE.finditer(a.folded):
        start, end = m.span()
        if not draft.claiming(start) or a.segment(start).kind == "title" or draft.claims.touching(start, end):
            continue
        i, j = a.token(start), a.token(end - 1) + 1
        if any(o.i < j and i < o.j for k in _KNOWN for o in a.of(k, max(0, i - 3), j)) or _shouted(draft, i, j):
            continue
        if _in_numbers(draft, m.group()) or _ROMAN.fullmatch(m.group()) or _taxed(draft, i, j):
            continue
        begin, _ = a.sentence(start)
        led = a.within("cut_lead", max(begin, start - _LED), start)
        key = a.key(start)
        named = any(o.j == i or (a.words[o.j] in _JOINS and o.j + 1 == i) for o in led) or (
            key is not None and any(a.toks[o.i][0] >= key[0] for o in a.within("cut_lead", key[0], key[1]))
        )
        behind = _behind_a_number(draft, start)
        if not named and not behind and (a.carrier(start, end)[0] != "deadwax" or _far(draft, start)):
            continue
        said = a.assertion(start, end)
        if said.about != "this_copy":
            continue
        known = named or (behind and _explained(draft, m.group(), end))
        if not known and said.certainty == "certain" and said.polarity == "present":
            said = replace(said, certainty="hedged", status="possible")
        # 'Stampers to the right, GO and R'
        feature = _MARK if named or not a.within("stamper", begin, start) else "deadwax.stamper_code"
        draft.add(feature, start, end, said, said.polarity, m.group(), None, rule="bare letters")


def _behind_a_number(draft: Draft, start: int) -> bool:
    """'Side A: PL 3 A1 KT': capitals right behind the number of one side."""
    told = draft.claims.touching(max(start - 2, 0), start)
    return any(
        c.feature == "deadwax.matrix"
        and c.value is not None
        and c.side in ("a", "b")
        and c.end < start
        and not draft.a.folded[c.end : start].strip()
        for c in told
    )


def _explained(draft: Draft, letters: str, after: int) -> bool:
    """'KT is Kenneth Tolley': whether the seller says further on whose the letters are."""
    a = draft.a
    for n in range(a.token(after), len(a.toks) - 2):
        x, y = a.toks[n]
        if a.text[x:y] == letters and (a.words[n + 1] in a.index.small["finite"] or a.words[n + 1] == "="):
            return a.text[a.toks[n + 2][0]].isupper()
    return False


def _taxed(draft: Draft, i: int, j: int) -> bool:
    """'Tax code NT': letters that a tax put on the label or into the wax are nobody's initials."""
    named = draft.a.of(f"{CLASS}tax letters", max(0, i - 5), j + 4)
    return any(i - 2 <= h.j <= i or j <= h.i <= j + 1 for h in named)


def _goes_on(draft: Draft, a: int) -> bool:
    """Whether the last thing told before the sentence at `a` was of the wax ('… there's a 3. Then three capitals')."""
    before = draft.claims.begun(max(a - _NEAR, 0), a)
    return bool(before) and max(before, key=lambda c: c.start).feature.startswith("deadwax.")


def _far(draft: Draft, start: int) -> bool:
    """Whether the run-out is spoken of too far before the letters, or only behind them in a new clause."""
    begin, end = draft.a.sentence(start)
    if draft.parts(max(begin, start - _REACH), min(end, start + _LEFT), "deadwax"):
        return False
    # 'In the run-out there is LP 1140 A scratched in by hand and a tiny TKD': the last thing told was of the wax.
    before = draft.claims.begun(max(begin, start - _NEAR), start)
    return not (before and max(before, key=lambda c: c.start).feature.startswith("deadwax."))


def _shouted(draft: Draft, i: int, j: int) -> bool:
    """Whether the words beside are written in capitals too: then the letters are a word."""
    words = [draft.a.folded[s:e] for s, e in draft.a.toks[max(0, i - 2) : i] + draft.a.toks[j : j + 2]]
    return sum(w.isalpha() and w.isupper() and len(w) > 1 for w in words) >= 2


def _cut(draft: Draft, j: int, end: int) -> bool:
    """Whether a word for cutting or stamping follows in the sentence, with nothing but a few small words between."""
    for n in range(j, min(j + 4, len(draft.a.words))):
        if draft.a.toks[n][0] >= end:
            return False
        if draft.a.of("cut_word", n, n + 1):
            return True
        if draft.a.words[n] not in _QUOTES and not draft.a.of("cut_passed", n, n + 1):
            return False
    return False


def _in_numbers(draft: Draft, letters: str) -> bool:
    """Whether the letters stand before figures anywhere: then they are part of a catalogue number."""
    return re.search(rf"(?<![A-Za-z]){re.escape(letters)}[\s-]{{0,3}}\d", draft.a.folded) is not None


_QUOTES = frozenset("\"'()")
_NEAR = 160
"""Within so many characters another claim of the run-out shows what is spoken of."""
_MARK = "deadwax.mastering_mark"


_SAME_BREATH = 160
"""Characters between initials and what is said of others."""


def drop_denied_initials(draft: Draft) -> None:
    """'P W B … and no other marks': what is denied of further initials does not deny those read out before."""
    feature = "deadwax.mastering_mark"
    read = [c for c in draft.claims if c.feature == feature and c.polarity == "present" and c.value is not None]
    if not read:
        return
    draft.drop(
        [
            c
            for c in draft.claims
            if c.feature == feature
            and c.polarity == "absent"
            and c.value is None
            and any(
                0 < c.start - o.start < _SAME_BREATH
                and (o.side == c.side or (None in (o.side, c.side) and "both" not in (o.side, c.side)))
                and _others(draft, c.start, c.end)
                for o in read
            )
        ]
    )


def _others(draft: Draft, start: int, end: int) -> bool:
    """Whether it is only of others that the words speak."""
    return bool(draft.a.within("other_marks", start, end))
