"""Letters and figures that stand by themselves in the run-out, and signs told by what they look like."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.draft import CODE
from sayso.claims.index import Hit
from sayso.model import Claim

if TYPE_CHECKING:
    from sayso.claims.draft import Draft


_SIGN = re.compile(r"""(?<![\w'.,/&+-])(?:"([A-Za-z]{1,2}|\d{1,2})"|(?!I\b)([A-Z]|\d{1,2}))(?![\w'"/&+%-]|[.,]\d)""")
_STAMPER = "deadwax.stamper_code"
_BEFORE = 4
"""So many words may stand between the words that lead to a sign and the sign ('a lone, very small G')."""
_REACH = 200
"""Within so many characters before, another claim of the run-out shows what is spoken of."""


def read_lone_signs(draft: Draft) -> None:
    """'A lone G', 'on its own there is a 3', 'one letter "T" alone': a stamper's code, hedged: nobody explains it."""
    for h in [*draft.a.all_of("sign_lone"), *draft.a.all_of("sign_apart")]:
        at = draft.a.toks[h.i][0]
        if not draft.claiming(at) or draft.a.segment(at).kind == "title" or not of_the_wax(draft, at):
            continue
        m = _behind(draft, h) if getattr(h.row, "kind", "") == "sign_lone" else _beside(draft, h)
        if m is not None:
            _add(draft, m)


def of_the_wax(draft: Draft, at: int) -> bool:
    """Whether the run-out is spoken of: here, or just before where the sentence names no other part."""
    a, b = draft.a.sentence(at)
    if any(not _beside_which(draft, h) for h, _ in draft.parts(a, b, "jacket", "label", "inner")):
        return bool(draft.parts(a, b, "deadwax"))
    if draft.a.within("sign_lone", a, b) and any(draft.a.within(kind, a, b) for kind in ("clock", "sign_apart")):
        return True  # 'a lone R at three o'clock' stands nowhere else
    if draft.parts(a, b, "deadwax") or CODE.search(draft.a.folded, a, b):
        return True
    return any(c.feature.startswith("deadwax.") for c in draft.claims.begun(max(at - _REACH + 1, 0), at + 1))


def _beside_which(draft: Draft, h: Hit) -> bool:
    """'In the vinyl, near the label': the run-out is meant, by what it is beside."""
    return any(o.j in (h.i, h.i - 1) for o in draft.a.of("class beside", h.i - 4, h.i))


def _behind(draft: Draft, h: Hit) -> re.Match[str] | None:
    """The sign right behind 'a lone', 'a tiny letter'."""
    at = draft.a.toks[h.j - 1][1]
    _, b = draft.a.sentence(at - 1)
    m = _SIGN.search(draft.a.folded, at, min(b, at + 16))
    return m if m and _free(draft, m) and draft.a.token(m.start()) - h.j <= 2 else None


def _beside(draft: Draft, h: Hit) -> re.Match[str] | None:
    """The sign nearest to 'on its own', 'after a gap', to which an article or 'the letter' leads."""
    at, to = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    a, b = draft.a.sentence(at)
    near = [m for m in _SIGN.finditer(draft.a.folded, max(a, at - 40), min(b, to + 40)) if _free(draft, m)]
    led = [m for m in near if (m.end() <= at or m.start() >= to) and _led(draft, m)]
    return min(led, key=lambda m: max(at - m.end(), m.start() - to), default=None)


def _led(draft: Draft, m: re.Match[str]) -> bool:
    """Whether an article or a word for a sign stands before it, with small words between, or marks of quotation."""
    i = draft.a.token(m.start())
    if m.group(1):
        return True
    return bool(draft.a.of("indefinite", i - 2, i)) or any(o.j == i for o in draft.a.of("sign_said", i - 4, i))


def _free(draft: Draft, m: re.Match[str]) -> bool:
    """Whether nothing else has read the sign, and it is no side, unit, time of a clock or grade."""
    i, j = draft.a.token(m.start(1 if m.group(1) else 2)), draft.a.token(m.end() - 1) + 1
    kinds = ("side", "clock", "grade_weak", "term", "stamper", "sign_apart", "class carriage")
    if any(o.i < j and i < o.j for kind in kinds for o in draft.a.of(kind, i - 3, j)):
        return False
    if draft.a.of("clock", j, j + 1) or draft.a.of("part", j, j + 1) or draft.a.of("picture", j, j + 1):
        return False
    bare = m.group(1) is None
    if bare and m.group(2) == "A" and draft.a.folded[m.end() : m.end() + 2].strip()[:1].islower():
        return False
    follows = draft.a.words[j : j + 1]
    if bare and m.group(2).isdigit() and follows and follows[0].isalpha() and not _goes_on(draft, j):
        return False  # 'a 3 cm scratch'
    return not draft.claims.touching(m.start(), m.end())


def _goes_on(draft: Draft, j: int) -> bool:
    return any(
        o.i == j
        for kind in ("linking", "upon", "sign_said", "sign_apart", "goes_on", "order")
        for o in draft.a.of(kind, j, j + 1)
    )


def _add(draft: Draft, m: re.Match[str]) -> None:
    start, end = m.span(1 if m.group(1) else 2)
    said = draft.a.assertion(start, end)
    if said.certainty == "certain" and said.polarity == "present":
        said = replace(said, certainty="hedged", status="possible")
    draft.add(_STAMPER, start, end, said, said.polarity, draft.a.folded[start:end], None, rule="lone sign")


def read_likened(draft: Draft) -> None:
    """'Something resembling a boat': a mark that is told by what it looks like is hedged, whatever it is."""
    for c in draft.claims:
        if c.feature not in _LOOKS or c.certainty != "certain" or c.polarity != "present":
            continue
        i = draft.a.token(c.start)
        a, _ = draft.a.sentence(c.start)
        if any(draft.a.toks[o.i][0] >= a and i - _BEFORE <= o.j <= i for o in draft.a.of("likened", i - 12, i)):
            draft.claims.amend(c, certainty="hedged")


def read_not_understood(draft: Draft) -> None:
    """'An anchor, no idea what it means': what its finder cannot explain is hedged. 'A squiggle like DQ' is letters."""
    a = draft.a
    for h in a.all_of("meaning"):
        # 'No idea what the sign means': the meaning is what is not known; the sign has been seen.
        begin, end = a.sentence(a.toks[h.i][0])
        for c in draft.claims.begun(begin, end):
            if c.polarity != "present" or c.certainty != "unknown":
                continue
            if c.feature in _SIGNS:
                draft.claims.amend(c, certainty="hedged")
            elif c.feature == "deadwax.matrix" and c.end <= a.toks[h.i][0]:
                draft.claims.amend(c, certainty="certain")  # 'what the numbers mean': that they are there is known
    for h in a.all_of("not_understood"):
        at = a.toks[h.i][0]
        begin, _ = a.sentence(at)
        if at - begin < _FIRST and begin:
            begin, _ = a.sentence(begin - 1)  # 'One star mark. I don't understand the meaning.'
        begin = max(begin, at - _REACH, a.line(at)[0])
        to = a.toks[h.j - 1][1]
        for c in draft.claims.begun(begin, at):
            # Where the same words say that it is not known, they say so of the meaning alone.
            same = c.certainty == "unknown" and any(at <= u.start and u.end <= to for u in c.cues)
            if c.feature in _SIGNS and c.polarity == "present" and (c.certainty == "certain" or same):
                draft.claims.amend(c, certainty="hedged")
    draft.drop([c for c in draft.claims if c.feature == "deadwax.mastering_mark" and _spelt_out(draft, c)])
    draft.drop(
        [
            c
            for c in draft.claims
            if c.feature == "deadwax.plant_mark"
            and any(
                o.feature == "deadwax.mastering_mark" and draft.a.within("likened", c.start, o.start)
                for o in draft.claims.begun(c.end, c.end + _LIKE)
            )
        ]
    )


_LOOKS = frozenset({"deadwax.plant_mark", "deadwax.mastering_mark"})
_SIGNS = frozenset({"deadwax.plant_mark", "deadwax.mastering_mark", "deadwax.stamper_code"})
_FIRST = 14
"""A sentence that begins so shortly before with 'I don't understand …' goes on about what the one before told."""
_LIKE = 30
"""So far behind a squiggle may the letters stand that it is like."""


def _spelt_out(draft: Draft, bare: Claim) -> bool:
    """'As for initials, some scribble that might be SWZ': the word for letters claims nothing beside the letters."""
    if bare.value is not None or bare.polarity != "present" or bare.certainty != "certain":
        return False
    _, b = draft.a.sentence(bare.start)
    return any(
        c.feature in _SIGNS and _in_letters(c) and c.polarity == "present" and c.start < bare.end + _SPELT
        for c in draft.claims.begun(bare.end, b)
    )


def _in_letters(c: Claim) -> bool:
    """Whether the sign is letters, and no picture."""
    return isinstance(c.value, str) and c.value[:1].isupper() and (c.value.isupper() or len(c.value) <= len("Dr"))


_SPELT = 60
"""So many characters behind the word for them the letters may stand."""
