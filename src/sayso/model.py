"""The nouns of the program: frozen, and free of behaviour beyond simple look-ups.

Every stage is a function from these nouns to these nouns. All offsets are half-open character offsets into
`Listing.text`, the one canonical text: `listing.text[x.start:x.end] == x.quote` for everything that has a quote.
The field names are those of the published JSON form `sayso.audit/1`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer

Polarity = Literal["present", "absent"]
Certainty = Literal["certain", "hedged", "unknown"]
Attribution = Literal["seller", "third_party"]
Side = Literal["a", "b", "both"]
Role = Literal["pressed", "released", "recorded", "unspecified"]
State = Literal["stated", "denied", "hedged", "unknown", "deferred", "silent", "conflicting"]
Need = Literal["decisive", "supporting", "helpful", "none"]
Carrier = Literal["disc", "metal", "label", "jacket", "inner", "words"]
"""What carries a feature, and so what it can prove: `disc` the pressing itself; `metal` cut or stamped into the
metalwork; `label`, `jacket`, `inner` printed stock; `words` a bare statement of the seller."""
SegmentKind = Literal[
    "title",
    "description",
    "specifics",
    "caption",
    "reply",
    # the kinds below make no claims about the copy on offer
    "legend",
    "policy",
    "biography",
    "tracklist",
    "other_item",
    "question",
]
CLAIMING: frozenset[str] = frozenset({"title", "description", "specifics", "caption", "reply"})
Format = Literal["text", "html", "reply"]
Money = Annotated[Decimal, PlainSerializer(float, return_type=float, when_used="json")]
"""An amount of money: exact inside the program, a plain number in JSON."""


class Noun(BaseModel):
    """A frozen value object; unknown fields are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Span(Noun):
    """A stretch of the canonical text."""

    start: int
    end: int
    quote: str


class Segment(Noun):
    """A stretch of the text of one kind. `item` numbers the records of a lot, from 1; null outside lots."""

    kind: SegmentKind
    start: int
    end: int
    item: int | None = None


class Listing(Noun):
    """What was pasted, as one canonical text (title first) with its segments and the money asked."""

    id: str = "listing"
    text: str
    title: str = ""
    format: Format = "text"
    language: str = "en"
    price: Money | None = None
    currency: str | None = None
    shipping: Money | None = None
    auction: bool = False
    url: str | None = None
    seller: str | None = None
    segments: tuple[Segment, ...] = ()
    notes: tuple[str, ...] = ()
    """What intake had to do or leave out (encoding guessed, hidden text dropped), in plain words."""


ASPECT = "aspect"
"""The kind of a cue that names what of a thing alone is meant ('plays EX', 'front cover VG')."""


class Cue(Span):
    """A stretch of text that decided something, and the rule that made it count.

    `kind`: negation, hedge, unknown, hearsay, deferral, other_copy, hypothetical, end (where a scope ended), carrier,
    side, key, term, aspect, ... ; `rule`: the id of the lexicon entry or of the structural rule.
    """

    kind: str
    rule: str


class Claim(Noun):
    """One thing the listing says of the copy on offer."""

    feature: str
    polarity: Polarity = "present"
    certainty: Certainty = "certain"
    attribution: Attribution = "seller"
    side: Side | None = None
    value: str | int | float | None = None
    role: Role | None = None
    item: int | str | None = None
    quote: str
    start: int
    end: int
    segment: SegmentKind = "description"
    cues: tuple[Cue, ...] = ()


class Deferral(Span):
    """The seller points elsewhere for this feature (pictures, a question, a talk) and claims nothing."""

    feature: str
    cues: tuple[Cue, ...] = ()


class Finding(Noun):
    """How one audited feature stands in this listing, and why that matters to this buyer."""

    feature: str
    state: State
    need: Need = "none"
    claims: tuple[int, ...] = ()
    """Indices into `Audit.claims`."""
    why: str = ""


class Bound(Noun):
    """What one dated sign proves. Dates are `YYYY`, `YYYY-MM` or `YYYY-MM-DD`, at the precision that is known.

    A `hard` bound can contradict; a soft one (`hard` false) can only raise a question.
    """

    carrier: Carrier
    not_before: str | None = None
    not_after: str | None = None
    hard: bool = True
    claim: int | None = None
    span: Span | None = None
    fact: str
    statement: str
    basis: str
    source: str
    caution: str = ""


class Window(Noun):
    """An interval of dates, open where null."""

    not_before: str | None = None
    not_after: str | None = None


class Doubt(Noun):
    """A sign that hardly fits the year the seller gives, and proves nothing: worth a question, never a charge."""

    between: tuple[Span, Span]
    """The statement of age, and the sign."""
    why: str
    fact: str
    later: bool
    """Whether the sign came later than the year stated; else it was given up before it."""


class Dating(Noun):
    """The intersection of the bounds: for the copy as a whole (hard bounds that bind the pressing) and per carrier."""

    not_before: str | None = None
    not_after: str | None = None
    by_carrier: dict[str, Window] = Field(default_factory=dict)
    bounds: tuple[Bound, ...] = ()
    doubts: tuple[Doubt, ...] = ()


class Conflict(Noun):
    """Two things that cannot both be true, and how that could yet be innocent.

    `kind`: `age` convicts the pressing or the label; `jacket` says only that the jacket is later than the disc is said
    to be; `statement` is two sentences of the seller that cannot both hold.
    """

    kind: Literal["age", "statement", "jacket"]
    between: tuple[Span | str, ...]
    """Two entries: quotes, or the id of a fact."""
    why: str
    fact: str | None = None
    source: str | None = None
    innocent: tuple[str, ...] = ()
    feature: str | None = None


class Proof(Noun):
    """What a mark proves that the seller describes: whose it is, and what it leaves open."""

    claim: int
    """Index into `Audit.claims`."""
    marks: tuple[str, ...] = ()
    """Ids of the marks in the lexicon that are written so; empty where a label's own notes name the mark."""
    kind: Literal["plant", "cutting", "plating", "pressing-code", ""] = ""
    """Empty where the makers' marks differ in kind."""
    proves: str
    not_before: str | None = None
    basis: str
    source: str
    caution: str = ""


class EraFit(Noun):
    """An era of the label that this copy's number or the seller's words point to."""

    name: str
    address: str = ""
    channels: str = ""
    earliest: str | None = None
    latest: str | None = None
    numbers: str = ""
    by: Literal["number", "words"]
    span: Span | None = None
    basis: str
    source: str
    caution: str = ""
    from_memory: tuple[str, ...] = ()


class Remark(Noun):
    """Something known of a label, with where it comes from and the features it speaks of."""

    text: str
    features: tuple[str, ...] = ()
    basis: str
    source: str


class History(Noun):
    """What is known of the label on offer: its eras, what a first pressing should show, its traps."""

    label: str
    name: str
    span: Span | None = None
    """The words by which the label was recognised; null where the buyer named the record."""
    number: str | None = None
    eras: tuple[EraFit, ...] = ()
    shows: tuple[Remark, ...] = ()
    traps: tuple[Remark, ...] = ()
    leftover: Remark | None = None
    doubts: tuple[str, ...] = ()
    """What the seller says that does not fit the eras: worth a question, never a charge."""
    source: str = ""


class PressingOdds(Noun):
    """How likely one candidate pressing is, with the lowest and highest value over the assumptions' ranges."""

    id: str
    name: str
    p: float
    low: float
    high: float
    first: bool = False


class Move(Noun):
    """What one piece of evidence did to the odds for a first pressing: natural-log odds, which add up exactly."""

    what: str
    features: tuple[str, ...] = ()
    log_odds: float
    sentence: str


class Odds(Noun):
    """The posterior over the candidate pressings and over what the seller knows."""

    pressings: tuple[PressingOdds, ...]
    p_first: float
    p_first_low: float
    p_first_high: float
    seller_knows: float
    moved_by: tuple[Move, ...] = ()
    most_sensitive: str | None = None
    """The assumption that moves the answer most, in words."""
    most_sensitive_id: str | None = None
    """Its id, by which a file of one's own can change it."""
    assumes: tuple[str, ...] = ()


class Worth(Noun):
    """What the copy is worth to this buyer, in `currency`: mean over the odds, and its range."""

    currency: str
    expected: Money
    low: Money
    high: Money
    by_pressing: dict[str, Money] = Field(default_factory=dict)
    costs: Money = Decimal(0)
    notes: tuple[str, ...] = ()


class Advice(Noun):
    """What to do next, and the most to pay."""

    do: Literal["buy", "ask", "pass"]
    why: str
    ceiling: Money | None = None
    cautious_ceiling: Money | None = None
    currency: str | None = None
    expected_gain: Money | None = None
    bargain: bool = False
    notes: tuple[str, ...] = ()


class Question(Noun):
    """One question to the seller. `value` is what an answer is worth, in money or in bits (`unit`)."""

    features: tuple[str, ...]
    where: str
    text: str
    value: float | None = None
    unit: Literal["money", "bits"] | None = None
    why: str = ""


class Audit(Noun):
    """All of it. `model_dump(mode='json', by_alias=True)` is `sayso.audit/1`."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    schema_: Literal["sayso.audit/1"] = Field(default="sayso.audit/1", alias="schema")
    listing: Listing
    answer: str = ""
    """The answer in one sentence, for a buyer."""
    claims: tuple[Claim, ...] = ()
    deferrals: tuple[Deferral, ...] = ()
    findings: tuple[Finding, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    dating: Dating = Dating()
    odds: Odds | None = None
    why_no_odds: str | None = None
    worth: Worth | None = None
    advice: Advice | None = None
    questions: tuple[Question, ...] = ()
    message: str = ""
    cautions: tuple[str, ...] = ()
    dossier: str | None = None
    """The label dossier that was used, by its id."""
    history: History | None = None
    """What is known of the label, where it was recognised."""
    proofs: tuple[Proof, ...] = ()
    """What the described marks prove."""
    silence: tuple[str, ...] = ()
    """Selective silence, said out loud: plain sentences."""
