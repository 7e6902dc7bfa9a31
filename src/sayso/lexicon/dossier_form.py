"""A dossier to fill in: every key that matters, with what it means; lines beginning with '#:' are data to uncomment."""

from __future__ import annotations

import json
from pathlib import Path

FORM = """\
# What you know of the label {name}. Save this file, with any name that ends in .toml, in
#   {folder}
# where the program finds it by itself, or name it with --lexicon FILE. Then run
#   sayso lexicon check FILE
#
# Only the name is needed. Lines that begin with "#:" are examples: take the two signs away and put in what you know;
# leave out what you do not. Say of each thing where you have it from (basis = "published" with its source, "common
# practice", or "memory"): what is from memory is shown and weighs less. This is data; nothing in it is ever run.

# --- Words: marks, initials, addresses and designs, so that they are recognised in a listing.

# A works and the sign it left in the dead wax: a drawing ("anchor"), or letters ("letters Dr").
#: plants = [
#:   {{ name = "The first works", mark = "anchor" }},
#: ]

# Who cut the records, and the initials they scratched or stamped.
#: cutting = [
#:   {{ initials = "ABC", name = "A. B. Cutter" }},
#: ]

[[labels]]
name = {quoted}
#: country = "UK"
#: addresses = ["12 Example Street, Town"]
#: designs = ["lantern", "grey (later)"]
#: plant = "The first works"

# The marks in other languages, if sellers abroad have your records.
#: [words.anchor]
#: de = ["Anker"]
#: fr = ["ancre"]

# --- The label's history: it dates a copy.

#: [[label]]
#: name = {quoted}
#: aliases = []
#: prefixes = ["ABC"]            # letters of its catalogue numbers
#: country = "UK"
#: basis = "memory"
#: source = "my own copies"

# One design or address after another. Years are those in which it was put on new records; old stock is used up later.
#: [[label.era]]
#: design = "lantern"
#: address = "12 Example Street, Town"
#: channels = "mono"             # mono, stereo, or both
#: earliest = 1954               # YYYY, or "YYYY-MM-DD"
#: latest = 1961
#: catalogue_from = "ABC 1001"
#: catalogue_to = "ABC 1060"
#: deep_groove = "both sides"    # both sides, one side, none, mixed
#: basis = "memory"
#: caution = "Old labels were used up until 1963."

#: [[label.era]]
#: design = "grey"
#: channels = "mono"
#: earliest = 1962
#: basis = "memory"

# --- One record: which pressings there are and how to tell them apart. It gives odds and says what to ask.

#: [[label]]
#: name = {quoted}
#: record = "Artist - Title"
#: artist = "Artist"
#: title = "Title"
#: number = "ABC 1007"
#: country = "UK"
#: basis = "memory"
#: source = "my own copies"
#: counts_as_first = ["first"]
#: worth = {{ first = 100.0, later = 20.0 }}   # what each is worth to you, in VG+ condition
#: currency = "GBP"

# The variants of each part. What stands in one variant is always seen together, so it counts as one piece of evidence.
#: [label.parts.label.old]
#: "label.design" = "lantern"
#: "label.address" = "12 Example Street, Town"
#: [label.parts.label.new]
#: "label.design" = "grey"
#: "label.address" = "none"
#: [label.parts.plant.first]
#: "deadwax.plant_mark" = "anchor"
#: [label.parts.plant.other]
#: "deadwax.plant_mark" = "none"
#: [label.parts.metal.cut]
#: "deadwax.mastering_mark" = "ABC"

# The pressings: years, how many copies (a guess will do: only the proportion matters), and in which shares they use the
# variants. The shares of a part add up to 1.
#: [[label.pressings]]
#: id = "first"
#: name = "first pressing"
#: years = [1957, 1961]
#: copies = 500
#: [label.pressings.uses]
#: label = {{ old = 1.0 }}
#: plant = {{ first = 1.0 }}
#: metal = {{ cut = 1.0 }}

#: [[label.pressings]]
#: id = "later"
#: name = "later pressing"
#: years = [1962, 1969]
#: copies = 1500
#: [label.pressings.uses]
#: label = {{ old = 0.3, new = 0.7 }}
#: plant = {{ other = 1.0 }}
#: metal = {{ cut = 1.0 }}

# Old stock that was used up on a later pressing, and the sign that settles it.
#: [[label.leftover]]
#: what = "printed lantern labels"
#: feature = "label.design"
#: value = "lantern"
#: printed_until = 1961
#: used_until = 1963
#: on = "later"
#: share = 0.3

#: [[label.decides]]
#: feature = "deadwax.plant_mark"
#: value = "anchor"
#: pressing = "first"
"""


def form(name: str, folder: Path) -> str:
    """The form for a label of this name; `folder` is where the user's own data lie."""
    shown = " ".join(name.split())
    return FORM.format(name=shown, quoted=json.dumps(shown, ensure_ascii=False), folder=folder)


def filled(text: str) -> str:
    """The form with every example taken in: what a user has who uncomments all lines."""
    return "".join(
        line.removeprefix("#:").removeprefix(" ") if line.startswith("#:") else line for line in text.splitlines(True)
    )
