"""Mono against stereo: what contradicts and what does not (common practice, no source). Listings invented.

The catalogue numbers are made from the letters that a label's own row calls mono or stereo, so no name is typed here.
"""

from __future__ import annotations

import pytest

from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.lexicon.labels import Label
from sayso.model import Conflict, Span

LEXICON = load_lexicon(user=False)


def channels(text: str) -> list[tuple[str, ...]]:
    conflicts: tuple[Conflict, ...] = audit_text(text, LEXICON).conflicts
    return [
        tuple(x.quote for x in c.between if isinstance(x, Span)) for c in conflicts if c.feature == "format.channels"
    ]


@pytest.mark.parametrize(
    ("text", "pair"),
    [
        ("Brill Sextet - Slate Quarry STEREO LP\nOriginal pressing. The label says MONO. VG+", ("STEREO", "MONO")),
        ("Brill Sextet - Slate Quarry MONO\nStereo label, VG+.", ("MONO", "Stereo")),
        ("Brill Sextet - Slate Quarry (stereo)\nMono pressing, a good clean copy.", ("stereo", "Mono")),
    ],
)
def test_two_words_for_one_disc_contradict(text: str, pair: tuple[str, str]) -> None:
    # The seller's words may be quoted as far as they go: 'Stereo label'.
    assert [(a.split()[0], b.split()[0]) for a, b in channels(text)] == [pair]


@pytest.mark.parametrize(
    "text",
    [
        "Brill Sextet - Slate Quarry mono LP\nPlays great on my stereo. VG+",
        "Brill Sextet - Slate Quarry LP\nAvailable in mono and stereo; this is the mono.",
        "Brill Sextet - Slate Quarry mono\nMono label in a stereo jacket with a stereo sticker.",
        "Brill Sextet - Slate Quarry mono\nJacket says stereo, label says mono.",
        "Brill Sextet - Slate Quarry mono\nNot stereo.",
        "Brill Sextet - Slate Quarry LP\nElectronically rechannelled stereo from a mono recording.",
        "Brill Sextet - Slate Quarry stereo\nRecorded in mono in 1955, issued in stereo.",
        "Brill Sextet - Slate Quarry stereo\nMono copies have another label.",
        "Brill Sextet - Slate Quarry mono\nI think it is stereo, but I am not sure.",
        "Brill Sextet - Slate Quarry stereo\nSome reissues are mono.",
    ],
)
def test_what_is_no_contradiction(text: str) -> None:
    assert channels(text) == []


NUMBERED = [
    pytest.param(label, prefix, kind, id=f"{label.id}-{prefix}")
    for label in LEXICON.labels.values()
    for kind, letters in (("mono", label.mono_prefixes), ("stereo", label.stereo_prefixes))
    for prefix in letters
    if len(prefix) > 1
]


@pytest.mark.parametrize(("label", "prefix", "kind"), NUMBERED)
def test_the_letters_of_a_number_are_held_against_the_words(label: Label, prefix: str, kind: str) -> None:
    other = "stereo" if kind == "mono" else "mono"
    for name in dict.fromkeys((*label.aliases, label.name.split(" (")[0])):
        text = f"{name} {prefix} 2180, Brill Sextet, Slate Quarry\n"
        if audit_text(text, LEXICON).history is not None:
            break
    number = f"{prefix} 2180"
    assert channels(f"{text}A {kind} pressing.") == []
    # The seller's words may be quoted as far as they go: 'stereo pressing'.
    assert [(a.split()[0], b) for a, b in channels(f"{text}A {other} pressing.")] == [(other, number)]
    found = next(c for c in audit_text(f"{text}A {other} pressing.", LEXICON).conflicts if c.source)
    assert found.kind == "statement"
    assert "no source" in str(found.source)
    assert found.innocent
