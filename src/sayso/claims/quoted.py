"""Answers: a passage below its quoted question, or the reply to a message."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from sayso.claims.hits import CLASS
from sayso.lexicon.terms import Term
from sayso.model import CLAIMING, Listing, Segment

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.claims.answers import Said
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon


_LINE = re.compile(r"^[>|\s]*(?:\(?(\d{1,2}|[a-h])[.):][ \t]+)?([^\n]+)$", re.M)
"""A line of the buyer's or of the seller's, with its number."""
_FAULTS = "condition.defects"
_NUMBERED = re.compile(r"^[ \t]*\(?(\d{1,2}|[a-h])[.):][ \t]+", re.M)


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
    free = {c.feature for c in draft.claims.begun(start, end) if c.feature not in valued or c.start < behind}
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
            draft.claims.amend(draft.claims.last(1)[0], side=s.side)


def _paired(draft: Draft, seg: Segment, after: Segment) -> list[tuple[str, int, int]]:
    """Several questions in a row and the answers below, by their numbers, or line by line where there are as many."""
    text = draft.a.folded
    questions = [m for m in _LINE.finditer(text, seg.start, seg.end) if m.group(2).rstrip().endswith("?")]
    if len(questions) < 2:
        return []
    numbered = list(_NUMBERED.finditer(text, after.start, after.end))
    spans: dict[str, tuple[int, int]] = {}
    for m, end in zip(numbered, [*(m.start() for m in numbered[1:]), after.end], strict=False):
        blank = text.find("\n\n", m.end(), end)
        spans.setdefault(m.group(1), (m.end(), blank if blank >= 0 else end))
    if len(spans) >= 2:
        keyed = {m.group(1) or str(n): m.group(2) for n, m in enumerate(questions, 1)}
        return [(keyed[n], a, b) for n, (a, b) in spans.items() if n in keyed]
    lines = [m for m in _LINE.finditer(text, after.start, after.end) if m.group(2).strip()]
    if len(lines) == len(questions):
        return [(q.group(2), a.start(2), a.end(2)) for q, a in zip(questions, lines, strict=True)]
    return []


def _answered(draft: Draft, question: str, start: int, end: int) -> None:
    """What `text[start:end]` says as the answer to this question of a list."""
    from sayso.claims.analysis import Analysis
    from sayso.claims.answers import answer_of, named

    asked = Analysis(Listing(text=question), draft.lexicon)
    topics = named(asked, 0, len(question))
    choice = bool(asked.all_of("question_or"))
    offered = _offered(asked, len(question), draft.lexicon) if choice else frozenset()
    told = {c.feature for c in draft.claims.begun(start, end)}
    for feature in topics:
        if feature not in told:
            said = answer_of(
                *(draft.a, start, end, (feature,), topics, draft.lexicon),
                choice=choice,
                offered=feature in offered,
                soft=True,
            )
            _take(draft, said)


def read_quoted(draft: Draft) -> None:
    """Quoted questions with their answers below."""
    from sayso.claims.answers import answer_of, named

    segments = draft.a.segments
    alternatives: tuple[Term, ...] = ()
    for n, seg in enumerate(segments[:-1]):
        after = segments[n + 1]
        if seg.kind != "question" or after.kind not in CLAIMING:
            continue
        pairs = _paired(draft, seg, after)
        if pairs:
            for question, start, end in pairs:
                _answered(draft, question, start, end)
            continue
        # The line of the question itself; the key of the answer may stand on the next ('A:').
        mark = draft.a.folded.rfind("?", seg.start, seg.end)
        last = draft.a.folded.rstrip().rfind("\n", seg.start, mark if mark > 0 else seg.end - 1) + 1
        opens = max(last, seg.start)
        blank = draft.a.folded.find("\n\n", after.start, after.end)
        end = blank if blank > after.start + 1 else after.end
        parted = _parted(draft, opens, seg.end, after.start, end)
        for question, start, stop in parted:
            _answered(draft, question, start, stop)
        if parted:
            continue
        offered = _alternatives(draft, opens, seg.end)
        alternatives = offered or alternatives  # '… but which of the two?' asks once more
        if alternatives and _points(draft, alternatives, after.start, end):
            continue
        topics = named(draft.a, opens, seg.end)
        lead = len(draft.a.folded[after.start : end]) - len(draft.a.folded[after.start : end].lstrip())
        _, first = draft.a.sentence(after.start + lead)
        # 'Any splits? - None. There is one tiny hole': a fault told further on says nothing of those asked for.
        told = {c.feature for c in draft.claims.begun(after.start, end) if c.feature != _FAULTS or c.start < first}
        # A yes to a question that offers a choice says nothing of it.
        choice = {t.feature for t in offered}
        for feature in topics:
            if feature not in told:
                either = feature in choice
                given = answer_of(
                    *(draft.a, after.start, end, (feature,), topics, draft.lexicon),
                    choice=either,
                    offered=either,
                    soft=True,
                )
                _take(draft, given)


def _parted(draft: Draft, opens: int, closes: int, start: int, end: int) -> list[tuple[str, int, int]]:
    """'Violet or beige, and is there a barcode? - Beige. No.': a question in parts, each with a sentence for answer."""
    a = draft.a
    joins, asks = a.index.small["list_and"], {h.i for h in a.within("inversion", opens, closes)}
    cuts = [n for n in sorted(asks) if a.words[n - 1] in joins and a.toks[n - 1][0] > opens]
    answers = [
        s for s in a.sentences if start <= s[0] and s[1] <= end and any(c.isalnum() for c in a.folded[slice(*s)])
    ]
    if not cuts or len(answers) != len(cuts) + 1:
        return []
    edges = [opens, *(a.toks[n][0] for n in cuts), closes]
    return [(a.folded[x:y], *s) for (x, y), s in zip(pairwise(edges), answers, strict=True)]


def _alternatives(draft: Draft, opens: int, closes: int) -> tuple[Term, ...]:
    """The two things between which a question asks one to choose ('stamped or etched?'); empty where it does not."""
    a = draft.a
    for h in a.within("question_or", opens, closes):
        before = [t for t in a.of("term", h.i - _CHOSEN, h.i) if t.j <= h.i and a.toks[t.i][0] >= opens]
        behind = [t for t in a.of("term", h.j, h.j + _CHOSEN) if a.toks[t.j - 1][1] <= closes]
        if before and behind and isinstance(one := before[-1].row, Term) and isinstance(other := behind[0].row, Term):
            of_one = one.feature == other.feature and one.value != other.value
            editions = one.feature != other.feature and {one.feature[:8], other.feature[:8]} == {"edition."}
            if of_one or editions:
                return one, other
    return ()


_CHOSEN = 4
"""So near the 'or' stand the things between which to choose."""


def _points(draft: Draft, alternatives: tuple[Term, ...], start: int, end: int) -> bool:
    """'The former', 'the second': whether the answer points to one of two things, which is then claimed."""
    a = draft.a
    first = a.token(start)
    for n, place in enumerate(("first of two", "second of two")):
        for h in a.of(f"{CLASS}{place}", first, first + 1):
            at, to = a.toks[h.i][0], a.toks[h.j - 1][1]
            if to <= end and (h.j >= len(a.words) or not a.words[h.j][:1].isalnum() or a.toks[h.j][0] >= end):
                row = alternatives[n]
                said = replace(a.assertion(at, to), about="this_copy", deferred=False)
                draft.add(row.feature, at, to, said, row.polarity, row.value, None, rule="answer")
                return True
    return False
