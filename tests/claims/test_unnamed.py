"""A sign told by what it looks like is read whatever that is; other things in the run-out are no signs.

Invented sentences; that a layman describes a mark so is common practice, no source.
"""

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon

LEXICON = load_lexicon()


def marks(words: str) -> list[tuple[str, str | int | None]]:
    claims = audit_text(f"A jazz LP\n\n{words}", LEXICON).claims
    return [(c.certainty, c.value) for c in claims if c.feature in ("deadwax.plant_mark", "deadwax.mastering_mark")]


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("Has a stamped thing near the label, a bit like a small ear.", "ear"),
        ("There is a tiny pretzel shape in the run-out.", "pretzel"),
        ("There's an odd little sideways snail thing after the number.", "snail"),
        ("Beside the matrix number someone scratched what might be a moustache.", "moustache"),
        ("The space between music and label has a mark like a kidney bean.", "kidney bean"),
        ("Next to the number sits a tiny house.", "house"),
        ("I noticed a wee hat stamped in the wax.", "hat"),
    ],
)
def test_a_likeness_is_a_sign(words: str, value: str) -> None:
    assert marks(words) == [("hedged", value)]


@pytest.mark.parametrize(
    "words",
    [
        "There is a picture of a teacup on the label.",
        "The cover shows a small teapot and a cat.",
        "The dead wax is like a mirror.",
        "There is a small scratch near the label.",
        "A tiny bump in the run-out, not audible.",
        "It has a stain that looks like a butterfly on the back cover.",
        "The hole at the centre is shaped like an egg.",
        "Looks like a nice record.",
        "A little writing near the label in pen.",
        "Stamped in the dead wax are the usual numbers.",
    ],
)
def test_other_things_are_no_signs(words: str) -> None:
    assert marks(words) == []


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("Plant: small key symbol (Corvane)", [("certain", "key")]),
        ("Plant mark .... Wave", [("certain", "wave")]),
        ("Factory mark: bell", [("certain", "bell")]),
        ("Plant: unknown", [("unknown", None)]),
        ("Mastering: AFK", [("certain", "AFK")]),
        ("CUTTER.....: JRL / none", [("certain", "JRL"), ("certain", None)]),
        ("In the dead wax you will find VTK.", [("hedged", "VTK")]),
        ("The dead wax holds a QR code label, of all things.", []),
        ("RARE LP in VG condition, dead wax clean.", []),
    ],
)
def test_marks_that_no_lexicon_holds(words: str, found: list[tuple[str, str]]) -> None:
    assert marks(words) == found


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("Run-out: an anchor, no idea what it means.", [("hedged", "anchor")]),
        ("Mastering: AFK. I don't understand the meaning.", [("hedged", "AFK")]),
        ("Mastering: AFK, whatever that stands for.", [("hedged", "AFK")]),
        ("The wax: numbers, and a squiggle a bit like DQ.", [("hedged", "DQ")]),
    ],
)
def test_what_its_finder_cannot_explain_is_hedged(words: str, found: list[tuple[str, str]]) -> None:
    assert marks(words) == found
