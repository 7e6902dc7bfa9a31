"""Which dossier speaks of the record on offer. Names are invented (examples/)."""

from __future__ import annotations

from pathlib import Path

import pytest

from sayso.audit.dossier import find_dossier
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Listing

EXAMPLES = Path(__file__).parents[2] / "examples"
LEXICON = load_lexicon([EXAMPLES / "sandglass.toml"])


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("ORFLEET RAMBLERS Low Water Songs SANDGLASS SGL 1207", "SGL 1207"),
        ("Sandglass SGL-1207", "SGL 1207"),
        ("sandglass sgl1207 mono", "SGL 1207"),
        ("Orfleet Ramblers: LOW WATER SONGS", "SGL 1207"),
        ("SGL 1207", None),  # a bare number can be anybody's
        ("Sandglass LP, folk", None),
        ("Orfleet Ramblers CD, compact disc", None),  # the artist alone can be any record
        ("A tin of ramblers' songs", None),
        ("", None),
    ],
)
def test_found_by_number_beside_a_name_or_by_names(text: str, number: str | None) -> None:
    found = find_dossier(Listing(text=text), LEXICON)
    assert (found.number if found else None) == number


def test_the_buyer_can_name_the_record() -> None:
    words = "Old folk record Orfleet Ramblers"
    assert audit_text(words, LEXICON).dossier is None
    for name in ("SGL 1207", "sgl-1207", "sandglass-sgl-1207"):
        assert audit_text(words, LEXICON, record=name).dossier == "sandglass-sgl-1207"


def test_a_label_without_pressings_is_no_dossier() -> None:
    assert find_dossier(Listing(text="Sandglass SGL 1207"), load_lexicon()) is None


def test_the_dossier_decides_what_is_asked_first_and_brings_odds() -> None:
    words = "Orfleet Ramblers Low Water Songs, Sandglass SGL 1207, original"
    audit = audit_text(words, LEXICON)
    assert audit.dossier
    assert audit.odds
    assert abs(sum(p.p for p in audit.odds.pressings) - 1) < 1e-9
    decisive = {f.feature for f in audit.findings if f.need == "decisive"}
    assert decisive == {d.feature for d in LEXICON.labels[audit.dossier].decides}
    assert audit.questions[0].features[0] in decisive
    bare = audit_text(words, load_lexicon())
    assert bare.odds is None
    assert bare.why_no_odds
