"""Marks that the trade knows, described or copied out in the run-out → claims; what they prove is told in the audit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.marks import MarkHit, marks_in

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.model import Claim


def read_marks(draft: Draft) -> None:
    """A known mark in the run-out that no other step has claimed."""
    told = [
        (c.start, c.end) for c in draft.claims if c.feature.startswith("deadwax.") and c.feature != "deadwax.lettering"
    ]
    for hit in marks_in(draft.a.text, draft.lexicon):
        feature = _feature(draft, hit)
        if feature is None:
            continue
        if any(a < hit.end and hit.start < b for a, b in told):
            if feature != "deadwax.plant_mark" or not _more_than_letters(draft, hit):
                continue
            # 'MR inside a small circle' is a maker's stamp, and nobody's initials.
            draft.drop([c for c in draft.claims.touching(hit.start, hit.end) if c.feature == "deadwax.mastering_mark"])
            if any(c.feature == feature for c in draft.claims.touching(hit.start, hit.end)):
                continue
        if feature == "deadwax.plant_mark":
            draft.drop(_words_for_them(draft, hit))
        said = draft.a.assertion(hit.start, hit.end)
        i = draft.a.token(hit.start)
        # 'A funny little MR in a circle' is told as something found, not as the mark it is known to be.
        wonders = draft.a.of("naive", i - 5, i) and draft.a.of("indefinite", i - 5, i)
        if said.status == "affirmed" and feature == "deadwax.plant_mark" and wonders:
            said = replace(said, status="possible", certainty="hedged")
        draft.add(feature, hit.start, hit.end, said, said.polarity, hit.value, None, rule="mark")


_RIGHT_BEHIND = 14
"""Characters between the word for a mark and the mark itself."""


def drop_bare_words(draft: Draft) -> None:
    """'Initials PBK': the word for the mark says no more than the mark behind it."""
    for feature in ("deadwax.mastering_mark", "deadwax.plant_mark"):
        said = [c for c in draft.claims if c.feature == feature]
        told = [c for c in said if c.value is not None]
        gone = [
            c
            for c in said
            if c.value is None
            and any(
                0 <= o.start - c.end <= _RIGHT_BEHIND
                and (o.polarity, o.certainty, o.attribution) == (c.polarity, c.certainty, c.attribution)
                and c.side in (None, o.side)
                and draft.a.sentence(o.start) == draft.a.sentence(c.start)
                for o in told
            )
        ]
        if gone:
            draft.drop(gone)


def _feature(draft: Draft, hit: MarkHit) -> str | None:
    """What the mark is a sign of; null outside the run-out and where its makers did different things with one form."""
    rows = [draft.lexicon.marks[m] for m in hit.marks]
    if not hit.in_context or any(m.where != "run-out" for m in rows):
        return None
    kinds = {m.kind for m in rows}
    if kinds == {"cutting"}:
        return "deadwax.mastering_mark"
    return "deadwax.plant_mark" if kinds <= {"plant", "plating"} else None


def _more_than_letters(draft: Draft, hit: MarkHit) -> bool:
    """Whether it is read as initials only, while more than its letters is described."""
    touching = [c for c in draft.claims.touching(hit.start, hit.end) if c.feature != "deadwax.lettering"]
    return (
        bool(touching)
        and all(c.feature == "deadwax.mastering_mark" for c in touching)
        and all(hit.start <= c.start and c.end <= hit.end for c in touching)
        and hit.end - hit.start > max(c.end - c.start for c in touching)
    )


def _words_for_them(draft: Draft, hit: MarkHit) -> list[Claim]:
    """'Initials' right before them: the word for what has turned out to be a stamp."""
    return [
        c
        for c in draft.claims
        if c.feature == "deadwax.mastering_mark" and c.value is None and 0 <= hit.start - c.end <= 1
    ]
