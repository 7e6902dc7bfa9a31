"""Where to look: the blank ring between the music and the label, from published dimensions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.lexicon.load import Lexicon

MM_PER_INCH = 25.4
METRIC, US = "disc_dimensions", "disc_dimensions_us"


@dataclass(frozen=True)
class Ring:
    """The blank ring on one side of a disc, in millimetres: the least that a side filled to the limit leaves.

    `width`: last music groove to label. `outer`: last music groove to closing groove. `inner`: closing groove to label.
    """

    size: int
    width: float
    outer: float
    inner: float
    source: str
    caution: str


def blank_ring(size: int, lexicon: Lexicon, standard: str = METRIC) -> Ring:
    """The ring on a record of 12, 10 or 7 inches. Raises `ValueError` for a size that the table does not have."""
    table = lexicon.tables[standard]
    row = table.entries.get(str(size))
    if row is None:
        raise ValueError(f"no dimensions for {size} inches; known are {', '.join(table.entries)}")
    end, closing, label = row["music_to"], row["closing_groove"], row["label"]
    return Ring(size, (end - label) / 2, (end - closing) / 2, (closing - label) / 2, table.source, table.caution)


def music_end(minutes: float, lines_per_inch: float, start: float, rpm: float = 100 / 3) -> float:
    """The diameter in millimetres at which the music ends.

    `start`: the diameter at which it begins, in millimetres; `lines_per_inch`: grooves to the inch of radius.
    An estimate: cutters mostly spread a short side.
    """
    return start - 2 * minutes * rpm / lines_per_inch * MM_PER_INCH


def least_width(size: int, lexicon: Lexicon) -> int:
    """The whole millimetres that the ring on a record of this size has at least, or 0 for a size not in the table."""
    try:
        return int(blank_ring(size, lexicon).width)
    except (KeyError, ValueError):
        return 0


def ring_in_words(size: int, lexicon: Lexicon, language: str = "en") -> str:
    """What to look at, for somebody who knows nothing; falls back to English."""
    ring = blank_ring(size, lexicon)
    words = lexicon.tables["ring_words"].entries
    text: str = words.get(language) or words["en"]
    # Rounded down: 'at least' must stay true. Plain replacement, since the words may be a user's own.
    for name, value in (("width", int(ring.width)), ("inner", int(ring.inner)), ("size", size)):
        text = text.replace("{" + name + "}", str(value))
    return text
