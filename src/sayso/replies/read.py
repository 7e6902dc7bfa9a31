"""What a reply claims: read on its own, and each passage again as the answer to its question."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

from sayso.model import Claim, Deferral, Listing, Segment, SegmentKind
from sayso.replies.align import align
from sayso.replies.codes import by_side, numbers, outside_codes, sided
from sayso.replies.gaps import fill, without_idle
from sayso.replies.lean import clause, doubtful, lean, only_one_side, unfinished, unread
from sayso.replies.mend import mend
from sayso.replies.nouns import Aligned, Asked
from sayso.replies.runout import stems_of

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

GAP = "\n\n"
SIDED = ("deadwax.", "label.")
LAYMAN = frozenset({"deadwax.plant_mark", "deadwax.mastering_mark"})
"""What a layman describes without a name for it."""


@dataclass(frozen=True)
class ReadReply:
    """The listing continued with the reply, and what the reply says."""

    listing: Listing
    start: int
    aligned: Aligned
    claims: tuple[Claim, ...]
    deferrals: tuple[Deferral, ...]


def read_reply(listing: Listing, reply: str, asked: Sequence[Asked], lexicon: Lexicon) -> ReadReply:
    """Reads the reply in the light of what was asked. `reply` must be tidy (`sayso.intake.draft.tidy`). Pure."""
    stems = stems_of(*_named_by(listing, asked))
    first = align(reply, asked, lexicon, stems=stems)
    continued, start = _continue(listing, reply, first)
    alone = _alone(_parted(continued, first, start), start)
    claims, deferrals = _free(alone, start, lexicon)
    machine = [(o.start + start, o.end + start) for o in first.others if o.kind == "machine"]
    claims = [c for c in without_idle(claims, reply, start, lexicon) if not _within(c, machine)]
    claims = mend(claims, reply, start, lexicon) + _terms_of_sale(continued, machine, lexicon)
    own = [c.model_copy(update={"start": c.start - start, "end": c.end - start}) for c in claims]
    # What the sentences say by themselves tells more of where they belong.
    aligned = align(reply, asked, lexicon, claims=own, stems=stems) if own else first
    answered, pointed = _answers(alone, start, aligned, asked, lexicon)
    answered = mend(answered, reply, start, lexicon)
    said = without_idle(_merged(answered, claims), reply, start, lexicon)
    questions = (*asked, *aligned.quoted)
    drop, made = numbers(questions, aligned.passages, said, start, stems, lexicon)
    said = sorted([*(c for c in said if c not in drop), *made], key=lambda c: (c.start, c.end))
    said += lean(questions, aligned.passages, said, start, lexicon)
    more, put_off = fill(continued, start, aligned.passages, questions, said, lexicon, _engine("read_claims"))
    more += by_side(questions, aligned.passages, [*said, *more], start, lexicon)
    more = mend(without_idle(more, reply, start, lexicon), reply, start, lexicon)
    more += unfinished(questions, aligned.passages, [*said, *more], start, lexicon)
    more = sided(outside_codes(more, made), reply, start, lexicon)
    said = sided(said, reply, start, lexicon)
    said, more = (_named_by_question(x, questions, aligned, start, lexicon) for x in (said, more))
    said, more = (_in_columns(_of_the_inner(x, questions, aligned, start), aligned, start) for x in (said, more))
    quoted = [(o.start + start, o.end + start) for o in aligned.others if o.kind == "quoted"]
    return ReadReply(
        listing=continued,
        start=start,
        aligned=aligned,
        claims=_outside(_read_once(only_one_side(_merged(said, more), reply, start, lexicon), asked), quoted),
        deferrals=tuple(dict.fromkeys((*pointed, *deferrals, *put_off))),
    )


def _named_by(listing: Listing, asked: Sequence[Asked]) -> tuple[str, ...]:
    """The texts that name the catalogue number: the listing's and the questions'."""
    return (listing.title, listing.text[:4_000], *(q.text for q in asked))


def _continue(listing: Listing, reply: str, aligned: Aligned) -> tuple[Listing, int]:
    """The listing with the reply as further segments: the seller's words, the buyer's quoted ones, a machine's."""
    start = len(listing.text) + len(GAP)
    segments = list(listing.segments)
    at = 0
    for other in aligned.others:
        kind: SegmentKind | None = {"quoted": "question", "machine": "policy"}.get(other.kind)  # type: ignore[assignment]
        if kind is None:
            continue
        if reply[at : other.start].strip():
            segments.append(Segment(kind="reply", start=start + at, end=start + other.start))
        segments.append(Segment(kind=kind, start=start + other.start, end=start + other.end))
        at = other.end
    if reply[at:].strip():
        segments.append(Segment(kind="reply", start=start + at, end=start + len(reply)))
    return listing.model_copy(update={"text": listing.text + GAP + reply, "segments": tuple(segments)}), start


def _parted(listing: Listing, aligned: Aligned, start: int) -> Listing:
    """The same text, as long as before, in which each cell of a table stands on a line of its own."""
    chars = list(listing.text)
    for p in aligned.passages:
        at = start + p.start - 1
        if p.rule == "head" and chars[at].isspace():
            chars[at] = "\n"
    return listing.model_copy(update={"text": "".join(chars)})


def _alone(listing: Listing, start: int) -> Listing:
    """The same text, of which only the reply claims: what the listing says already is said once more by the reply."""
    segments = tuple(
        s if s.start >= start or s.kind == "question" else s.model_copy(update={"kind": "policy"})
        for s in listing.segments
    )
    return listing.model_copy(update={"segments": segments})


def _engine(name: str) -> Callable[..., Any] | None:
    """A reader of the claims engine; null where this build has none."""
    return getattr(import_module("sayso.claims"), name, None)


def _free(listing: Listing, start: int, lexicon: Lexicon) -> tuple[list[Claim], list[Deferral]]:
    """What the reply says without its questions."""
    read_claims = _engine("read_claims")
    if read_claims is None:
        return [], []
    reading = read_claims(listing, lexicon)
    # Answers to quoted questions are read with the questions on record.
    claims = [_of_reply(c) for c in reading.claims if c.start >= start and not _answered(c)]
    return claims, [d for d in reading.deferrals if d.start >= start]


def _answers(
    listing: Listing, start: int, aligned: Aligned, asked: Sequence[Asked], lexicon: Lexicon
) -> tuple[list[Claim], list[Deferral]]:
    """What each passage says as the answer to its question."""
    read_answer = _engine("read_answer")
    if read_answer is None:
        return [], []
    questions = {q.n: q for q in (*asked, *aligned.quoted)}
    claims: list[Claim] = []
    deferrals: list[Deferral] = []
    for passage in aligned.passages:
        if passage.how == "general" and passage.manner != "ignorance":
            continue
        # 'I cannot read those scratches' says of the first thing asked there that it is unknown, and dodges the others.
        vague = passage.manner == "ignorance" and passage.how == "topic"
        for n in passage.questions[:1] if vague else passage.questions:
            q = questions[n]
            said, pointed = read_answer(
                listing, start + passage.start, start + passage.end, q.features, q.text, lexicon
            )
            claims += [_of_reply(c) for c in said if c.feature in q.features or not _answered(c)]
            deferrals += pointed
    return claims, deferrals


def _answered(claim: Claim) -> bool:
    return any(c.rule.startswith("answer:") for c in claim.cues)


def _of_reply(claim: Claim) -> Claim:
    return claim if claim.segment == "reply" else claim.model_copy(update={"segment": "reply"})


def _merged(answers: Sequence[Claim], free: Sequence[Claim]) -> list[Claim]:
    """The claims read as answers, and those read without questions that say something else or say it elsewhere."""
    out: list[Claim] = []
    for claim in answers:
        if not any(_same(claim, c) for c in out):
            out.append(claim)
    for claim in free:
        if not any(_same(claim, c) or (c.feature == claim.feature and _overlap(c, claim)) for c in out):
            out.append(claim)
    return sorted(out, key=lambda c: (c.start, c.end))


def _same(a: Claim, b: Claim) -> bool:
    return (a.feature, a.polarity, a.certainty, a.attribution, a.side, str(a.value), a.role, a.item) == (
        b.feature,
        b.polarity,
        b.certainty,
        b.attribution,
        b.side,
        str(b.value),
        b.role,
        b.item,
    ) and (_overlap(a, b) or a.value is not None)


def _overlap(a: Claim, b: Claim) -> bool:
    return a.start < b.end and b.start < a.end


def _read_once(claims: Sequence[Claim], asked: Sequence[Asked]) -> list[Claim]:
    """What was asked for as the number is not also a stamper's, unless that was asked for."""
    wanted = {f for q in asked for f in q.features}
    numbers = [c for c in claims if c.feature == "deadwax.matrix"] if "deadwax.matrix" in wanted else []
    return [
        c
        for c in claims
        if c.feature != "deadwax.stamper_code" or c.feature in wanted or not any(_overlap(c, n) for n in numbers)
    ]


def _terms_of_sale(listing: Listing, spans: Sequence[tuple[int, int]], lexicon: Lexicon) -> list[Claim]:
    """A machine speaks of no copy, but its terms of sale hold."""
    read_claims = _engine("read_claims")
    if read_claims is None or not spans:
        return []
    segments = tuple(Segment(kind="reply", start=a, end=b) for a, b in spans)
    reading = read_claims(listing.model_copy(update={"segments": segments}), lexicon)
    return [_of_reply(c) for c in reading.claims if c.feature.startswith("terms.") and _within(c, spans)]


def _within(claim: Claim, spans: Sequence[tuple[int, int]]) -> bool:
    return any(a <= claim.start and claim.end <= b for a, b in spans)


DOUBTS = frozenset({"hedge", "search", "approx", "unknown", "hearsay", "hypothetical"})


def _named_by_question(
    claims: Sequence[Claim], asked: Sequence[Asked], aligned: Aligned, start: int, lexicon: Lexicon
) -> list[Claim]:
    """A sign that a layman describes is a doubtful one, unless he was asked for it: then the question names it."""
    wanted = {q.n: q.features for q in asked}
    out = []
    for c in claims:
        if c.certainty == "hedged" and c.polarity == "present" and not any(k.kind in DOUBTS for k in c.cues):
            at = c.start - start
            p = next((p for p in aligned.passages if p.start <= at < p.end), None)
            if p is not None and any(c.feature in wanted.get(n, ()) for n in p.questions) and p.manner == "answer":
                a, b = clause(p.quote, at - p.start)
                shaky = doubtful(p.quote[a:b], lexicon) or unread(p.quote, lexicon)
                if c.feature in LAYMAN and not shaky and not any(k.kind == "question" for k in c.cues):
                    c = c.model_copy(update={"certainty": "certain"})
        out.append(c)
    return out


def _in_columns(claims: Sequence[Claim], aligned: Aligned, start: int) -> list[Claim]:
    """The claims with the side that the head of their column names."""
    columns = [(p.start + start, p.end + start, p.side) for p in aligned.passages if p.side is not None]
    out = []
    for c in claims:
        side = next((s for a, b, s in columns if a <= c.start < b and c.feature.startswith(SIDED)), None)
        out.append(c.model_copy(update={"side": side}) if side is not None else c)
    return out


def _of_the_inner(claims: Sequence[Claim], asked: Sequence[Asked], aligned: Aligned, start: int) -> list[Claim]:
    """'Original' in answer to the question for the inner sleeve is said of the sleeve, and not of the pressing."""
    inner = {q.n for q in asked if "inner.original" in q.features}
    edition = {q.n for q in asked if any(f.startswith("edition.") for f in q.features)}
    spans = [
        (p.start + start, p.end + start)
        for p in aligned.passages
        if p.how != "general" and set(p.questions) & inner and not set(p.questions) & edition
    ]
    lone = [c for c in claims if c.feature == "edition.original" and " " not in c.quote and _within(c, spans)]
    out: list[Claim] = []
    for c in claims:
        mine = [(a, b) for a, b in spans if a <= c.start < b]
        if c in lone:
            if any(o.feature == "inner.original" and _within(o, mine) and o.value is not None for o in claims):
                continue
            c = c.model_copy(update={"feature": "inner.original"})
        elif c.feature == "inner.original" and c.value is None and any(_within(o, mine) for o in lone):
            continue  # the sleeve is named, and 'original' is what is said of it
        out.append(c)
    return out


def _outside(claims: Sequence[Claim], quoted: Sequence[tuple[int, int]]) -> tuple[Claim, ...]:
    """Nothing that lies wholly in the buyer's own words is a claim of the seller's."""
    return tuple(c for c in claims if not any(a <= c.start and c.end <= b for a, b in quoted))
