"""The seller's words with the claims in them marked: plain stretches, for any kind of report to dress."""

from __future__ import annotations

from dataclasses import dataclass

from sayso.model import CLAIMING, Audit, Claim, Span

ORDER = ("conflicting", "denied", "unknown", "hedged", "stated")
"""Where claims overlap, the mark that asks for most attention wins."""


@dataclass(frozen=True)
class Piece:
    """A stretch of the canonical text. `state` is null outside claims; `skipped` names a kind that claims nothing."""

    start: int
    end: int
    state: str | None = None
    claims: tuple[int, ...] = ()
    skipped: str | None = None


def claim_state(claim: Claim) -> str:
    """How one claim stands by itself, in the words used for findings."""
    if claim.certainty == "unknown":
        return "unknown"
    if claim.certainty == "hedged" or claim.attribution == "third_party":
        return "hedged"
    return "denied" if claim.polarity == "absent" else "stated"


def _states(claims: list[Claim]) -> set[str]:
    """How the claims of a stretch stand. 'Side 2 only' says yes of one side and so no of the other: that is a yes."""
    there = {(c.feature, c.start) for c in claims if c.polarity == "present" and c.side}
    return {claim_state(c) for c in claims if c.polarity == "present" or (c.feature, c.start) not in there}


def pieces(audit: Audit) -> list[Piece]:
    """The whole text in order, without gaps or overlaps."""
    text = audit.listing.text
    audited = [
        (c.start, c.end, i)
        for i, c in enumerate(audit.claims)
        if not c.feature.startswith("identity.") and c.start < c.end <= len(text)
    ]
    spans: list[Piece] = []
    for start, end, i in sorted(audited):
        if spans and start < spans[-1].end:
            last = spans[-1]
            spans[-1] = Piece(last.start, max(last.end, end), claims=(*last.claims, i))
        else:
            spans.append(Piece(start, end, claims=(i,)))
    silent = [
        Piece(s.start, s.end, skipped=s.kind)
        for s in audit.listing.segments
        if s.kind not in CLAIMING and not any(p.start < s.end and s.start < p.end for p in spans)
    ]
    # A late jacket is a question and no contradiction of what the seller says.
    clashing = [
        (x.start, x.end) for c in audit.conflicts if c.kind != "jacket" for x in c.between if isinstance(x, Span)
    ]
    contradicted = {i for f in audit.findings if f.state == "conflicting" for i in f.claims}
    out: list[Piece] = []
    at = 0
    for piece in sorted([*spans, *silent], key=lambda p: (p.start, p.end)):
        if piece.start < at:
            continue
        if piece.start > at:
            out.append(Piece(at, piece.start))
        if piece.claims:
            states = _states([audit.claims[i] for i in piece.claims])
            if contradicted.intersection(piece.claims) or any(
                piece.start < end and start < piece.end for start, end in clashing
            ):
                states.add("conflicting")
            piece = Piece(piece.start, piece.end, next(s for s in ORDER if s in states), piece.claims)
        out.append(piece)
        at = piece.end
    if at < len(text):
        out.append(Piece(at, len(text)))
    return out
