"""Dated facts against other published sources than those in the lexicon; each is named beside its check."""

from sayso.lexicon import load_lexicon

FACTS = load_lexicon(user=False).facts


def test_postal_codes() -> None:
    # USPS, 'Postal Facts' and the Smithsonian National Postal Museum: ZIP Code, 1 July 1963; ZIP+4, 1983.
    assert FACTS["us-zip-start"].earliest == "1963-07-01"
    assert FACTS["us-zip-plus-four"].earliest.startswith("1983")
    # Deutsche Post: five-digit codes on 1 July 1993.
    assert FACTS["de-plz-5-digit"].earliest == "1993-07-01"
    # Australia Post: four-digit codes in July 1967.
    assert FACTS["au-postcode"].earliest.startswith("1967-07")


def test_treaties_and_laws() -> None:
    # Treaty on European Union (Maastricht), in force 1 November 1993 (EUR-Lex).
    assert FACTS["made-in-eu"].earliest == "1993-11-01"
    # Decimal Currency Act 1969, s. 1: appointed day 15 February 1971 (legislation.gov.uk).
    assert FACTS["uk-decimal-price"].earliest == "1971-02-15"
    # Rome Convention for the protection of performers and producers, done 26 October 1961 (WIPO).
    assert FACTS["phonogram-sign-created"].earliest == "1961-10-26"
    # Public Law 92-140 (sound recordings), approved 15 October 1971.
    assert FACTS["phonogram-sign-us"].earliest == "1971-10-15"


def test_marc_007_of_a_stereo_lp() -> None:
    # Library of Congress, MARC 21 Format for Bibliographic Data, 007 sound recording, positions 00 to 11; the codes are
    # spelt out position by position: s, d, blank, b (33 1/3), s (stereo), m (microgroove), e (12 in), n, n, m (mass
    # produced), p (plastic), l (lateral or combined).
    by_position = ["s", "d", " ", "b", "s", "m", "e", "n", "n", "m", "p", "l"]
    said = FACTS["marc-007-example-lp"].statement
    assert "".join(by_position) in said
    assert FACTS["marc-007-04-channels"].statement.index("s stereo") > 0
