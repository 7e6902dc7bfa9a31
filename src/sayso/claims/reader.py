"""Listing → claims. Terms are found by the index; what they say of this copy is decided by the analysis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sayso.claims.addresses import read_addresses, read_towns
from sayso.claims.analysis import Analysis
from sayso.claims.deferrals import read_deferrals
from sayso.claims.designs import read_designs, read_label_pictures, read_pictures
from sayso.claims.draft import Draft
from sayso.claims.ellipsis import read_named_again, read_proforms, read_side_questions
from sayso.claims.grades import read_grades, read_own_scales
from sayso.claims.initials import read_bare_letters, read_cut_letters, read_initials
from sayso.claims.known_marks import drop_bare_words, read_marks
from sayso.claims.numbers import read_weights, read_years
from sayso.claims.quoted import read_answer, read_quoted
from sayso.claims.retract import drop_no_faults, read_retractions, read_title_retractions
from sayso.claims.same import read_behind_numbers, read_likewise, read_same_side
from sayso.claims.sided import read_one_and_none
from sayso.claims.signs import read_likened, read_lone_signs, read_not_understood
from sayso.claims.stampers import read_listed_signs
from sayso.claims.terms_read import read_terms
from sayso.claims.unnamed import read_keyed_marks, read_unnamed
from sayso.claims.wax import read_clock, read_codes, read_handed_sides, read_stampers
from sayso.model import Claim, Deferral, Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon


@dataclass(frozen=True)
class Reading:
    """What was read: the listing with its segments, its claims and deferrals, and the analysis they rest on."""

    listing: Listing
    claims: tuple[Claim, ...]
    deferrals: tuple[Deferral, ...]
    analysis: Analysis


def read(listing: Listing, lexicon: Lexicon) -> Reading:
    """All that the listing claims of the copy on offer. Pure."""
    analysis = Analysis(listing, lexicon)
    draft = Draft(analysis, lexicon)
    _run(draft)
    listing = listing.model_copy(update={"segments": analysis.segments, "language": analysis.language})
    return Reading(listing, tuple(sorted(draft.claims, key=_place)), tuple(draft.deferrals), analysis)


def read_reply_answer(
    listing: Listing, start: int, end: int, features: tuple[str, ...], question: str, lexicon: Lexicon
) -> tuple[list[Claim], list[Deferral]]:
    """What `text[start:end]` says as the answer to a question about `features`. Pure."""
    draft = Draft(Analysis(listing, lexicon), lexicon)
    _run(draft)
    read_answer(draft, start, end, features, question)
    return (
        sorted(draft.claims.begun(start, end), key=_place),
        [d for d in draft.deferrals if start <= d.start < end],
    )


def _place(claim: Claim) -> tuple[int, int]:
    return claim.start, claim.end


def _run(draft: Draft) -> None:
    for step in _STEPS:
        step(draft)


_STEPS = (
    read_terms,
    read_addresses,
    read_towns,
    read_quoted,
    read_grades,
    read_own_scales,
    read_years,
    read_weights,
    read_codes,
    read_stampers,
    read_clock,
    read_designs,
    read_marks,
    read_keyed_marks,
    read_pictures,
    read_label_pictures,
    read_initials,
    read_cut_letters,
    read_bare_letters,
    read_listed_signs,
    read_lone_signs,
    read_likened,
    read_unnamed,
    read_not_understood,
    drop_bare_words,
    read_handed_sides,
    read_one_and_none,
    read_proforms,
    read_side_questions,
    read_named_again,
    read_likewise,
    read_same_side,
    read_behind_numbers,
    drop_no_faults,
    read_retractions,
    read_title_retractions,
    read_deferrals,
)
"""The order matters: a later step looks at what earlier ones found."""
