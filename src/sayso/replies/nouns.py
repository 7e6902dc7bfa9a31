"""The nouns of a reply. `Reply` in its JSON form is `sayso.reply/1`.

Offsets of passages and evidence are half-open offsets into the reply's own text; those of claims are offsets into
`Reply.audit.listing.text`, which is the listing continued with the reply.
"""

from __future__ import annotations

from typing import Literal

from pydantic import ConfigDict, Field

from sayso.model import Audit, Claim, Noun, Side, Span, State

Told = Literal["answered", "partly", "dodged", "unanswered"]
ChangeKind = Literal["settled", "weakened", "contradicted", "still silent", "new"]
How = Literal["quote", "number", "order", "topic", "follows", "general"]
"""What laid a passage beside its question: the question quoted, a number, the order of bare answers, what it speaks of,
that it goes on from the passage before, or that it speaks to all questions at once."""
Manner = Literal["answer", "evasion", "ignorance", "question_back", "later"]


class ReplyError(Exception):
    """A reply or a list of questions that cannot be used; one line for the user."""


class Asked(Noun):
    """One question that was sent: its number in the message, what it asks for, its words."""

    n: int
    features: tuple[str, ...]
    text: str = ""


class Passage(Span):
    """A stretch of the reply and the questions it speaks to."""

    questions: tuple[int, ...]
    how: How
    manner: Manner = "answer"
    rule: str = ""
    """The lexicon entry or the structural rule that decided."""
    side: Side | None = None
    """The side of the record that the head of its column names, where the reply is a table."""


class Courtesy(Span):
    """A stretch of the reply that speaks to no question: a greeting, a price, the buyer's own words."""

    kind: Literal["quoted", "courtesy", "price", "machine", "other"]


class Aligned(Noun):
    """A reply laid beside its questions."""

    passages: tuple[Passage, ...] = ()
    quoted: tuple[Asked, ...] = ()
    """Questions that the reply quotes and that are not on record, numbered -1, -2 …"""
    others: tuple[Courtesy, ...] = ()
    messages: tuple[int, ...] = (0,)
    """Where each message of the reply begins; later ones take back what they contradict."""
    retracts: tuple[int, ...] = ()
    """Where words stand that take back what was said before them in the same message."""


class QuestionOutcome(Noun):
    """What became of one question."""

    n: int
    features: tuple[str, ...]
    outcome: Told
    evidence: str | None = None
    start: int | None = None
    why: str = ""


class Superseded(Noun):
    """A claim that no longer stands, and why."""

    claim: Claim
    because: Literal["settled later", "doubted later", "withdrawn"]


class Change(Noun):
    """What the reply changed about one feature, with the words of before and now."""

    feature: str
    before: State
    after: State
    kind: ChangeKind
    said_before: tuple[str, ...] = ()
    said_now: tuple[str, ...] = ()


class Reply(Noun):
    """All of it: what became of the questions, what changed, and the audit with the reply folded in."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    schema_: Literal["sayso.reply/1"] = Field(default="sayso.reply/1", alias="schema")
    per_question: tuple[QuestionOutcome, ...] = ()
    changes: tuple[Change, ...] = ()
    superseded: tuple[Superseded, ...] = ()
    passages: tuple[Passage, ...] = ()
    reply_start: int = 0
    """Where the reply begins in `audit.listing.text`."""
    odds_before: float | None = None
    """The chance of a first pressing before the reply; `audit.odds` has it after."""
    audit: Audit
