"""What must not fool the reader: each trap by name, with listings of our own and what a careful dealer reads in them.

The readings follow the annotation guide of tests/corpus; facts of the trade in them are common practice, no source.
"""

from __future__ import annotations

import pytest

from sayso.claims import read_claims
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Listing
from tests.evaluation.corpora import overlays

LEXICON = load_lexicon(overlays("own"), user=False)

# The trap; the listing; what must be claimed ("feature polarity certainty"); features of which nothing may be claimed.
TRAPS: list[tuple[str, str, set[str], set[str]]] = [
    (
        "a list of denials ends at 'but'",
        "No deep groove, plant mark or flat edge, but hand-etched matrix.",
        {
            "label.deep_groove absent certain",
            "deadwax.plant_mark absent certain",
            "disc.rim absent certain",
            "deadwax.lettering present certain",
        },
        set(),
    ),
    (
        "capitals within a number",
        "Original. Run-out RX-204-B-RE-2.",
        {"edition.original present certain"},
        {"edition.reissue"},
    ),
    (
        "a rule of the shop that holds unless something else is said",
        "Jazz LPs, mono unless stated. All original unless marked RI.",
        set(),
        {"format.channels", "edition.original", "edition.reissue"},
    ),
    (
        "a lone letter that nobody explains",
        "In the run-out RX-204-A-1 and, after a gap, a lone G.",
        {"deadwax.stamper_code present hedged"},
        set(),
    ),
    (
        "a measure is no lone figure",
        "Run-out RX-204-A-1. On the opposite side a 3 cm scratch.",
        set(),
        {"deadwax.stamper_code"},
    ),
    (
        "a mark told by what it looks like",
        "In the dead wax there is something resembling a boat.",
        {"deadwax.plant_mark present hedged"},
        set(),
    ),
    (
        "they are not scratched: said of the numbers before",
        "Numbers RX-204-A-1 and RX-204-B-1. They are typed, not scratched.",
        {"deadwax.lettering present certain", "deadwax.lettering absent certain"},
        set(),
    ),
    ("neither label", "Neither label has a deep groove.", {"label.deep_groove absent certain"}, set()),
    ("not a reissue", "Mono LP, not a reissue.", {"edition.reissue absent certain"}, {"edition.original"}),
    ("no doubt original", "No doubt an original pressing.", {"edition.original present certain"}, set()),
    (
        "where it is sent is no country of pressing",
        "Postage £5 in the UK, £12 to Germany.",
        set(),
        {"edition.country"},
    ),
    ("pressed here, sent anywhere", "UK pressing, posted with care.", {"edition.country present certain"}, set()),
    (
        "a year written on the sleeve",
        '"J. Harker 1961" in blue biro on the back of the cover.',
        {"condition.defects present certain"},
        {"edition.year"},
    ),
    (
        "does not have … but does have …",
        "It does not have the barcode but does have a laminated cover.",
        {"jacket.barcode absent certain", "jacket.construction present certain"},
        set(),
    ),
    (
        "X: no",
        "Deep groove: no\nBarcode: no",
        {"label.deep_groove absent certain", "jacket.barcode absent certain"},
        set(),
    ),
    ("X - none", "Barcode - none", {"jacket.barcode absent certain"}, set()),
    ("n/a", "Barcode: n/a", {"jacket.barcode absent certain"}, set()),
    ("no alone at the end", "Barcode, no.", {"jacket.barcode absent certain"}, set()),
    ("later copies lack it", "Later copies lack the deep groove.", set(), {"label.deep_groove"}),
    (
        "unlike the repress",
        "Unlike the repress this has the deep groove.",
        {"label.deep_groove present certain"},
        {"edition.reissue"},
    ),
    (
        "if it had",
        "If it had the horseshoe in the wax it would be a first pressing.",
        set(),
        {"deadwax.plant_mark", "edition.first_pressing"},
    ),
    ("compare with", "Compare with other copies with the deep groove.", set(), {"label.deep_groove"}),
    (
        "this one against the others",
        "Later copies have the horseshoe in the run-out; this one does not.",
        {"deadwax.plant_mark absent certain"},
        set(),
    ),
    ("original owner", "From the original owner's collection.", set(), {"edition.original"}),
    ("original inner sleeve", "With original inner sleeve.", {"inner.original present certain"}, {"edition.original"}),
    ("original recording", "Original recording of the play.", set(), {"edition.original"}),
    ("as issued in", "Same cover as issued in 1961.", set(), {"edition.original", "edition.first_pressing"}),
    ("vintage and early", "Vintage LP, an early copy.", set(), {"edition.original", "edition.first_pressing"}),
    ("from the original masters", "Cut from the original masters.", set(), {"edition.original"}),
    ("original series", "Number 4 in the original series.", set(), {"edition.original"}),
    ("soundtrack", "Original Motion Picture Soundtrack LP.", set(), {"edition.original"}),
    ("the song's history", "The title song was a hit in 1962.", set(), {"edition.year"}),
    ("hearsay", "I was told it is a first pressing.", {"edition.first_pressing present certain"}, set()),
    ("ignorance of the year", "No idea if it is a first pressing.", {"edition.first_pressing present unknown"}, set()),
    (
        "a search without result",
        "I could not find a barcode.",
        {"jacket.barcode absent hedged"},
        set(),
    ),
    ("not looked", "Haven't checked the run-out for a plant mark.", {"deadwax.plant_mark present unknown"}, set()),
    (
        "a mark nobody names",
        "There is a funny little star scratched in the shiny part next to the label.",
        {"deadwax.plant_mark present hedged"},
        set(),
    ),
    (
        "a grading legend",
        "Record VG.\n\nGrading key\nNM: like new. VG+: light marks. VG: ring wear, seam splits, writing.",
        {"condition.vinyl_grade present certain"},
        {"condition.defects"},
    ),
    (
        "a shop's policy",
        "Vinyl EX.\n\nOur shop\nUnless noted all records are original pressings with their inner sleeves.",
        {"condition.vinyl_grade present certain"},
        {"edition.original", "inner.original"},
    ),
    (
        "scanner slips",
        "Labe1 with deep gro0ve, no wrlting.",
        {"label.deep_groove present certain", "condition.defects absent certain"},
        set(),
    ),
    (
        "misspelt",
        "Orignal presing, lamintaed cover.",
        {"edition.original present certain", "jacket.construction present certain"},
        set(),
    ),
    (
        "taken back in the same breath",
        "Stereo, sorry, mono.",
        {"format.channels present certain"},
        set(),
    ),
    (
        "the question and its answer",
        "Deep groove? Yes, both sides. Barcode? No.",
        {"label.deep_groove present certain", "jacket.barcode absent certain"},
        set(),
    ),
]


@pytest.mark.parametrize(("text", "told", "untold"), [t[1:] for t in TRAPS], ids=[t[0] for t in TRAPS])
def test_trap(text: str, told: set[str], untold: set[str]) -> None:
    claims = read_claims(Listing(text=text), LEXICON).claims
    said = {f"{c.feature} {c.polarity} {c.certainty}" for c in claims}
    assert told <= said
    features = {t.split()[0] for t in told}
    assert not {c.feature for c in claims} & untold
    assert not {s for s in said if s.split()[0] in features} - told, "said otherwise as well"


def states(text: str) -> dict[str, str]:
    return {f.feature: f.state for f in audit_text(text, LEXICON).findings}


def test_what_others_said_is_no_firm_statement() -> None:
    (claim,) = read_claims(Listing(text="I was told it is a first pressing."), LEXICON).claims
    assert claim.attribution == "third_party"
    assert states("LP\n\nI was told it is a first pressing.")["edition.first_pressing"] == "hedged"


def test_the_photos_are_no_statement() -> None:
    assert states("LP\n\nVinyl VG. See photos for condition of the cover.")["condition.jacket_grade"] == "deferred"


def test_the_year_of_release_is_not_the_year_of_pressing() -> None:
    claims = read_claims(Listing(text="1978 reissue of the 1957 LP."), LEXICON).claims
    years = {c.value: c.role for c in claims if c.feature == "edition.year"}
    assert years == {1978: "pressed", 1957: "released"}


def test_a_groove_on_one_side_is_denied_of_the_other() -> None:
    claims = read_claims(Listing(text="DG side 2 only."), LEXICON).claims
    assert {(c.side, c.polarity) for c in claims} == {("b", "present"), ("a", "absent")}


def test_a_joined_pair_is_of_both_sides() -> None:
    claims = read_claims(Listing(text="Matrix 1A/1B in the run-out."), LEXICON).claims
    assert [(c.value, c.side) for c in claims if c.feature == "deadwax.matrix" and c.value] == [("1A/1B", "both")]


@pytest.mark.parametrize(
    ("text", "record", "jacket"),
    [
        ("LP VG+/EX-", "VG+", "EX-"),
        ("Cover/disc: EX / VG+", "VG+", "EX"),
        ("NM vinyl in a VG cover.", "NM", "VG"),
        ("Grading is sleeve first, then vinyl: VG/EX.", "EX", "VG"),
    ],
)
def test_a_pair_of_grades_has_an_order(text: str, record: str, jacket: str) -> None:
    claims = read_claims(Listing(text=text), LEXICON).claims
    values = {c.feature: c.value for c in claims}
    assert (values["condition.vinyl_grade"], values["condition.jacket_grade"]) == (record, jacket)


def test_measures() -> None:
    claims = read_claims(Listing(text='12" LP, 33⅓ rpm, approx 180g.'), LEXICON).claims
    found = {c.feature: (c.value, c.certainty) for c in claims}
    assert found["format.size"] == (12, "certain")
    assert found["format.speed"] == (33, "certain")
    assert found["disc.weight"] == (180, "hedged")


def test_records_of_a_lot_are_told_apart() -> None:
    text = "Lot of two LPs\n\n(1) Low Water, deep groove, VG+.\n(2) High Water, no deep groove, VG."
    claims = read_claims(Listing(text=text), LEXICON).claims
    grooves = {(c.item, c.polarity) for c in claims if c.feature == "label.deep_groove"}
    assert grooves == {(1, "present"), (2, "absent")}


def test_keywords_claim_nothing_in_hidden_text() -> None:
    from sayso.intake import read_html

    page = '<p>Mono LP, VG+.</p><p style="display:none">original first pressing deep groove promo sealed</p>'
    claims = read_claims(read_html(page), LEXICON).claims
    assert not {c.feature for c in claims} & {"edition.original", "edition.first_pressing", "label.deep_groove"}


@pytest.mark.parametrize(
    "text",
    [
        "Side 1 - FW-1041-A, deep groove. Side 2 - FW-1041-B, no deep groove.",
        "A: FW-1041-A1, DG, flat edge\nB: FW-1041-B1, no DG",
        "First side: deep groove, number FW-1041-A; second side: FW-1041-B, no deep groove.",
        "Side 1 has the deep groove; side A number FW-1041-A, no deep groove on side B.",
    ],
)
def test_a_side_that_heads_a_line_holds_for_all_of_it(text: str) -> None:
    found = audit_text("Old LP\n\n" + text, LEXICON)
    groove = {(c.side, c.polarity) for c in found.claims if c.feature == "label.deep_groove"}
    assert groove == {("a", "present"), ("b", "absent")}
    assert not [f for f in found.findings if f.state == "conflicting"]
