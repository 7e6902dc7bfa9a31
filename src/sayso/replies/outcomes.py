"""What became of each question: answered, answered in part, dodged, or not met at all.

The rules are those of the annotation guide (tests/corpus/replies.md): a firm statement of the seller's own on every
feature asked for is an answer, also where it says that the thing is not there; hedges, hearsay, ignorance and half of
what was asked are a part; words that meet the question and say nothing of it dodge it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from sayso.model import Claim, Deferral
from sayso.replies.nouns import Aligned, Asked, Passage, QuestionOutcome, Told


def outcomes(
    asked: Sequence[Asked],
    aligned: Aligned,
    claims: Sequence[Claim],
    deferrals: Sequence[Deferral],
    *,
    offset: int = 0,
    withdrawn: Collection[Claim] = (),
    reads: Collection[str] = (),
) -> tuple[QuestionOutcome, ...]:
    """One outcome a question. `claims` and `deferrals` are those of the reply, `offset` where the reply begins in their
    text; `reads` are features of which it counts what they read. Pure.
    """
    standing = [c for c in claims if c not in withdrawn]
    shared: dict[str, int] = {}
    for q in asked:
        for f in q.features:
            shared[f] = shared.get(f, 0) + 1
    return tuple(_one(q, aligned, standing, deferrals, offset, shared, reads) for q in asked)


def _one(
    q: Asked,
    aligned: Aligned,
    claims: Sequence[Claim],
    deferrals: Sequence[Deferral],
    offset: int,
    shared: Mapping[str, int],
    reads: Collection[str],
) -> QuestionOutcome:
    mine = [p for p in aligned.passages if q.n in p.questions]
    answers: list[Claim] = []
    firm: list[bool] = []
    for feature in q.features:
        said = [c for c in claims if c.feature == feature]
        if shared[feature] > 1:
            # Two questions ask for the same thing of different places: each has the claims of its own passages.
            said = [c for c in said if any(p.start <= c.start - offset < p.end for p in mine)]
        answers += said
        firm.append(_firm(said, feature in reads))
    if answers:
        best = min(answers, key=lambda c: (not _is_firm(c), c.start))
        evidence = _evidence(best, aligned, offset)
        if all(firm):
            return _told(q, "answered", evidence, "every point has a firm statement of the seller's own")
        why = "part of what was asked is left open, doubtful or second-hand"
        return _told(q, "partly", evidence, why)
    met = [p for p in mine if p.how != "follows"] or _met_by_deferral(q, deferrals, aligned, offset)
    if not met:
        return _told(q, "unanswered", None, "nothing in the reply meets this question")
    direct = [p for p in met if p.manner == "ignorance" and p.how != "general"]
    sure = [p for p in direct if len(p.questions) == 1]
    if sure:
        return _told(q, "partly", (sure[0].quote, sure[0].start), "the seller says that he cannot tell")
    first = met[0]
    why = {
        "evasion": "the reply points elsewhere or talks past it",
        "later": "the seller puts it off",
        "question_back": "the seller asks back",
        "ignorance": "the seller passes over it with a general 'I do not know'",
        "answer": "the words meet the question and state nothing of what was asked",
    }[first.manner]
    return _told(q, "dodged", (first.quote, first.start), why)


def _firm(said: Sequence[Claim], reads: bool) -> bool:
    """Whether a feature is settled: a firm statement, and no side of it left in doubt."""
    firm = [c for c in said if _is_firm(c)]
    if reads:
        firm = [c for c in firm if c.polarity == "absent" or c.value is not None]
    doubts = [c for c in said if not _is_firm(c)]
    return bool(firm) and all(any(_covers(f, d) for f in firm) for d in doubts)


def _is_firm(claim: Claim) -> bool:
    return claim.certainty == "certain" and claim.attribution == "seller"


def _covers(firm: Claim, doubt: Claim) -> bool:
    """Whether a firm statement speaks of the side that a doubt leaves open."""
    return firm.side == doubt.side or firm.side == "both"


def _met_by_deferral(q: Asked, deferrals: Sequence[Deferral], aligned: Aligned, offset: int) -> list[Passage]:
    for d in deferrals:
        if d.feature in q.features:
            start = d.start - offset
            span = Passage(
                start=start, end=d.end - offset, quote=d.quote, questions=(q.n,), how="topic", manner="evasion"
            )
            return [span]
    return []


def _evidence(claim: Claim, aligned: Aligned, offset: int) -> tuple[str, int]:
    """The passage a claim stands in, or the claim's own words."""
    start = claim.start - offset
    for p in aligned.passages:
        if p.start <= start < p.end and claim.end - offset <= p.end:
            return p.quote, p.start
    return claim.quote, start


def _told(q: Asked, outcome: Told, evidence: tuple[str, int] | None, why: str) -> QuestionOutcome:
    quote, start = evidence if evidence is not None else (None, None)
    return QuestionOutcome(n=q.n, features=q.features, outcome=outcome, evidence=quote, start=start, why=why)
