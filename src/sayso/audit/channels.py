"""Mono against stereo: two statements of the seller, or one and the letters of the catalogue number.

A mono record in a stereo jacket, a stereo one made from mono, a playback in stereo, and issues that came both ways are
no contradiction; where the number speaks, the innocent reading is that one of the two was copied wrongly.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sayso.model import Claim, Conflict, Span

if TYPE_CHECKING:
    from sayso.audit.bounds import Reader
    from sayso.audit.labelling import LabelFound

KINDS = ("mono", "stereo")
FEATURE = "format.channels"


def channel_conflicts(reader: Reader, claims: Sequence[Claim], found: LabelFound | None) -> list[Conflict]:
    """At most one conflict of kind statement. Pure."""
    if reader.has("channels.both", reader.text):
        return []
    number = _numbered(reader, found)
    inside = (number[1].start, number[1].end) if number else (0, 0)
    # The letters of the number are no word of the seller's beside the number.
    spoken = [c for c in claims if not inside[0] <= c.start < inside[1]]
    firm = [(kind, c) for c in spoken if (kind := _kind(reader, c))]
    for n, (kind, one) in enumerate(firm):
        for other_kind, two in firm[n + 1 :]:
            if kind != other_kind and one.item == two.item:
                return [_conflict(_span(one), _span(two), reader, "channels.words")]
    if number and firm:
        by_number, span, basis = number
        against = [c for kind, c in firm if kind != by_number]
        if len(against) == len(firm):
            return [_conflict(_span(against[0]), span, reader, "channels.number", basis, found)]
    return []


def _kind(reader: Reader, claim: Claim) -> str:
    """'mono' or 'stereo' where the seller says so firmly of the disc; else empty."""
    if claim.feature != FEATURE or claim.polarity != "present" or claim.certainty != "certain":
        return ""
    if claim.attribution != "seller":
        return ""
    said = [k for k in KINDS if k in str(claim.value).casefold()]
    low, high = reader.sentence(claim.start)
    near = reader.text[max(low, claim.start - 40) : min(high, claim.end + 24)]
    if len(said) != 1 or reader.has("channels.not", near) or reader.has("not.other", reader.text[low:high]):
        return ""
    # A jacket can be the other issue's; the record is judged by the record.
    return "" if reader.part(claim.start, claim.end) in ("jacket", "inner") else said[0]


def _numbered(reader: Reader, found: LabelFound | None) -> tuple[str, Span, str] | None:
    """What the letters of the number say on this label, where they are known."""
    if found is None or not found.number:
        return None
    label = found.label
    series = [(p, kind) for kind in KINDS for p in getattr(label, f"{kind}_prefixes")]
    series += [(p, "") for p in label.prefixes if p not in {q for q, _ in series}]
    fitting = [x for x in series if found.number.startswith(x[0])]
    kind = max(fitting, key=lambda x: len(x[0]))[1] if fitting else ""
    at = reader.text.find(found.number)
    if not kind or at < 0:
        return None
    return kind, Span(start=at, end=at + len(found.number), quote=found.number), label.prefix_basis


def _span(claim: Claim) -> Span:
    return Span(start=claim.start, end=claim.end, quote=claim.quote)


def _conflict(
    one: Span, two: Span, reader: Reader, key: str, basis: str = "", found: LabelFound | None = None
) -> Conflict:
    say = reader.lexicon.phrases
    return Conflict(
        kind="statement",
        between=(one, two),
        why=say[f"conflict.{key}"].format(number=two.quote, label=found.label.name if found else ""),
        innocent=(say["innocent.channels"],),
        source=basis or None,
        fact=f"label.{found.label.id}" if found else None,
        feature=FEATURE,
    )
