"""A hand-made audit, reply and casebook. Everything is invented."""

from __future__ import annotations

from pathlib import Path

from sayso.casebook import Casebook, open_casebook
from sayso.engine import conclude
from sayso.lexicon import load_lexicon
from sayso.model import Audit, Claim, Listing, Odds, PressingOdds, Segment
from sayso.replies.nouns import Asked

LEXICON = load_lexicon(user=False)
TEXT = 'Dulcie Marram "Ebb" Sandglass SGL 9\n\nOriginal pressing. Kettle in the run-out. Cover VG+, maybe EX.'
ASKED = (
    Asked(n=1, features=("deadwax.plant_mark",), text="Is there a small sign in the run-out?"),
    Asked(n=2, features=("condition.play_tested",), text="Have you played it?"),
)


def claim(text: str, quote: str, feature: str, **more: object) -> Claim:
    start = text.index(quote)
    return Claim(feature=feature, quote=quote, start=start, end=start + len(quote), **more)  # type: ignore[arg-type]


def audit(
    text: str = TEXT, *, seller: str | None = None, claims: tuple[Claim, ...] | None = None, p: float | None = None
) -> Audit:
    """An audit with claims made by hand; with `p`, the chance of a first pressing."""
    if claims is None:
        claims = (
            claim(text, "Original pressing", "edition.original"),
            claim(text, "Kettle in the run-out", "deadwax.plant_mark", value="kettle"),
            claim(text, "VG+", "condition.jacket_grade", value="VG+"),
        )
    title, _, _ = text.partition("\n\n")
    listing = Listing(
        text=text,
        title=title,
        seller=seller,
        segments=(
            Segment(kind="title", start=0, end=len(title)),
            Segment(kind="description", start=min(len(title) + 2, len(text)), end=len(text)),
        ),
    )
    made = conclude(listing, claims, (), LEXICON)
    if p is not None:
        pressings = (
            PressingOdds(id="first", name="first", p=p, low=p, high=p, first=True),
            PressingOdds(id="later", name="later", p=1 - p, low=1 - p, high=1 - p),
        )
        odds = Odds(pressings=pressings, p_first=p, p_first_low=p, p_first_high=p, seller_knows=0.8)
        made = made.model_copy(update={"odds": odds})
    return made


def book(path: Path) -> Casebook:
    return open_casebook(path)
