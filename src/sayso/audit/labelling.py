"""Which label's history speaks of the record on offer: by its name, with the letters of its numbers as support."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sayso.model import Listing, Span

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Era, Label

FUZZY = 92
LONG = 7
"""Only names of this many letters may be misspelt; a shorter one turns too easily into another word."""


@dataclass(frozen=True)
class LabelFound:
    """The label, the words that decided (null where the buyer named the record), and what its number says."""

    label: Label
    span: Span | None
    number: str | None = None
    eras: tuple[Era, ...] = ()


def find_label(listing: Listing, lexicon: Lexicon) -> LabelFound | None:
    """The label of the listing, or null where none, or more than one, fits. Pure."""
    found: list[tuple[int, LabelFound]] = []
    folded = listing.text.casefold()
    words = tuple(re.finditer(r"[A-Z][A-Za-z]{5,}", listing.title))
    for label in lexicon.labels.values():
        if not (label.era or label.sign):
            continue
        hit = _name(listing, label, folded) or _misspelt(listing, label, words)
        if hit is None or any(re.search(p, listing.text, re.IGNORECASE) for p in label.unless):
            continue
        number = _number(listing.text, label) or _loose_number(listing, label, hit)
        score = (2 if number else 1 if _letters(listing.text, label) else 0) + (hit.start < len(listing.title))
        # Names that are ordinary words need their number, or the word label or records beside them.
        if score or re.match(r"\W+(?:label|records?|LP|UK|US)\b", listing.text[hit.end :], re.IGNORECASE):
            found.append((score, LabelFound(label, hit, number, eras_of(label, number))))
    if not found:
        return None
    top = max(s for s, _ in found)
    best = [x for s, x in found if s == top]
    return best[0] if len(best) == 1 else None


def _name(listing: Listing, label: Label, folded: str) -> Span | None:
    text = listing.text
    for name in (label.name.split(" (")[0], *label.aliases):
        if name.casefold() not in folded:
            continue
        m = re.search(r"(?<!\w)(?:" + re.escape(name) + "|" + re.escape(name.upper()) + r")(?!\w)", text)
        m = m or re.search(r"(?<!\w)" + re.escape(name) + r"(?!\w)", listing.title, re.IGNORECASE)
        if m:
            return Span(start=m.start(), end=m.end(), quote=text[m.start() : m.end()])
    return None


def _misspelt(listing: Listing, label: Label, words: tuple[re.Match[str], ...]) -> Span | None:
    from rapidfuzz import fuzz

    name = label.name.split(" (")[0].casefold()
    if len(name) >= LONG:
        for m in words:
            if fuzz.ratio(m.group().casefold(), name) >= FUZZY:
                return Span(start=m.start(), end=m.end(), quote=m.group())
    return None


def _number(text: str, label: Label) -> str | None:
    for prefix in sorted(label.prefixes, key=len, reverse=True):
        m = re.search(r"(?<![A-Za-z])" + re.escape(prefix) + r"[ .-]{0,2}\d{1,5}(?!\d)", text)
        if m:
            return m.group()
    return None


def _loose_number(listing: Listing, label: Label, name: Span) -> str | None:
    """A number as laymen write it: 'cl 1370' in the title, or right behind the name of the label ('verve 8210')."""
    for prefix in sorted(label.prefixes, key=len, reverse=True):
        if len(prefix) > 1:
            m = re.search(r"(?<!\w)" + re.escape(prefix) + r"[ .-]{0,2}\d{2,5}(?!\d)", listing.title, re.IGNORECASE)
            if m:
                return m.group().upper()
    m = re.compile(r"\W{1,3}(?:(?:LP|records?|label|no\.?|nr\.?|#)\W{1,2})?(\d{3,5})(?![\d\w/-])", re.IGNORECASE).match(
        listing.text, name.end
    )
    # What may be a year is taken for one.
    return m[1] if m and not re.match(r"(?:19[3-9]|20[0-4])\d$", m[1]) else None


def _letters(text: str, label: Label) -> bool:
    """Whether the letters of its numbers stand by themselves; fewer than three are too common."""
    return any(len(p) > 2 and re.search(rf"(?<!\w){re.escape(p)}(?!\w)", text) for p in label.prefixes)


def eras_of(label: Label, number: str | None, channels: str = "") -> tuple[Era, ...]:
    """The eras in whose range of numbers this one lies; none where the ranges are not known.

    A range with one end counts only where no whole range holds the number; `channels` ('mono', 'stereo') leaves out
    the eras of the other kind.
    """
    letters, value = spelt(number or "")
    if value is None:
        return ()
    whole: list[Era] = []
    open_ended: list[tuple[int, Era]] = []
    for era in label.era:
        if channels and era.channels in ("mono", "stereo") and era.channels != channels:
            continue
        high = spelt(era.catalogue_to, last=True)[1]
        # Series that run side by side are written 'MG 26000 / 36000'.
        starts = [spelt(start) for start in re.split(r"\s*/\s*", era.catalogue_from)]
        named = next((series for series, _ in starts if series), "")
        for series, low in starts:
            if low is None or not same_series(series or named, letters):
                continue
            if high is not None and low <= value <= high:
                whole.append(era)
                break
            if high is None and value >= low:
                open_ended.append((low, era))
    if whole or not open_ended:
        return tuple(whole)
    nearest = max(low for low, _ in open_ended)
    return tuple(dict.fromkeys(era for low, era in open_ended if low == nearest))


def spelt(number: str, *, last: bool = False) -> tuple[str, int | None]:
    """Letters and figures of a catalogue number: ('SXL', 6363). '1320s' is 1320, or 1329 as the `last` of a range.

    What is said loosely ('below A-40', '10000 / 15000') has no figures: nothing is concluded from it.
    """
    m = re.fullmatch(
        r"\s*(?:about )?([A-Za-z ]*?)[ .-]*(?:\d{2}[ -](?=\d))?(\d+)(s?)(?: series| about| or earlier)?\s*", number
    )
    if not m or m[1].casefold().startswith(("below", "above")):
        return "", None
    value = int(m[2]) + ((99 if m[2].endswith("00") else 9) if m[3] and last else 0)
    return re.sub(r"[^a-z]", "", m[1].casefold()), value


def same_series(one: str, other: str) -> bool:
    """Whether the letters of two numbers can be the same series; sellers shorten them ('PR' for a longer prefix)."""
    return one in other or other in one
