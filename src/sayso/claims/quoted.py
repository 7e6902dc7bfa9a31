"""Answers: a passage below its quoted question, or the reply to a message."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.lexicon.terms import Word
from sayso.model import CLAIMING, Listing

if TYPE_CHECKING:
    from sayso.claims.answers import Said
    from sayso.claims.draft import Draft


def read_answer(draft: Draft, start: int, end: int, features: tuple[str, ...], question: str) -> None:
    """Reads a passage as the answer to a question about these features."""
    from sayso.claims.analysis import Analysis
    from sayso.claims.answers import answer_of, manner, named

    asked = Analysis(Listing(text=question), draft.lexicon) if question else None
    topics = named(asked, 0, len(question)) if asked else {}
    choice = any(isinstance(h.row, Word) and h.row.kind == "question_or" for h in (asked.hits if asked else ()))
    # 'No, a single sleeve': the yes or no speaks of the value asked for, the words behind it of another.
    behind = start + manner(draft.a.text[start:end], draft.lexicon)[1] + 1
    valued = {f for f, t in topics.items() if t.value is not None}
    free = {c.feature for c in draft.claims if start <= c.start < end and (c.feature not in valued or c.start < behind)}
    wanted = tuple(f for f in features if f not in free)
    _take(draft, answer_of(draft.a, start, end, wanted, topics, draft.lexicon, choice=choice))


def _take(draft: Draft, said: Iterable[Said]) -> None:
    for s in said:
        how = draft.a.assertion(s.start, s.end)
        how = replace(how, certainty=s.certainty, polarity=s.polarity, about="this_copy", deferred=False)
        before = len(draft.claims)
        draft.add(s.feature, s.start, s.end, how, s.polarity, s.value, None, sided=False, rule="answer")
        if len(draft.claims) > before and s.side:
            draft.claims[-1] = draft.claims[-1].model_copy(update={"side": s.side})


def read_quoted(draft: Draft) -> None:
    """Quoted questions with their answers below."""
    from sayso.claims.answers import answer_of, named

    segments = draft.a.segments
    for n, seg in enumerate(segments[:-1]):
        after = segments[n + 1]
        if seg.kind != "question" or after.kind not in CLAIMING:
            continue
        last = draft.a.folded.rstrip().rfind("\n", seg.start, seg.end - 1) + 1
        topics = named(draft.a, max(last, seg.start), seg.end)
        blank = draft.a.folded.find("\n\n", after.start, after.end)
        end = blank if blank > after.start + 1 else after.end
        features = tuple(
            f for f in topics if f not in {c.feature for c in draft.claims if after.start <= c.start < end}
        )
        _take(draft, answer_of(draft.a, after.start, end, features, topics, draft.lexicon))
