"""The claims of one listing while they are gathered: how a stretch becomes a claim of this copy."""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import TYPE_CHECKING

from sayso.claims.analysis import Analysis, Assertion
from sayso.claims.index import Hit
from sayso.lexicon.scan import scan
from sayso.lexicon.terms import Term, Word
from sayso.model import CLAIMING, Claim, Cue, Deferral, Polarity, Role, Side

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

RECORD, JACKET = "condition.vinyl_grade", "condition.jacket_grade"
SIDED = ("deadwax.", "label.")
"""What there is of each side for itself."""
CODE = scan(
    r"(?<![A-Za-z0-9])(?:[A-Z]{1,5}[ -]{0,2}\d{1,6}(?:[ -]{0,2}\d+)*[ -]{0,2}[A-H]?(?:[ -]{0,2}\d{1,4})?[A-Z]?"
    r"|-?\d{1,2}[A-H]|-\d[A-Z]?|[AB][- ]{0,2}\d{1,2})(?![A-Za-z0-9])"
)
_COMMAS = (",", ";", "\u3001")
_ITEM = re.compile(r"^[ \t]*(?:\(?(?:\d{1,2}|[A-Z]|[ivx]{1,4})[.):]|Nr\.? ?\d|#\d)[ \t]", re.M)


def _lines(text: str) -> list[int]:
    """Where the lines of a numbered list begin."""
    return [m.start() for m in _ITEM.finditer(text)]


class Draft:
    """Claims and deferrals so far, with the analysis they rest on."""

    def __init__(self, analysis: Analysis, lexicon: Lexicon) -> None:
        self.a = analysis
        self.lexicon = lexicon
        self.claims: list[Claim] = []
        self.deferrals: list[Deferral] = []
        self.seen: set[tuple[object, ...]] = set()
        self.everything = len(analysis.toks)
        lines = _lines(analysis.folded) if analysis.all_of("lot") else []
        self.items = lines if len(lines) >= 2 and analysis.all_of("lot") else []

    def parts(self, start: int, end: int, *kinds: str) -> list[tuple[Hit, str]]:
        """The words for these parts of the record that begin in `text[start:end]`, with the part."""
        found = self.a.within("part", start, end)
        return [(p, p.row.value) for p in found if isinstance(p.row, Word) and p.row.value in kinds]

    def side(self, start: int, end: int) -> Side | None:
        """The side named in the same clause."""
        a, b = self.a.sentence(start)
        if not self.a.within("side", max(a, start - 300), min(b, end + 300)):
            return None
        left = max(a, *(self.a.folded.rfind(stop, a, start) + 1 for stop in _COMMAS))
        right = min(x for x in (*(self.a.folded.find(stop, end, b) for stop in _COMMAS), b) if x >= 0)
        for s in self.a.within("side", max(left, start - 300), min(right, end + 300)):
            if isinstance(s.row, Word):
                return s.row.value  # type: ignore[return-value]
        return None

    def add(
        self,
        feature: str,
        start: int,
        end: int,
        said: Assertion,
        polarity: Polarity,
        value: str | int | None,
        hit: Hit | None,
        *,
        role: Role | None = None,
        sided: bool = True,
        rule: str = "term",
    ) -> None:
        segment = self.a.segment(start).kind
        if segment not in CLAIMING or said.about != "this_copy":
            return
        text, asked = self.a.text, start
        if not text[start : start + 1].isalnum() and not any(c.isalnum() for c in text[start:end]):
            i = self.a.token(start)
            start = self.a.toks[max(i - 1, 0)][0]
            end = self.a.toks[min(i + 1, len(self.a.toks) - 1)][1]
        quote = text[start:end]
        if said.deferred:
            self.deferrals.append(Deferral(feature=feature, start=start, end=end, quote=quote, cues=said.cues))
            return
        side = self.side(start, end) if sided and feature.startswith(SIDED) else None
        certainty = said.certainty
        if certainty == "unknown":
            polarity = "present"
        item = self.item(start) if self.items else None
        key = (feature, polarity, certainty, said.attribution, side, str(value).lower(), role, item)
        if key in self.seen:
            return
        self.seen.add(key)
        own = Cue(kind="term", rule=f"{rule}:{feature}", start=start, end=end, quote=quote)
        self.claims.append(
            Claim(
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
        )
        if feature.startswith(("label.deep", "deadwax.plant", "deadwax.mastering")):
            self._twin(self.claims[-1])

    def item(self, at: int) -> int | None:
        """The number of the record in a lot whose line this is."""
        n = bisect_right(self.items, at) - 1
        if n < 0:
            return None
        line = self.a.folded.find("\n", self.items[n])
        return n + 1 if line < 0 or at < line else None

    def _twin(self, claim: Claim) -> None:
        """'Side two only': the other side is denied by the same words."""
        a, b = self.a.sentence(claim.start)
        near = self.a.within("only", max(a, claim.start - 30), min(b, claim.end + 30))
        if claim.side in ("a", "b") and claim.polarity == "present" and near:
            other: Side = "b" if claim.side == "a" else "a"
            twin = claim.model_copy(update={"side": other, "polarity": "absent"})
            if not any(c.feature == claim.feature and c.side == other for c in self.claims):
                self.claims.append(twin)

    def on_label(self, h: Hit) -> bool:
        """Whether the sentence speaks of the paper label."""
        a, b = self.a.sentence(self.a.toks[h.i][0])
        return bool(self.parts(a, b, "label"))

    def label_somewhere(self, h: Hit) -> bool:
        """Whether the listing speaks of a paper label anywhere, and this is no word of the title."""
        if self.a.segment(self.a.toks[h.i][0]).kind == "title":
            return False
        return bool(self.parts(0, len(self.a.text), "label"))

    def near_wax(self, h: Hit) -> bool:
        at = self.a.toks[h.i][0]
        a, b = self.a.sentence(at)
        a, b = max(a, at - 400), min(b, at + 400)
        return (
            any(p.i < h.i or p.j > h.j for p, _ in self.parts(a, b, "deadwax"))
            or any(
                isinstance(o.row, Term) and o.row.feature.startswith("deadwax") and not o.row.needs
                for o in self.a.within("term", a, b)
            )
            or CODE.search(self.a.folded, a, b) is not None
        )

    def claiming(self, at: int) -> bool:
        return self.a.segment(at).kind in CLAIMING
