"""How old this copy can be, from what the listing says is printed, stamped or etched on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from sayso.audit.bounds import BINDS, Reader, find_signs
from sayso.audit.conflicts import find_conflicts, find_doubts
from sayso.audit.dates import later
from sayso.audit.stated import find_stated
from sayso.model import Bound, Claim, Conflict, Dating, Listing, Window

if TYPE_CHECKING:
    from sayso.audit.labelling import LabelFound
    from sayso.lexicon import Lexicon


class Reading(Protocol):
    """What the claims stage hands over, as far as dating needs it."""

    @property
    def listing(self) -> Listing: ...
    @property
    def claims(self) -> Sequence[Claim]: ...


def date_listing(
    reading: Reading, lexicon: Lexicon, found: LabelFound | None = None, *, known: bool = False
) -> tuple[Dating, tuple[Conflict, ...]]:
    """The window of this copy, and what contradicts it. Pure.

    Only hard floors on label, metal and disc make the window of the whole; no ceiling on a part is one on the pressing.
    `found` is the label of the record, where it is `known`; it is looked for otherwise.
    """
    from sayso.audit.labelling import find_label

    if not lexicon.patterns:
        return Dating(), ()
    reader = Reader(reading.listing, lexicon)
    if not known:
        found = find_label(reading.listing, lexicon)
    signs = find_signs(reader, found.label if found else None)
    stated = find_stated(reader, reading.claims)
    bounds = tuple(s.bound for s in signs if s.bound.not_before or s.bound.not_after)
    conflicts = find_conflicts(reader, signs, stated, reading.claims, found)
    dating = _window(bounds).model_copy(
        update={"doubts": find_doubts(reader, signs, stated, conflicts, reading.claims)}
    )
    return dating, conflicts


def _window(bounds: Sequence[Bound]) -> Dating:
    carriers: dict[str, Window] = {}
    whole: str | None = None
    for bound in bounds:
        if not bound.hard:
            continue
        so_far = carriers.get(bound.carrier, Window())
        carriers[bound.carrier] = Window(not_before=later(so_far.not_before, bound.not_before))
        if bound.carrier in BINDS:
            whole = later(whole, bound.not_before)
    return Dating(not_before=whole, by_carrier=carriers, bounds=tuple(bounds))
