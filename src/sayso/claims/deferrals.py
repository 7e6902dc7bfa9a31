"""What a seller puts off to the photos or to later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sayso.claims.draft import JACKET, RECORD
from sayso.claims.index import CLASS, Hit
from sayso.lexicon.terms import Cue as CueRow
from sayso.lexicon.terms import Term
from sayso.model import Cue, Deferral

if TYPE_CHECKING:
    from sayso.claims.draft import Draft


_FEW = 7
"""Words of a sentence that does nothing but put off."""


def _hardly_more(draft: Draft, a: int, b: int) -> bool:
    words = [w for w in draft.a.words[draft.a.token(a) : draft.a.token(b - 1) + 1] if w[0].isalpha()]
    parts = draft.parts(a, b, "disc", "jacket")
    return len(words) <= _FEW and bool(parts) and (bool(draft.a.tongue) or any(_pointed_at(draft, p) for p, _ in parts))


def _pointed_at(draft: Draft, part: Hit) -> bool:
    """'Cover: see photos', 'for the cover see photos', but not 'LP, see photos'."""
    behind = draft.a.words[part.j : part.j + 1]
    return behind == [":"] or bool(draft.a.of(_FOR, part.i - 2, part.i))


_FOR = f"{CLASS}as regards"


def read_deferrals(draft: Draft) -> None:
    """'See the pictures for the cover's state': what is pointed at, by part and purpose."""
    for hit in draft.a.cues:
        if not isinstance(hit.row, CueRow) or hit.row.kind != "deferral":
            continue
        at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
        a, b = draft.a.sentence(at)
        if not draft.a.claims_at(at):
            continue
        parts = {value for _, value in draft.parts(a, b, "disc", "jacket", "deadwax")}
        # 'Hoes: zie foto's': where hardly more is said, it is the state that is put off.
        state = bool(draft.a.within("state", a, b)) or _hardly_more(draft, a, b)
        features: list[str] = []
        if "jacket" in parts and state:
            features.append(JACKET)
        if "disc" in parts and state:
            features.append(RECORD)
        if state and not parts & {"disc", "jacket"}:
            features += [RECORD, JACKET, "condition.defects"]
        # 'Matrix numbers in the wax on request': what is named is put off, and nothing else of the run-out; a picture
        # of the matrix shows all of it. That pictures can be had ('run-out photos on demand') puts nothing off.
        pictured = any(
            isinstance(h.row, Term) and h.row.feature == "terms.photos" for h in draft.a.within("term", a, b)
        )
        offered = pictured and bool(draft.a.within(f"{CLASS}to be had", at, to))
        named = not pictured and (
            any(c.feature.startswith("deadwax.") for c in draft.claims.begun(a, b))
            or any(d.feature.startswith("deadwax.") and a <= d.start < b for d in draft.deferrals)
        )
        if "deadwax" in parts and not state and not named and not offered:
            features += [f for f in draft.lexicon.features if f.startswith("deadwax.") and f != "deadwax.lettering"]
        told = {c.feature for c in draft.claims} | {d.feature for d in draft.deferrals}
        cue = Cue(kind="deferral", rule=hit.row.id, start=at, end=to, quote=draft.a.text[at:to])
        quote = draft.a.text[a:b].strip()
        start = a + draft.a.text[a:b].index(quote)
        for f in features:
            if f not in told:
                draft.deferrals.append(
                    Deferral(feature=f, start=start, end=start + len(quote), quote=quote, cues=(cue,))
                )
