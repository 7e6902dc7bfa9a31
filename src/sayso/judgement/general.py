"""A record without a dossier: what holds of any record, so that the buyer's own figures can be weighed at all.

Three kinds of copy (first, later, modern), how many of each are about, and two signs that tell a modern one; all else
is the seller and his words. The shares are assumptions with wide ranges, and the answer says that it is general.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.asking import AnswerWorth
from sayso.judgement.assume import Assumptions
from sayso.judgement.dossier import Dossier, take
from sayso.judgement.network import KNOWS, LAYMAN, TINY, Joint, Net
from sayso.judgement.value import bits, of_outcomes

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Array = NDArray[np.float64]
ANY = "any-record"
"""The row of the lexicon that holds of any record."""
GENERAL = (
    "Nothing is known here of this record itself. These odds are general: they would be the same for any record "
    "offered in such words, so the range is wide."
)


def any_record(lexicon: Lexicon) -> Dossier | None:
    """The general dossier with as many copies of each kind as the assumptions say; null where the lexicon has none."""
    row = lexicon.labels.get(ANY)
    if row is None or not row.pressings:
        return None
    kept = _MADE.get(id(row))
    if kept is None or kept[0] is not row:
        known = lexicon.assumptions
        copies = {p.id: known[f"general.{p.id}"].value for p in row.pressings if f"general.{p.id}" in known}
        made = take(row)
        pressings = tuple(p.model_copy(update={"copies": copies.get(p.id, p.copies)}) for p in made.pressings)
        if len(_MADE) > 16:
            _MADE.clear()
        kept = _MADE[id(row)] = (row, made.model_copy(update={"pressings": pressings}))
    return kept[1]


_MADE: dict[int, tuple[object, Dossier]] = {}


@dataclass(frozen=True)
class General:
    """What bears on a record without a dossier: `contradicted` by its dates, and the decisive signs still open.

    `pointed` are those of them that the seller leaves to his pictures.
    """

    contradicted: bool = False
    open: tuple[str, ...] = ()
    pointed: frozenset[str] = frozenset()

    def terms(self, net: Net, a: Assumptions) -> Mapping[str, Array]:
        """Log-likelihoods by name: the shares of copies over their ranges (nil at the values), dates that clash."""
        shape = (len(a.rows), len(net.ids), 2)
        shares = np.stack([np.log(np.maximum(a[f"general.{i}"], TINY)) for i in net.ids], axis=1)
        out = {"shares": np.broadcast_to((shares - shares[:1])[:, :, None], shape)}
        if self.contradicted:
            doubt = np.log(np.maximum(a["general.clash"], TINY))[:, None, None]
            out["clash"] = np.broadcast_to(np.where(net.first[None, :, None], doubt, 0.0), shape)
        return out

    def worths(self, net: Net, a: Assumptions, joint: Joint, payoff: Array | None) -> dict[str, AnswerWorth]:
        """What an answer is worth on each open sign: it tells the pressing, or it tells nothing.

        How often it tells: the seller answers, and the signs of this record tell its pressings apart.
        """
        p = joint.now
        answers = np.zeros(2)
        answers[KNOWS], answers[LAYMAN] = a.at("answers.knows"), a.at("answers.layman")
        told = p * answers[None, :] * a.at("general.tells")
        looked = p * a.at("pictures.tell") * a.at("general.tells")
        out = {}
        for feature in self.open:
            tells = (looked if feature in self.pointed else told).sum(axis=1)
            outcomes = np.concatenate([np.diag(tells), (p.sum(axis=1) - tells)[:, None]], axis=1)
            halves = np.stack([outcomes[net.first].sum(axis=0), outcomes[~net.first].sum(axis=0)])
            money = None if payoff is None else float(of_outcomes(outcomes, payoff))
            out[feature] = AnswerWorth(money, float(bits(halves)))
        return out
