"""What a seller takes back in the same breath: 'violet, sorry, beige'; and faults that turn out to be none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.analysis import PLAIN
from sayso.claims.draft import JACKET, RECORD
from sayso.claims.hits import CLASS
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Cue
from sayso.model import Claim
from sayso.model import Cue as CueSpan

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.claims.index import Hit
    from sayso.lexicon import Lexicon

_BEFORE, _BEHIND = 30, 60
"""Characters before the words that take it back, and behind them up to the right one."""


def read_retractions(draft: Draft) -> None:
    """Drops the value before a 'sorry' or 'I mean' where another value of the same feature follows."""
    taken_back = [(h, _said(draft, h)) for h in draft.a.cues if isinstance(h.row, Cue) and h.row.kind == "withdrawn"]
    # 'Cover EX, no, it has a split, so VG': elsewhere such a 'no' denies.
    thought_over = [
        (h, [c for c in _said(draft, h) if c.feature in (RECORD, JACKET)]) for h in draft.a.all_of("no_after_all")
    ]
    for hit, said in (*taken_back, *thought_over):
        to = draft.a.toks[hit.j - 1][1]
        right = [c for c in draft.claims.begun(to, to + _BEHIND + 1) if c.polarity == "present"]
        taken = [
            c for c in said if any(r.feature == c.feature and r.value != c.value for r in right) and c.value is not None
        ]
        # 'Gatefold - no, forget gatefold, it's a single sleeve': named once more to be taken back.
        again = [r for r in right for c in taken if r.feature == c.feature and r.value == c.value]
        draft.drop([*taken, *again])


def _said(draft: Draft, hit: Hit) -> list[Claim]:
    """What was claimed right before the words that take it back."""
    at = draft.a.toks[hit.i][0]
    near = draft.claims.touching(max(at - _BEFORE - 1, 0), max(at, 1))
    return [c for c in near if 0 <= at - c.end <= _BEFORE and c.polarity == "present"]


_OF_THE_EDITION = ("edition.first_pressing", "edition.original")
"""What a heading promises and an edit takes back."""


def read_title_retractions(draft: Draft) -> None:
    """'Ignore the title': what it says of the edition is denied, and stands there all the same."""
    for hit in draft.a.of("title_wrong", 0, draft.everything):
        at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
        if not draft.claiming(at) or draft.a.segment(at).kind == "title":
            continue
        a, b = draft.a.sentence(at)
        told = {c.feature for c in draft.claims.begun(a, b)}
        own = CueSpan(kind="withdrawn", rule=getattr(hit.row, "id", ""), start=at, end=to, quote=draft.a.text[at:to])
        for claim in [c for c in draft.claims if draft.a.segment(c.start).kind == "title"]:
            if claim.feature not in _OF_THE_EDITION or claim.polarity != "present" or claim.feature in told:
                continue
            said = replace(PLAIN, polarity="absent", status="negated", cues=(own,))
            draft.add(claim.feature, at, to, said, "absent", claim.value, None, rule="title_wrong")


def drop_no_faults(draft: Draft) -> None:
    """'That scribble is DQ', 'a circle pressed in, like a dent all round': what the marks are told with is no fault."""
    gone = []
    for c in draft.claims:
        if c.feature != _FAULT:
            continue
        a, b = draft.a.sentence(c.start)
        marks = {o.feature for o in draft.claims.begun(a, b) if o.polarity == "present" and o is not c}
        if draft.parts(a, b, "jacket", "inner"):
            continue
        of_the_ring = _RING in marks and draft.a.within(f"{CLASS}ring", c.start, c.end)
        spelt = c.end - c.start > _ABBREVIATED
        cut = any(o.feature == "deadwax.lettering" for o in draft.claims.touching(c.start, c.end))
        written = spelt and c.value in _written(draft.lexicon) and not draft.parts(a, b, "label")
        if of_the_ring or cut or (written and any(m.startswith("deadwax.") for m in marks)):
            gone.append(c)
    draft.drop(gone)


_ABBREVIATED = 4
"""Characters of 'woc' and the like, which say where the writing is."""
_FAULT, _RING = "condition.defects", "label.deep_groove"


@of_lexicon
def _written(lexicon: Lexicon) -> frozenset[str]:
    """The values of faults that are writing, which in the run-out is none."""
    return frozenset(f for w in lexicon.words if w.kind == "written_fault" for f in w.forms)
