"""Run-out codes in the answer to the question that asked for them, and what is said of one side alone.

A listing's reader takes a string for a run-out code only where words about the run-out stand by it; an answer needs no
such words, since its question has them. The catalogue number in the listing tells which strings belong to it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, cast

from sayso.model import Certainty, Claim, Polarity, Side
from sayso.replies.lean import clause, doubtful
from sayso.replies.made import make
from sayso.replies.nouns import Asked, Passage
from sayso.replies.runout import Code, codes_in
from sayso.replies.words import Forms, forms_of

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

MATRIX, STAMPER = "deadwax.matrix", "deadwax.stamper_code"
SIGNS = frozenset({"deadwax.mastering_mark", "deadwax.plant_mark", STAMPER, "label.deep_groove"})
"""What can be on one side of a record and not on the other."""
_LETTER = re.compile(r"(?:^|[^A-Za-z])([ABab])(?![A-Za-z])")
_LONE = re.compile(r"(?<![\w/.'’-])(?:[A-Z]{1,3}|\d{1,2}|\d[A-Z]{1,2})(?![\w'’-]|/\w)")
_JOIN = re.compile(r"\s*[/|]\s*|\s+[-–—]\s+")
_PARTS = re.compile(r"[,;:.!?\n()\u3001\u3002]|\s[-–]\s|->")
FEW = 7
"""A clause of at most so many words says of one side what its neighbours say of the other."""


def numbers(
    asked: Sequence[Asked],
    passages: Sequence[Passage],
    claims: Sequence[Claim],
    offset: int,
    stems: Sequence[tuple[str, str]],
    lexicon: Lexicon,
) -> tuple[list[Claim], list[Claim]]:
    """Run-out numbers where they were asked for: (the claims to drop, the claims to put in their place). Pure."""
    forms = forms_of(lexicon)
    wanted = {q.n for q in asked if MATRIX in q.features}
    drop: list[Claim] = []
    made: list[Claim] = []
    for p in passages:
        if not wanted & set(p.questions) or p.manner in ("question_back", "later") or p.how == "general":
            continue
        firm = p.how in ("quote", "number", "order")
        codes = codes_in(p.quote, stems, loose=firm)
        if not codes or any(offset + p.start <= c.start < offset + p.end and c.feature == MATRIX for c in made):
            continue
        if not any(c.sure for c in codes) and any(_within(c, p, offset) and c.feature == MATRIX for c in claims):
            continue  # what the reader of listings made of odd strings stands
        for claim in _of_passage(p, codes, claims, offset, forms, lexicon):
            made.append(claim)
        spans = [(offset + p.start + c.start, offset + p.start + c.end) for c in codes]
        drop += [
            c
            for c in claims
            if any(c.start < b and a < c.end for a, b in spans) and (c.feature == MATRIX or _inside_any(c, spans))
        ]
    return drop, made


def outside_codes(claims: Sequence[Claim], codes: Sequence[Claim]) -> list[Claim]:
    """The claims without those that are a piece of a run-out code: the K of '1K' is no sign of its own. Pure."""
    spans = [(c.start, c.end) for c in codes]
    return [c for c in claims if c in codes or not (c.feature != MATRIX and _inside_any(c, spans))]


def _within(c: Claim, p: Passage, offset: int) -> bool:
    return offset + p.start <= c.start < offset + p.end


def _inside_any(c: Claim, spans: Sequence[tuple[int, int]]) -> bool:
    return any(a <= c.start and c.end <= b for a, b in spans)


def _of_passage(
    p: Passage, codes: Sequence[Code], claims: Sequence[Claim], offset: int, forms: Forms, lexicon: Lexicon
) -> Iterator[Claim]:
    groups: list[list[Code]] = []
    for code in codes:
        last = groups[-1][-1] if groups else None
        if last is not None and len(groups[-1]) == 1 and _JOIN.fullmatch(p.quote[last.end : code.start]):
            groups[-1].append(code)
        else:
            groups.append([code])
    sides = [_side_of(p.quote, groups, n, forms) for n in range(len(groups))]
    if len(groups) == 2 and all(len(g) == 1 for g in groups):
        if sides == [None, None]:
            sides = ["a", "b"] if groups[0][0].text != groups[1][0].text else [None, None]
        elif sides[0] == sides[1] and sides[0] is not None:
            sides = ["a", "b"]
        elif None in sides:
            other: dict[Side | None, Side | None] = {"a": "b", "b": "a"}
            sides = [other.get(sides[1], sides[0]) if sides[0] is None else sides[0], sides[1] or other.get(sides[0])]
    for group, side in zip(groups, sides, strict=True):
        a, b = group[0].start, group[-1].end
        text = p.quote[a:b]
        certainty: Certainty = "certain"
        near = [
            c for c in claims if c.feature == MATRIX and c.start < offset + p.start + b and offset + p.start + a < c.end
        ]
        ca, cb = clause(p.quote, a)
        rest = forms.starts("reply_unfinished", p.quote[b:])
        if any(c.certainty != "certain" for c in near) or rest or doubtful(p.quote[ca:cb], lexicon):
            certainty = "hedged"
        polarity: Polarity = "absent" if near and all(c.polarity == "absent" for c in near) else "present"
        yield make(MATRIX, p, offset, a, b, polarity, certainty, text, "run-out code", side)


def _side_of(text: str, groups: Sequence[Sequence[Code]], n: int, forms: Forms) -> Side | None:
    """The side of a code: by its own letter, the words before it, or those behind it."""
    if len(groups[n]) == 2:
        return "both"
    code = groups[n][0]
    before = text[groups[n - 1][-1].end if n else 0 : code.start]
    after = text[code.end : groups[n + 1][0].start if n + 1 < len(groups) else len(text)]
    own = _own_letter(code.text)
    if re.search(r"[A-Za-z]/[A-Za-z](?!\w)", code.text) and own is None:
        return "both"
    lead = _named(_PARTS.split(before.rstrip(" ,:=-–(（：、"))[-1] if n else before, forms) or _named(
        before[-4:] if re.search(r"(?<!\w)[AB][:=]\s*$", before) else "", forms
    )
    tail = _PARTS.split(after)[0] if after.strip() else ""
    behind = _named(tail, forms)
    word = lead or (behind if behind is not None else None)
    if word == "both" and own is not None:
        return own
    return word or own


def _own_letter(text: str) -> Side | None:
    """'QM 52 A1' is of the first side by its own letter."""
    tail = re.split(r"\d{2,}", text, maxsplit=1)[-1]
    m = _LETTER.search(tail) or re.search(r"(?<=\d)([AB])(?![A-Za-z])", tail)
    return cast(Side, m.group(1).lower()) if m else None


def _named(text: str, forms: Forms) -> Side | None:
    hits = sorted(forms.find("reply_side", text), key=lambda h: h.end)
    sides = {h.value for h in hits}
    if {"a", "b"} <= sides:
        return cast(Side, hits[-1].value)
    if len(sides) == 1:
        return cast(Side, hits[0].value)
    return cast(Side, hits[-1].value) if hits else None


def by_side(
    asked: Sequence[Asked], passages: Sequence[Passage], claims: Sequence[Claim], offset: int, lexicon: Lexicon
) -> list[Claim]:
    """'T on one, J on two', 'acorn on A, nothing on B': lone letters and what one side lacks. Pure."""
    forms = forms_of(lexicon)
    questions = {q.n: q for q in asked}
    out: list[Claim] = []
    for p in passages:
        if p.how == "general" or p.manner != "answer":
            continue
        wanted = [f for n in p.questions if n in questions for f in questions[n].features if f in SIGNS]
        if not wanted:
            continue
        mine = [c for c in claims if _within(c, p, offset)]
        if STAMPER in wanted and not any(c.feature == STAMPER and c.certainty == "certain" for c in mine):
            out += _lone(p, mine, offset, forms, lexicon)
        for feature in dict.fromkeys(wanted):
            have = [c for c in [*mine, *out] if c.feature == feature]
            out += _lacking(feature, p, have, offset, forms)
    return out


def _clauses(text: str, forms: Forms) -> Iterator[tuple[int, int]]:
    """Clauses, also parted at 'and' and 'but' before words of a side."""
    at = 0
    cuts = [m.end() for m in _PARTS.finditer(text)]
    cuts += [h.start for h in forms.find("reply_and", text) if _named(text[h.end : h.end + 25], forms)]
    cuts += [h.start for h in forms.find("reply_but", text)]
    for cut in [*sorted(cuts), len(text)]:
        if text[at:cut].strip(" ,;:.!?\n-–"):
            yield at, cut
        at = max(at, cut)


def _lone(p: Passage, claims: Sequence[Claim], offset: int, forms: Forms, lexicon: Lexicon) -> Iterator[Claim]:
    # Letters that are read as something else ('EMB', the engineer's) are no stamper's.
    taken = [(c.start - offset - p.start, c.end - offset - p.start) for c in claims if c.feature in (MATRIX, *SIGNS)]
    known = {str(c.value) for c in claims if c.feature in SIGNS and c.value is not None}
    firm = p.how in ("quote", "number", "order")
    carried: Side | None = None
    for a, b in _clauses(p.quote, forms):
        part = p.quote[a:b]
        sides = list(forms.find("reply_side", part))
        found = []
        for m in _LONE.finditer(part):
            x, y = a + m.start(), a + m.end()
            if any(x < e and s < y for s, e in taken) or any(h.start < m.end() and m.start() < h.end for h in sides):
                continue
            if m.group() in ("I", "OK", "NB", "PS", *known) or (m.group().isdigit() and not (firm or sides)):
                continue
            if m.group() == "A" and re.match(r"\s+[a-z]", part[m.end() :]) and not sides:
                continue
            found.append((x, y, m.group()))
        named = _named(part, forms)
        if not found:
            carried = named if named in ("a", "b") and len(part.split()) <= 3 else None
            continue
        if not (sides or firm or carried) or (part.isupper() and len(part.split()) > 4):
            continue
        certainty: Certainty = (
            "hedged"
            if doubtful(part, lexicon) or forms.first(("reply_ignorant", "reply_unsure"), p.quote)
            else "certain"
        )
        for x, y, letters in found[:2]:
            yield make(STAMPER, p, offset, a if len(found) == 1 else x, b if len(found) == 1 else y, "present",
                        certainty, letters, "lone letters", named or carried)  # fmt: skip
        carried = None


def _lacking(feature: str, p: Passage, have: Sequence[Claim], offset: int, forms: Forms) -> Iterator[Claim]:
    present = [c for c in have if c.polarity == "present" and c.certainty == "certain"]
    if not present:
        return
    for a, b in _clauses(p.quote, forms):
        part = p.quote[a:b].strip(" ,;:.!?\n-–")
        side = _named(part, forms)
        if side not in ("a", "b") or len(part.split()) > FEW:
            continue
        start, end = offset + p.start + a, offset + p.start + b
        if any(c.start < end and start < c.end and c.feature == feature for c in have):
            continue
        no = forms.first(("reply_no", "reply_none", "question_not"), part)
        if no is None or any(c.side == side and c.polarity == "absent" for c in have):
            continue
        if all(c.side in (None, "a", "b") and c.side != side for c in present):
            yield make(feature, p, offset, a, b, "absent", "certain", None, no.rule, side)


def sided(claims: Sequence[Claim], reply: str, offset: int, lexicon: Lexicon) -> list[Claim]:
    """The claims about label and run-out with the side that their clause, or the short one behind it, names. Pure."""
    forms = forms_of(lexicon)
    out: list[Claim] = []
    for c in claims:
        if c.side is not None or not c.feature.startswith(("label.deep", "deadwax.")):
            out.append(c)
            continue
        a, b = clause(reply, c.start - offset)
        side = _named(reply[a:b], forms)
        rest = reply[b:]
        na, nb = clause(reply, b) if rest.strip() else (b, b)
        if side is None and reply[b - 1 : b] == "," and len(reply[na:nb].split()) <= 5:
            side = _named(reply[na:nb], forms)
        named = {h.value for h in forms.find("reply_side", reply[a:b])}
        out.append(c.model_copy(update={"side": side}) if side and len(named) <= 1 else c)
    return out
