"""Whether a seller's words for a value fit the value of a dossier."""

from __future__ import annotations

import pytest

from sayso.judgement.values import fitting

ADDRESSES = ("4 Tenter Row, Leeds", "900 Corn Quay")
DESIGNS = ("maroon and silver", "blue and white")


@pytest.mark.parametrize(
    ("feature", "words", "side", "known", "fits"),
    [
        ("deadwax.matrix", "MF31-A/MF31-B", None, ("MF31-A/MF31-B",), ("MF31-A/MF31-B",)),
        ("deadwax.matrix", "MF 31 A", "a", ("MF31-A/MF31-B", "MF31-C/MF31-D"), ("MF31-A/MF31-B",)),
        ("deadwax.matrix", "A-1", "a", ("A-1/B-1", "A-4/B-3"), ("A-1/B-1",)),
        ("deadwax.matrix", "B-3", "b", ("A-1/B-1", "A-4/B-3"), ("A-4/B-3",)),
        ("deadwax.matrix", "XY 207 -1", "a", ("-1/-1",), ("-1/-1",)),
        ("deadwax.matrix", "A-11", "a", ("A-1/B-1",), ()),
        ("deadwax.stamper_code", "G", "a", ("1G/1R", "3RT/4GH"), ("1G/1R",)),
        ("deadwax.stamper_code", "RT", None, ("1G/1R", "3RT/4GH"), ("3RT/4GH",)),
        ("deadwax.plant_mark", "K", None, ("letter K",), ("letter K",)),
        ("deadwax.plant_mark", "thistle stamp", None, ("thistle", "anvil", "none"), ("thistle",)),
        ("deadwax.plant_mark", "whistle", None, ("thistle", "none"), ()),
        ("deadwax.mastering_mark", "OLX", None, ("OLW",), ()),
        ("label.address", "Tenter Row", None, ADDRESSES, (ADDRESSES[0],)),
        ("label.address", "Tenter", None, ADDRESSES, (ADDRESSES[0],)),
        ("label.address", "Old Mill Lane", None, ADDRESSES, ()),
        ("label.design", "dark red and silver", None, DESIGNS, (DESIGNS[0],)),
        ("label.design", "maroon/silver", None, DESIGNS, (DESIGNS[0],)),
        ("label.design", "a sun", None, ("sunburst", "grey"), ("sunburst",)),
        ("label.design", "pink sticker with an owl", None, ("pink owl", "plain owl", "plain blue"), ("pink owl",)),
        ("label.design", "blue", None, ("pink owl", "plain owl", "plain blue"), ("plain blue",)),
        ("label.design", "", None, DESIGNS, ()),
        ("label.design", "anything", None, ("none",), ()),
    ],
)
def test_fitting(feature: str, words: str, side: str | None, known: tuple[str, ...], fits: tuple[str, ...]) -> None:
    assert fitting(feature, words, side, known) == fits
