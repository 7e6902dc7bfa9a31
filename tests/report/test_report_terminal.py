"""The terminal report shows what the audit holds, in words that need no colour."""

from __future__ import annotations

import re
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from sayso.engine import conclude
from sayso.lexicon import load_lexicon
from sayso.model import (
    Advice,
    Audit,
    Bound,
    Claim,
    Conflict,
    Dating,
    Listing,
    Move,
    Odds,
    PressingOdds,
    Segment,
    Span,
    Worth,
)
from sayso.report.marked import pieces
from sayso.report.safe import safe
from sayso.report.terminal import money, render

LEXICON = load_lexicon()
TEXT = "Ramblers LP original\n\nDeep groove. No kettle. Possibly 1958. We ship on Mondays."


def span(quote: str) -> Span:
    at = TEXT.index(quote)
    return Span(start=at, end=at + len(quote), quote=quote)


def claim(feature: str, quote: str, **more: object) -> Claim:
    return Claim(feature=feature, **span(quote).model_dump(), **more)  # type: ignore[arg-type]


CLAIMS = (
    claim("edition.original", "original"),
    claim("label.deep_groove", "Deep groove"),
    claim("deadwax.plant_mark", "No kettle", polarity="absent", value="kettle"),
    claim("edition.year", "Possibly 1958", certainty="hedged", value=1958),
)
POLICY = Segment(kind="policy", **{k: v for k, v in span("We ship on Mondays.").model_dump().items() if k != "quote"})
LISTING = Listing(text=TEXT, segments=(POLICY,), price=Decimal(95), currency="GBP")


def audit() -> Audit:
    return conclude(LISTING, CLAIMS, (), LEXICON)


def test_of_words_that_clash_those_that_deny_are_told() -> None:
    text = "Ramblers LP\n\nDeep groove on side one. No deep groove."
    both = [
        Claim(feature="label.deep_groove", start=at, end=at + 11, quote=text[at : at + 11], polarity=said)
        for at, said in ((text.index("Deep groove"), "present"), (text.index("deep groove"), "absent"))
    ]
    out = render(conclude(Listing(text=text), both, (), LEXICON), LEXICON, colour=False)
    assert 'contradictory "Deep groove"; "deep groove" (said to be absent)' in " ".join(out.split())


def test_claims_are_marked_with_signs_that_survive_a_pipe() -> None:
    out = render(audit(), LEXICON, colour=False)
    for mark in ("[+original]", "[+Deep groove]", "[-No kettle]", "[~Possibly 1958]"):
        assert mark in out
    assert "\x1b" not in out
    assert "\x1b[" in render(audit(), LEXICON, colour=True)


def test_colour_adds_nothing_but_colour() -> None:
    coloured = re.sub(r"\x1b\[[0-9;]*m", "", render(audit(), LEXICON, colour=True))
    squeeze = str.split
    assert squeeze(coloured) == squeeze(render(audit(), LEXICON, colour=False))


def test_every_part_is_shown_with_both_quotes_source_and_innocent_reading() -> None:
    clash = Conflict(
        kind="age",
        between=(span("original"), span("Possibly 1958")),
        why="The sign came later than the year claimed.",
        source="A published source",
        innocent=("A label used up later.",),
    )
    bound = Bound(
        carrier="label",
        not_before="1961",
        claim=1,
        fact="f",
        statement="the sign on the label",
        basis="published",
        source="A published source",
    )
    odds = Odds(
        pressings=(
            PressingOdds(id="a", name="first, Thorley", p=0.62, low=0.4, high=0.8, first=True),
            PressingOdds(id="b", name="later", p=0.38, low=0.2, high=0.6),
        ),
        p_first=0.62,
        p_first_low=0.4,
        p_first_high=0.8,
        seller_knows=0.7,
        moved_by=(Move(what="x", log_odds=-1.2, sentence="No plant mark is claimed."),),
        most_sensitive="how often experts leave out what is missing",
    )
    whole = audit().model_copy(
        update={
            "conflicts": (clash,),
            "dating": Dating(not_before="1961", bounds=(bound,)),
            "odds": odds,
            "worth": Worth(currency="GBP", expected=Decimal("70"), low=Decimal(40), high=Decimal(90)),
            "advice": Advice(do="ask", why="An answer could change it.", ceiling=Decimal("61.5"), currency="GBP"),
            "silence": ("Of the run-out nothing is said.",),
        }
    )
    out = " ".join(render(whole, LEXICON, colour=False).split())
    for words in (
        '"original" / "Possibly 1958"',
        "A published source",
        "A label used up later.",
        "1961",
        "62 %",
        "40 % to 80 %",
        "No plant mark is claimed.",
        "how often experts leave out what is missing",
        "GBP 61.50",
        "Of the run-out nothing is said.",
        "An answer could change it.",
    ):
        assert words in out, words


def test_money_is_written_as_money() -> None:
    assert [money(Decimal(x), "EUR") for x in ("120", "12.5", "1234.56")] == ["EUR 120", "EUR 12.50", "EUR 1,235"]
    assert money(Decimal("3"), None) == "3"


def test_long_stretches_that_claim_nothing_are_folded() -> None:
    words = "word " * 40
    listing = Listing(text=words, segments=(Segment(kind="policy", start=0, end=len(words)),))
    out = render(conclude(listing, (), (), LEXICON), LEXICON, colour=False)
    assert "40 words of shop terms" in " ".join(out.split())
    assert "word word" not in out


@given(st.text(max_size=300), st.data())
def test_any_words_and_spans_make_a_gapless_report(text: str, data: st.DataObject) -> None:
    cut = st.integers(0, len(text))
    claims = []
    for _ in range(data.draw(st.integers(0, 4))):
        a, b = sorted((data.draw(cut), data.draw(cut)))
        claims.append(Claim(feature="label.design", quote=text[a:b], start=a, end=b))
    a, b = sorted((data.draw(cut), data.draw(cut)))
    listing = Listing(text=text, segments=(Segment(kind="legend", start=a, end=b),))
    made = conclude(listing, claims, (), LEXICON)
    parts = pieces(made)
    assert "".join(text[p.start : p.end] for p in parts) == text
    out = render(made, LEXICON, colour=False)
    assert not {c for c in out if ord(c) < 32 and c not in "\n\t"}


@given(st.text())
def test_safe_keeps_offsets_and_visible_words(text: str) -> None:
    assert len(safe(text)) == len(text)
    assert safe(safe(text)) == safe(text)


@given(st.text(alphabet=st.characters(categories=("L", "N", "P", "Zs")), max_size=50))
def test_safe_leaves_ordinary_words_alone(text: str) -> None:
    assert safe(text) == text


def test_pictures_of_another_copy_are_not_told_as_its_own() -> None:
    text = "Ramblers LP\n\nStock photos used."
    one = Claim(feature="terms.photos", value="stock photo", start=13, end=25, quote=text[13:25])
    out = " ".join(render(conclude(Listing(text=text), [one], (), LEXICON), LEXICON, colour=False).split())
    assert 'the pictures are not of it: "Stock photos"' in out


def test_one_side_played_is_not_told_as_the_whole_copy() -> None:
    text = "Ramblers LP\n\nPlayed side 2 only."
    one = Claim(feature="condition.play_tested", side="b", start=13, end=19, quote="Played")
    out = " ".join(render(conclude(Listing(text=text), [one], (), LEXICON), LEXICON, colour=False).split())
    assert 'whether the copy was played: said of side B alone: "Played"' in out
