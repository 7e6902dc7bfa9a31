"""Changes to a listing that must not change how it is read, and changes that must turn one state over.

Each takes an annotated listing and gives the changed record, or null where the change does not apply to it.
"""

from __future__ import annotations

import html
import random
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

Record = Mapping[str, Any]
Change = Callable[[Record], dict[str, Any] | None]

BOILERPLATE = (
    "All parcels are packed by hand in stiff cardboard and leave us on weekdays before noon. "
    "We have been at the same counter for many years and are glad of every visitor."
)
ORDERED = frozenset(
    {"lot", "lots", "correction", "retraction", "correction-in-sentence", "anaphora", "reply", "legend", "policy"}
)
"""In these the order of the paragraphs carries meaning."""
NEGATABLE = re.compile(r"(?:a |an |the |with |has )?((?:[a-z]+[- ]){0,2}[a-z]+)\Z")


def boilerplate(row: Record) -> dict[str, Any] | None:
    """A paragraph that says nothing of the record, at the end."""
    if row["format"] == "html":
        return {**row, "text": f"{row['text']}\n<p>{BOILERPLATE}</p>"}
    if row["format"] == "reply" or row.get("language", "en") != "en":
        return None
    return {**row, "text": f"{row['text']}\n\n{BOILERPLATE}"}


def reordered(row: Record) -> dict[str, Any] | None:
    """The paragraphs the other way round, where none leans on another."""
    paragraphs = re.split(r"\n\s*\n", row["text"])
    leaning = ORDERED & set(row["phenomena"]) or any(re.match(r"\W*(?:EDIT|UPDATE|P\.?S)", p) for p in paragraphs)
    if row["format"] != "text" or len(paragraphs) < 2 or leaning:
        return None
    return {**row, "text": "\n\n".join(reversed(paragraphs))}


def straight(row: Record) -> dict[str, Any] | None:
    """Curly quotes and apostrophes made straight."""
    table = str.maketrans({"’": "'", "‘": "'", "“": '"', "”": '"', "″": '"', "′": "'"})
    return _retyped(row, lambda text: text.translate(table))


def curly(row: Record) -> dict[str, Any] | None:
    """Apostrophes inside words, and quotes round words, made curly."""
    if row["format"] == "html":
        return None
    return _retyped(row, lambda t: re.sub(r'(?<!\w)"(\w[^"\n]*\w)"(?!\w)', r"“\1”", re.sub(r"(?<=\w)'(?=\w)", "’", t)))


def wrapped(row: Record) -> dict[str, Any] | None:
    """The same words as a page."""
    if row["format"] != "text":
        return None
    paragraphs = (html.escape(p).replace("\n", "<br>") for p in re.split(r"\n\s*\n", row["text"]))
    return {**row, "format": "html", "text": "".join(f"<p>{p}</p>" for p in paragraphs)}


def lower(row: Record) -> dict[str, Any] | None:
    """Capitals folded, where no meaning hangs on them (initials, single letters, grades keep theirs)."""
    if row["format"] == "html":
        return None
    plain = re.compile(r"\b[A-Z]?[a-z]{3,}\b|\b[A-Z]{5,}\b")
    return _retyped(row, lambda text: plain.sub(lambda m: m.group().lower(), text))


def blanks(row: Record) -> dict[str, Any] | None:
    """Doubled blanks and blanks at the ends of lines."""
    if row["format"] == "html":
        return None
    return {**row, "text": re.sub(r"(?<=\w) (?=\w)", "  ", row["text"]).replace("\n", " \n")}


SAME: dict[str, Change] = {
    "boilerplate": boilerplate,
    "reordered": reordered,
    "straight": straight,
    "curly": curly,
    "wrapped": wrapped,
    "lower": lower,
    "blanks": blanks,
}


def _retyped(row: Record, change: Callable[[str], str]) -> dict[str, Any] | None:
    changed = {**row, "title": change(row["title"]), "text": change(row["text"])}
    return None if changed["text"] == row["text"] and changed["title"] == row["title"] else changed


FLIPS = frozenset(
    {
        "edition.promo",
        "edition.club",
        "label.deep_groove",
        "label.register_mark",
        "deadwax.plant_mark",
        "jacket.barcode",
        "jacket.cut_mark",
    }
)


def negated(row: Record) -> Iterator[tuple[str, dict[str, Any]]]:
    """With 'no' before a bare mention that alone makes a state: the feature that must then be denied, the listing."""
    if row["format"] != "text" or row.get("language", "en") != "en":
        return
    for claim in row["claims"]:
        feature, quote = claim["feature"], claim["quote"]
        alone = sum(c["feature"] == feature for c in row["claims"]) == 1
        firm = (claim["polarity"], claim["certainty"], claim["attribution"]) == ("present", "certain", "seller")
        bare = NEGATABLE.fullmatch(quote.lower())
        if not (
            alone and firm and bare and feature in FLIPS and claim["side"] is None and row["text"].count(quote) == 1
        ):
            continue
        before = row["text"][: row["text"].index(quote)]
        if re.search(r"(?:^|[,;.:(\n]\s*)\Z", before) and quote not in row["title"]:
            yield feature, {**row, "text": f"{before}no {bare.group(1)}{row['text'][len(before) + len(quote) :]}"}


def misspelt(row: Record, words: frozenset[str], seed: int = 0) -> dict[str, Any] | None:
    """One long word of the trade with two neighbouring letters exchanged inside it."""
    rng = random.Random(f"{row['id']}{seed}")
    spoken = " ".join(c["quote"] for c in row["claims"])
    places = [m for m in re.finditer(r"[a-z]{7,}", row["text"]) if m.group() in words and m.group() in spoken]
    if row["format"] != "text" or not places:
        return None
    place = rng.choice(places)
    word = place.group()
    swaps = [i for i in range(1, len(word) - 2) if word[i] != word[i + 1]]
    i = rng.choice(swaps)
    typo = word[:i] + word[i + 1] + word[i] + word[i + 2 :]
    return {**row, "text": row["text"][: place.start()] + typo + row["text"][place.end() :]}
