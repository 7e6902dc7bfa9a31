"""The claims of one listing while they are gathered: how a stretch becomes a claim of this copy."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from sayso.claims.analysis import Analysis, Assertion
from sayso.claims.held import Held
from sayso.claims.index import CLASS, Hit
from sayso.claims.lots import lot_of
from sayso.claims.shapes import shape_of
from sayso.lexicon.scan import scan
from sayso.lexicon.terms import Term, Word
from sayso.model import CLAIMING, Claim, Cue, Deferral, Polarity, Role, Segment, Side

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

RECORD, JACKET = "condition.vinyl_grade", "condition.jacket_grade"
_UNPLAYED = "visual only"
"""The value of a denial that the record was played."""
BESIDE_SIDE = ("condition.vinyl_grade", "condition.defects", "condition.play_tested")
"""What is of one side only where the side is named right beside it: 'side 2 VG', 'a click on side one'."""
SIDED = ("deadwax.", "label.", *BESIDE_SIDE)
"""What there is of each side for itself."""
CODE = scan(
    r"(?<![A-Za-z0-9])(?:[A-Z]{1,5}[ -]{0,2}\d{1,6}(?:[ -]{0,2}\d+)*[ -]{0,2}[A-H]?(?:[ -]{0,2}\d{1,4})?[A-Z]?"
    r"|[A-Z]{1,4}-[A-Z]{1,3}-\d{1,6}(?:-?[A-H]\d?)?"
    r"|[AB]//\d{1,2}[A-Z]?"
    r"|[A-Z](?: [A-Z]){0,2}(?: \d){3,6}(?: [A-H](?: \d)?)?"
    r"|\d{3,6}-\d{0,2}[A-H]\d{0,2}|-?\d{1,2}[A-H]|-\d[A-Z]?|[AB][- ]{0,2}\d{1,2})(?![A-Za-z0-9])"
)
_APART = frozenset(",;()/|、")
_SIDE_WORDS = 6
_SHORT = 3
_RESUMED = 12
"""So far into 'They are …' stands what is said of the thing that the sentence before told of."""
_COMMAS = (",", ";", "\u3001")
_ASKED = re.compile(r"\s*:[^.?!\n]{3,200}\?")
"""A question that the seller repeats without quotation marks: 'You asked: does it have …?'"""
_QUOTATION = re.compile(r'[^"\n]{0,12}"[^"]{3,400}"')
_QUOTED = re.compile(r'"[^"\n]{4,400}"[\s(,-]{0,4}\Z')
_NAME = re.compile(r'["\u201c]([^"\u201c\u201d\n]{3,60})["\u201d]')
_OF_THE_MUSIC = frozenset({"edition.year", "format.channels", "format.speed"})
"""What a sentence about the music says of the music and not of the copy."""


_COPIED = frozenset({"deadwax.matrix", "deadwax.mastering_mark", "deadwax.stamper_code"})
"""What a seller copies out sign by sign."""
_OPENS = re.compile(r"(?:^|[.!?;|(]|\s[-–—]+)[\s*•]*\Z", re.M)
"""What stands before a side that heads what follows."""
_HEADS = re.compile(r"\)?\s*(?::|=|\s[-–—]+\s)")
"""What stands behind it."""
_LETTER = re.compile(r"(?:^|(?<=[.;|] )|(?<=\())[ \t*•]*([AB])(?=(\)?[ \t]*[:=]))", re.M)
"""'A:' and 'B:' at the head of a line or a sentence."""
_ENDS = re.compile(r"[.!?;](?=\s+[A-Z(])")


_ONLY = (30, 45)
"""Characters before a sign and behind it in which an 'only' keeps it to its side."""


class Draft:
    """Claims and deferrals so far, with the analysis they rest on."""

    def __init__(self, analysis: Analysis, lexicon: Lexicon) -> None:
        self.a = analysis
        self.lexicon = lexicon
        self.claims = Held()
        self.deferrals: list[Deferral] = []
        self.terms: list[Hit] = []
        self.seen: set[tuple[object, ...]] = set()
        self.everything = len(analysis.toks)
        self._heads: dict[int, tuple[list[tuple[int, int, str]], list[int]]] = {}
        self.lot = lot_of(analysis)
        opening = analysis.all_of("subject_line")[:1]
        self.subject_line = (
            bool(opening) and opening[0].i == 0 and analysis.words[opening[0].j : opening[0].j + 1] == [":"]
        )
        """Whether the title is the subject of a letter ('Re: the quad LP'), which names what was asked about."""

    def parts(self, start: int, end: int, *kinds: str) -> list[tuple[Hit, str]]:
        """The words for these parts of the record that begin in `text[start:end]`, with the part."""
        found = self.a.within("part", start, end)
        return [(p, p.row.value) for p in found if isinstance(p.row, Word) and p.row.value in kinds]

    def side(self, start: int, end: int) -> Side | None:
        """The side named in these words, else in the clause, else the one that opens the sentence ('Side 1: …')."""
        for s in self.a.within("side", start, end):
            if isinstance(s.row, Word):
                return s.row.value  # type: ignore[return-value]
        a, b = self.a.sentence(start)
        if self.a.within("side", max(a, start - 300), min(b, end + 300)):
            left = max(a, *(self.a.folded.rfind(stop, a, start) + 1 for stop in _COMMAS))
            right = min(x for x in (*(self.a.folded.find(stop, end, b) for stop in _COMMAS), b) if x >= 0)
            named = self._by_no_turn(self.a.within("side", max(left, start - 300), min(right, end + 300)), start, end)
            if named is not None:
                return named
            behind = self._side_behind(right) if right < b else None
            if behind is not None:
                return behind
            for s in reversed(self.a.within("side", a, start)):  # 'side A: …, stamped, side B: …, not stamped'
                if isinstance(s.row, Word) and _HEADS.match(self.a.folded, self.a.toks[s.j - 1][1]):
                    return s.row.value  # type: ignore[return-value]
        return self._heading_side(start) or self._opening_side(a, start)

    def _by_no_turn(self, sides: Sequence[Hit], start: int, end: int) -> Side | None:
        """Of the sides of a clause the first from which nothing turns away ('anchor on A but no anchor on B')."""
        named = [s for s in sides if isinstance(s.row, Word)]
        if len({s.row.value for s in named if isinstance(s.row, Word)}) > 1:
            turns = self.a.index.small["contrast"]
            i, j = self.a.token(start), self.a.token(end - 1) + 1
            near = [s for s in named if turns.isdisjoint(self.a.words[s.j : i] if s.j <= i else self.a.words[j : s.i])]
            named = near or named
        return named[0].row.value if named and isinstance(named[0].row, Word) else None  # type: ignore[return-value]

    def _apart_at(self, n: int) -> bool:
        """Whether nothing of the clause stands at token n."""
        return n >= self.everything or self.a.words[n] in _APART or self.a.words[n] in (".", "!", ")")

    def _side_behind(self, comma: int) -> Side | None:
        """The side told behind a comma: 'a small R, side A, nothing on the flip', 'a groove, but on side two only'."""
        n = self.a.token(comma) + 1
        n = max((h.j for h in self.a.of("side_lead", n, n + 1)), default=n)
        for s in self.a.of("side", n, n + 1):
            end = max((o.j for o in self.a.of("only", s.j, s.j + 1)), default=s.j)
            if isinstance(s.row, Word) and self._apart_at(end):
                return s.row.value  # type: ignore[return-value]
        return None

    def _opening_side(self, a: int, start: int) -> Side | None:
        """The side that opened the sentence or its last clause ('Side one has the stamp and, small, the anchor')."""
        first = self.a.token(a)
        letter = self.a.text[self.a.toks[first][0] : self.a.toks[first][1]]
        verb = self.a.words[first + 1 : first + 2]
        if letter in ("A", "B") and verb and verb[0] in self.a.index.small["finite"]:
            return "a" if letter == "A" else "b"  # 'B has only the number.'
        for s in reversed(self.a.within("side", max(a, start - 300), start)):
            ahead = self.a.words[s.i - 1] if self.a.toks[s.i][0] > a else ";"
            small = self.a.index.small
            if not ahead[:1].isalnum() or ahead in small["list_and"] or ahead in small["contrast"]:
                behind = {
                    o.row.value
                    for o in self.a.within("side", self.a.toks[s.j - 1][1], start)
                    if isinstance(o.row, Word)
                }
                told = any(
                    c.feature in BESIDE_SIDE for c in self.claims.touching(self.a.toks[s.j - 1][1], max(start, 1))
                )
                alike = isinstance(s.row, Word) and behind <= {s.row.value}
                return s.row.value if alike and not told else None  # type: ignore[union-attr,return-value]
        return None

    def _side_beside(self, start: int, end: int) -> Side | None:
        """The side named within a few words, no sign or 'and' between; else the one at the head of the line."""
        i, j = self.a.token(start), self.a.token(end - 1) + 1
        named = [s for s in self.a.within("side", *self.a.sentence(start)) if not self._no_side(s)]
        near: list[tuple[int, Side]] = []
        for s in named:
            gap = range(s.j, i) if s.j <= i else range(j, s.i)
            words = [self.a.words[n] for n in gap]
            joined = (h.row for h in self.a.of("joiner", gap.start, gap.stop))
            bracketed = words == ["("] and s.j <= i  # 'side A (VG+)'
            apart = (any(w in _APART for w in words) and not bracketed) or any(
                isinstance(r, Word) and r.value != "on" for r in joined
            )
            if len(words) <= _SIDE_WORDS and not apart and isinstance(s.row, Word):
                near.append((len(words), s.row.value))  # type: ignore[arg-type]
        if near:
            return min(near, key=lambda n: n[0])[1]
        for s in reversed(named):  # 'A side: EX, B side: VG+ with a rub'
            if s.j <= i and isinstance(s.row, Word) and _HEADS.match(self.a.folded, self.a.toks[s.j - 1][1]):
                return s.row.value  # type: ignore[return-value]
        return self._heading_side(start)

    def _no_side(self, side: Hit) -> bool:
        """'Tested on a good rig', 'record and cover both VG': a small letter before a word, and 'both' alone."""
        if isinstance(side.row, Word) and side.row.value == "both" and side.j - side.i == 1 and not self.a.tongue:
            return True
        last = self.a.toks[side.j - 1]
        letter = last[1] - last[0] == 1 and self.a.text[last[0]].islower() and side.j - side.i > 1
        short = letter and self.a.toks[side.j - 2][1] - self.a.toks[side.j - 2][0] <= _SHORT
        return short and side.j < len(self.a.words) and self.a.words[side.j].isalpha()

    def _letters(self, line: int, at: int) -> list[tuple[int, str]]:
        """The last 'A:' or 'B:' between the start of a line and an offset: where it ends, and the side."""
        held = self._heads.get(line)
        if held is None:
            to = self.a.folded.find("\n", line)
            found = _LETTER.finditer(self.a.folded, line, to if to >= 0 else len(self.a.folded))
            heads = [(m.end(2), m.end(1), m.group(1).lower()) for m in found]
            held = self._heads[line] = heads, [h[0] for h in heads]
        n = bisect_right(held[1], at) - 1
        return [held[0][n][1:]] if n >= 0 else []

    def _heading_side(self, at: int) -> Side | None:
        """The side that stands by itself before the words on its line: 'A: …', 'Side 1 - …, …'."""
        line = self.a.folded.rfind("\n", 0, at) + 1
        heads = [
            (self.a.toks[s.j - 1][1], s.row.value)
            for s in self.a.within("side", line, at)
            if isinstance(s.row, Word) and _OPENS.search(self.a.folded, line, self.a.toks[s.i][0])
        ]
        if not self.lot:
            heads += self._letters(line, at)
        for to, value in sorted(heads, reverse=True):
            if _HEADS.match(self.a.folded, to):
                return None if _ENDS.search(self.a.folded, to, at) else value  # type: ignore[return-value]
        return None

    def add(
        self,
        feature: str,
        start: int,
        end: int,
        said: Assertion,
        polarity: Polarity,
        value: str | int | float | None,
        hit: Hit | None,
        *,
        role: Role | None = None,
        sided: bool = True,
        side: Side | None = None,
        rule: str = "term",
    ) -> None:
        segment = self.a.segment(start).kind
        # Terms of sale may come from the shop's policy, all else may not.
        if segment not in CLAIMING and not (segment in ("policy", "legend") and feature.startswith("terms.")):
            return
        if said.about != "this_copy" or self._in_quotation(start):
            return
        if segment == "title" and (self.subject_line or self._a_name(start)):
            return
        if feature in _OF_THE_MUSIC and role not in ("pressed", "released") and self._told_of_the_music(start):
            return
        if self._apart(feature, start, end):
            return
        text, asked = self.a.text, start
        if not text[start : start + 1].isalnum() and not any(c.isalnum() for c in text[start:end]):
            i = self.a.token(start)
            start = self.a.toks[max(i - 1, 0)][0]
            end = self.a.toks[min(i + 1, len(self.a.toks) - 1)][1]
        quote = text[start:end]
        if said.deferred and feature != "terms.photos":
            self.deferrals.append(Deferral(feature=feature, start=start, end=end, quote=quote, cues=said.cues))
            return
        if not feature.startswith(SIDED):
            side = None
        elif side is None and sided:
            side = self._side_beside(start, end) if feature in BESIDE_SIDE else self.side(start, end)
        certainty = said.certainty
        if certainty == "unknown" and value is not None and feature in _COPIED and _read_all_the_same(said, end):
            certainty = "hedged"
        if certainty == "unknown":
            polarity = "present"
        shape = shape_of(hit) if hit is not None else None
        own = Cue(
            kind="term",
            rule=f"shape:{feature}:{shape}" if shape else f"{rule}:{feature}",
            start=start,
            end=end,
            quote=quote,
        )
        items = self._items(start)
        for item in items:
            claim = Claim(
                feature=feature,
                polarity=polarity,
                certainty=certainty,
                attribution=said.attribution,
                side=side,
                value=value,
                role=role,
                item=item,
                start=start,
                end=end,
                quote=quote,
                segment=segment if start == asked else self.a.segment(start).kind,
                cues=(own, *said.cues),
            )
            if _key(claim) in self.seen:
                continue
            self.seen.add(_key(claim))
            self.claims.add(claim)
            if feature.startswith(("label.deep", "label.reg", "label.add", "deadwax.plant", "deadwax.mastering")):
                self._twin(claim)
            if polarity == "present" and self.lexicon.features[feature].manner:
                self._other_items(claim, items)

    def _other_items(self, claim: Claim, items: tuple[int | None, ...]) -> None:
        """'Only B was played': of the other records the same words deny it."""
        a, _ = self.a.sentence(claim.start)
        if self.lot.item(claim.start) is not None or None in items or not self.a.within("only", a, claim.start):
            return
        for other in range(1, len(self.lot.starts) + 1):
            held = any(c.feature == claim.feature and c.item in (other, None) for c in self.claims)
            if other not in items and not held:
                self.claims.add(claim.model_copy(update={"item": other, "polarity": "absent", "value": _UNPLAYED}))

    def _apart(self, feature: str, start: int, end: int) -> bool:
        """Whether the sentence up to here or the clause speaks of what keeps the feature from being meant."""
        known = self.lexicon.features.get(feature)
        if known is None or not known.apart_from:
            return False
        a, b = self.a.sentence(start)
        right = min(x for x in (*(self.a.folded.find(stop, end, b) for stop in _COMMAS), b) if x >= 0)
        return any(self.a.within(CLASS + name, a, right) for name in known.apart_from)

    def _told_of_the_music(self, at: int) -> bool:
        """Whether the sentence tells of the music and its makers ('a hit in 1962', 'she recorded it in mono')."""
        a, b = self.a.sentence(at)
        return self.a.segment(at).kind != "title" and bool(self.a.within("music", a, b))

    def _in_quotation(self, at: int) -> bool:
        """Whether the buyer is quoted here ('You wrote: "…"'), or what is printed on it ('"…" (sticker)')."""
        return any(start <= at < end for start, end in self._quotations)

    @cached_property
    def _quotations(self) -> tuple[tuple[int, int], ...]:
        """Where the seller quotes the buyer or what is printed."""
        out: list[tuple[int, int]] = []
        for h in self.a.all_of("quote_source"):
            start, end = self.a.toks[h.i][0], self.a.toks[h.j - 1][1]
            out.append((start, end))
            m = _QUOTED.search(self.a.folded, self.a.line(start)[0], start)
            if m:
                out.append(m.span())
        for h in self.a.all_of("quote_lead"):
            found = (form.match(self.a.folded, self.a.toks[h.j - 1][1]) for form in (_QUOTATION, _ASKED))
            out += [m.span() for m in found if m]
        return tuple(out)

    def _a_name(self, at: int) -> bool:
        """'"Gatefold Lullaby"' in a title: the name of a record or song, in quotation marks."""
        line, stop = self.a.line(at)
        for m in _NAME.finditer(self.a.text, line, stop):
            if m.start() < at < m.end():
                words = [w for w in m.group(1).split() if w[:1].isalpha()]
                return len(words) > 1 and not m.group(1).isupper() and sum(w[0].isupper() for w in words) > 1
        return False

    def drop(self, claims: Sequence[Claim]) -> None:
        """Takes claims back, so that the same may be said again otherwise."""
        if not claims:
            return
        self.claims.drop(claims)
        self.seen.difference_update(map(_key, claims))
        starts = {c.start for c in claims}
        self.seen.update(_key(c) for start in starts for c in self.claims.begun(start, start + 1))

    def item(self, at: int) -> int | None:
        """The number of the record in a lot to which the words at this offset belong."""
        return self.lot.item(at)

    def _items(self, at: int) -> tuple[int | None, ...]:
        """The records of the lot that are meant: by the place, or by a number in the same sentence."""
        own = self.lot.item(at)
        if own is not None or not self.lot:
            return (own,)
        return self.lot.pointed(self.a.folded, *self.a.sentence(at), at, self.lexicon) or (None,)

    def _twin(self, claim: Claim) -> None:
        """'Side two only': the other side is denied by the same words."""
        a, b = self.a.sentence(claim.start)
        near = self.a.within("only", max(a, claim.start - _ONLY[0]), min(b, claim.end + _ONLY[1]))
        if claim.side in ("a", "b") and claim.polarity == "present" and near:
            other: Side = "b" if claim.side == "a" else "a"
            twin = claim.model_copy(update={"side": other, "polarity": "absent"})
            if not any(
                c.feature == claim.feature
                and c.side == other
                and (c.start == claim.start or (c.polarity == "present" and c.value == claim.value))
                for c in self.claims
            ):
                self.claims.add(twin)

    def on_label(self, h: Hit) -> bool:
        """Whether the sentence speaks of the paper label."""
        a, b = self.a.sentence(self.a.toks[h.i][0])
        return bool(self.parts(a, b, "label"))

    def near_wax(self, h: Hit) -> bool:
        at = self.a.toks[h.i][0]
        a, b = self.a.sentence(at)
        a, b = max(a, at - 400), min(b, at + 400)
        first = self.a.token(self.a.sentence(at)[0])
        leads = (
            *self.a.of("goes_on", first, first + 1),
            *self.a.of("side", first, first + 1),
        )  # 'Side one has numbers'
        resumed = 0 < h.i - first <= _RESUMED and bool(leads)
        if self.a.key(at) is None and (h.i == first or resumed) and a > self.a.line(at)[0]:
            a = max(self.a.sentence(a - 1)[0], at - 120)  # 'Matrix LP-1041-A. Stamped, very regular.'
        return (
            any(p.i < h.i or p.j > h.j for p, _ in self.parts(a, b, "deadwax"))
            or any(
                isinstance(o.row, Term) and o.row.feature.startswith("deadwax") and not o.row.needs
                for o in self.a.within("term", a, b)
            )
            or CODE.search(self.a.folded, a, b) is not None
            or self.asked_of_the_wax(at)
            or (self.a.folded[at - 1 : at] == '"' and bool(self.parts(0, len(self.a.folded), "deadwax")))
        )

    def question_before(self, at: int) -> Segment | None:
        """The quoted question that the words at this offset answer."""
        n = next((n for n, s in enumerate(self.a.segments) if s.start <= at < s.end), 0)
        return self.a.segments[n - 1] if n and self.a.segments[n - 1].kind == "question" else None

    def asked_of_the_wax(self, at: int) -> bool:
        """Whether the words answer a quoted question about the run-out."""
        asked = self.question_before(at)
        if asked is None:
            return False
        return bool(self.parts(asked.start, asked.end, "deadwax")) or any(
            isinstance(o.row, Term) and o.row.feature == "deadwax.lettering"
            for o in self.a.within("term", asked.start, asked.end)
        )

    def claiming(self, at: int) -> bool:
        return self.a.segment(at).kind in CLAIMING


def _read_all_the_same(said: Assertion, end: int) -> bool:
    """'A tiny TKD or TKO, hard to say': what follows doubts the reading; the seller has read something."""
    doubts = [cue for cue in said.cues if cue.kind == "unknown"]
    return bool(doubts) and all(cue.start >= end for cue in doubts)


def _key(c: Claim) -> tuple[object, ...]:
    return (c.feature, c.polarity, c.certainty, c.attribution, c.side, str(c.value).lower(), c.role, c.item, c.start)
