"""An audit with something in every part, built by hand; everything in it is invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from sayso.engine import conclude
from sayso.lexicon import load_lexicon
from sayso.model import (
    Advice,
    Audit,
    Bound,
    Claim,
    Conflict,
    Cue,
    Dating,
    Listing,
    Move,
    Odds,
    PressingOdds,
    Segment,
    Span,
    Worth,
)

LEXICON = load_lexicon()
TITLE = "Orfleet Ramblers – Low Water Songs – LP, original 1957"
BODY = (
    "Original pressing, pressed in 1957. Hourglass label with the Staithe Lane address and the ® sign, deep groove on "
    "both sides. EMB scratched in the run-out, SGL 1207 A1 / SGL 1207 B1. I was told the edge is flat. No kettle that "
    "I can see.\n\nLaminated sleeve, barcode on the back. Vinyl VG+, sleeve VG. Plays well."
)
POLICY = (
    "We post on Mondays and Thursdays in stiff boxes. Payment within three days, please. Combined postage is gladly "
    "given, just ask before paying."
)
TEXT = f"{TITLE}\n\n{BODY}\n\n{POLICY}"


def span(quote: str, text: str = TEXT) -> Span:
    at = text.index(quote)
    return Span(start=at, end=at + len(quote), quote=quote)


def claim(feature: str, quote: str, text: str = TEXT, **more: Any) -> Claim:
    return Claim(feature=feature, **span(quote, text).model_dump(), **more)


def rich_audit() -> Audit:
    """Claims of every state, a contradiction, bounds, odds, worth, advice, questions."""
    told = Cue(kind="hearsay", rule="hearsay.told", **span("I was told").model_dump())
    no = Cue(kind="negation", rule="negation.no", **span("No kettle").model_dump())
    claims = (
        claim("edition.original", "Original pressing"),
        claim("edition.year", "pressed in 1957", value=1957, role="pressed"),
        claim("label.design", "Hourglass label"),
        claim("label.address", "Staithe Lane address", value="Staithe Lane"),
        claim("label.register_mark", "® sign"),
        claim("label.deep_groove", "deep groove on both sides", side="both"),
        claim("deadwax.mastering_mark", "EMB", value="EMB"),
        claim("deadwax.matrix", "SGL 1207 A1 / SGL 1207 B1", value="SGL 1207 A1 / SGL 1207 B1"),
        claim("disc.rim", "edge is flat", certainty="hedged", attribution="third_party", cues=(told,)),
        claim("deadwax.plant_mark", "No kettle", polarity="absent", value="kettle", cues=(no,)),
        claim("jacket.construction", "Laminated sleeve"),
        claim("jacket.barcode", "barcode on the back"),
        claim("condition.vinyl_grade", "Vinyl VG+", value="VG+"),
        claim("condition.jacket_grade", "sleeve VG.", value="VG"),
    )
    policy = span(POLICY)
    listing = Listing(
        id="sample",
        text=TEXT,
        title=TITLE,
        price=Decimal(120),
        currency="GBP",
        segments=(Segment(kind="policy", start=policy.start, end=policy.end),),
    )
    source = "Sandglass staff newsletter, spring 1962 (invented for this example)"
    bound = Bound(
        carrier="label",
        not_before="1962-03",
        claim=4,
        span=span("® sign"),
        fact="sandglass-register",
        statement="Sandglass printed the ® sign from March 1962.",
        basis="published",
        source=source,
        caution="Left-over labels were used up first.",
    )
    soft = Bound(
        carrier="disc",
        not_after="1968",
        hard=False,
        claim=5,
        span=span("deep groove on both sides"),
        fact="sandglass-ring",
        statement="The old dies with the pressed ring were given up by about 1968.",
        basis="common practice",
        source="invented for this example",
    )
    odds = Odds(
        pressings=(
            PressingOdds(id="first", name="First pressing, 1957", p=0.06, low=0.02, high=0.14, first=True),
            PressingOdds(id="second", name="Second pressing, 1962 to 1966", p=0.71, low=0.55, high=0.83),
            PressingOdds(id="late", name="Later pressing, 1979", p=0.23, low=0.10, high=0.38),
        ),
        p_first=0.06,
        p_first_low=0.02,
        p_first_high=0.14,
        seller_knows=0.8,
        moved_by=(
            Move(what="register", log_odds=-2.1, sentence="The ® sign is on later labels only."),
            Move(what="mark", log_odds=-1.2, sentence="The seller looked for the kettle and did not see it."),
            Move(what="mastering", log_odds=0.6, sentence="EMB stands in the wax of early cuts."),
        ),
        most_sensitive="how often Sandglass used old metalwork after 1962",
        assumes=("A seller who describes the run-out has looked at all of it: 0.8 (0.6 to 0.9).",),
    )
    clash = Conflict(
        kind="age",
        between=(span("pressed in 1957"), span("® sign")),
        why="The ® sign was first printed in March 1962, so a copy that carries it was not pressed in 1957.",
        fact="sandglass-register",
        source=source,
        innocent=("The seller may have read the year of the music.", "The picture may show another copy."),
    )
    jacket = Conflict(
        kind="jacket",
        between=(span("barcode on the back"), span("pressed in 1957")),
        why="Barcodes came to record jackets twenty years later.",
        innocent=("A later jacket may have been put with an old disc.",),
    )
    whole = conclude(listing, claims, (), LEXICON)
    silence = whole.silence or (
        "Of the run-out the seller describes two signs, but says nothing of the mother and stamper codes.",
    )
    questions = tuple(
        q.model_copy(update={"value": 38.0 / n, "unit": "money"}) for n, q in enumerate(whole.questions, 1)
    )
    return whole.model_copy(
        update={
            "answer": "Do not pay on these words yet: ‘pressed in 1957’ and ‘® sign’ do not fit together. The chance "
            "of a first pressing is 6 % (between 2 % and 14 %, depending on the assumptions).",
            "conflicts": (clash, jacket),
            "dating": Dating(not_before="1962-03", bounds=(bound, soft)),
            "odds": odds,
            "why_no_odds": None,
            "worth": Worth(
                currency="GBP",
                expected=Decimal(74),
                low=Decimal(55),
                high=Decimal(98),
                by_pressing={"first": Decimal(420)},
                notes=("By your own list of past sales.",),
            ),
            "advice": Advice(
                do="ask",
                why="an answer on the ® sign is worth more than it costs to wait.",
                ceiling=Decimal(74),
                cautious_ceiling=Decimal(48),
                currency="GBP",
            ),
            "questions": questions,
            "silence": silence,
        }
    )


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</textarea><svg onload=alert(1)>",
    "</style><style>*{display:none}</style>",
    "</script><script>alert(1)</script>",
    "javascript:alert(1)",
    "\u202egnisserp lanigiro\u202c",
    "nul\x00byte",
    "\x1b]0;owned\x07\x1b[2J",
    "<!-- --><![CDATA[ ]]>&#x3c;script&#x3e;",
    "{{7*7}} {% raw %} ${7*7}",
    "'><a href='https://example.invalid/'>x</a>",
    "\ud800 lone",
)
"""What a listing could hold to take over a page; from the classes that the project's issue on security names."""


def hostile_audit(payload: str) -> Audit:
    """The payload in every place that holds words of a seller or of a data file."""
    text = f"{payload}\n\nOriginal pressing {payload} deep groove."
    claims = (
        Claim(feature="edition.original", start=0, end=len(payload), quote=payload, value=payload, item=payload),
        claim(
            "label.deep_groove",
            "deep groove",
            text,
            cues=(Cue(kind="k", rule=payload, **span("deep", text).model_dump()),),
        ),
    )
    listing = Listing(
        id=payload, text=text, title=payload, url=payload, seller=payload, notes=(payload,), currency=payload
    )
    base = conclude(listing, claims, (), LEXICON)
    sample = rich_audit()
    quote = Span(start=0, end=len(payload), quote=payload)
    assert sample.odds is not None
    return base.model_copy(
        update={
            "answer": payload,
            "message": payload,
            "cautions": (payload,),
            "silence": (payload,),
            "conflicts": (
                Conflict(kind="age", between=(quote, payload), why=payload, source=payload, innocent=(payload,)),
            ),
            "dating": Dating(
                not_before="1962",
                bounds=(
                    Bound(
                        carrier="label",
                        not_before="1962",
                        claim=0,
                        fact=payload,
                        statement=payload,
                        basis=payload,
                        source=payload,
                        caution=payload,
                    ),
                ),
            ),
            "odds": sample.odds.model_copy(
                update={
                    "pressings": (PressingOdds(id=payload, name=payload, p=0.5, low=0.1, high=0.9),),
                    "moved_by": (Move(what=payload, log_odds=1.0, sentence=payload),),
                    "assumes": (payload,),
                    "most_sensitive": payload,
                }
            ),
            "advice": Advice(do="ask", why=payload, ceiling=Decimal(1), currency=payload, notes=(payload,)),
        }
    )
