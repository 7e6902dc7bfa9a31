"""Answers: a passage below its quoted question, or the reply to a message."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.lexicon.terms import Term
from sayso.model import CLAIMING, Listing

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.claims.answers import Said
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon


def read_answer(draft: Draft, start: int, end: int, features: tuple[str, ...], question: str) -> None:
    """Reads a passage as the answer to a question about these features."""
    from sayso.claims.analysis import Analysis
    from sayso.claims.answers import answer_of, manner, named

    asked = Analysis(Listing(text=question), draft.lexicon) if question else None
    topics = named(asked, 0, len(question)) if asked else {}
    choice = asked is not None and bool(asked.all_of("question_or"))
    # 'No, a single sleeve': the yes or no speaks of the value asked for, the words behind it of another.
    behind = start + manner(draft.a.text[start:end], draft.lexicon)[1] + 1
    valued = {f for f, t in topics.items() if t.value is not None}
    free = {c.feature for c in draft.claims if start <= c.start < end and (c.feature not in valued or c.start < behind)}
    wanted = tuple(f for f in features if f not in free)
    # 'A sign, a picture or a letter?' offers no choice: no means that there is none.
    offered = _offered(asked, len(question), draft.lexicon) if asked is not None and choice else frozenset()
    for feature in wanted:
        _take(
            draft,
            answer_of(
                draft.a, start, end, (feature,), topics, draft.lexicon, choice=choice, offered=feature in offered
            ),
        )


def _offered(asked: Analysis, end: int, lexicon: Lexicon) -> frozenset[str]:
    """The features between values of which the question offers a choice; of editions, where it names several."""
    named: dict[str, set[object]] = {}
    for h in asked.all_of("term"):
        if isinstance(h.row, Term) and asked.toks[h.j - 1][1] <= end:
            named.setdefault(h.row.feature, set()).add(h.row.value)
    signs = {f for w in lexicon.words if w.kind == "reply_sign" for f in w.forms}
    several = {f for f, values in named.items() if len(values - {None}) >= 2 and f not in signs}
    editions = {f for f in named if f.startswith("edition.")}
    return frozenset(several | (editions if len(editions) >= 2 else set()))


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
        # The line of the question itself; the key of the answer may stand on the next ('A:').
        mark = draft.a.folded.rfind("?", seg.start, seg.end)
        last = draft.a.folded.rstrip().rfind("\n", seg.start, mark if mark > 0 else seg.end - 1) + 1
        topics = named(draft.a, max(last, seg.start), seg.end)
        blank = draft.a.folded.find("\n\n", after.start, after.end)
        end = blank if blank > after.start + 1 else after.end
        features = tuple(
            f for f in topics if f not in {c.feature for c in draft.claims if after.start <= c.start < end}
        )
        _take(draft, answer_of(draft.a, after.start, end, features, topics, draft.lexicon, soft=True))
