"""Varied listings of about 1,200 characters, made up from parts; the same seed gives the same ones. All invented."""

from __future__ import annotations

import random
from collections.abc import Iterator

FIRST = [
    "Wanda",
    "Orrin",
    "Cal",
    "Edda",
    "Lorne",
    "Mabel",
    "Piet",
    "Rosa",
    "Silas",
    "Tamsin",
    "Ulric",
    "Vera",
    "Walt",
    "Yvo",
    "Zella",
    "Bram",
]
LAST = [
    "Pell",
    "Tasker",
    "Garrow",
    "Quill",
    "Harker",
    "Lyle",
    "Marden",
    "Noakes",
    "Ostler",
    "Pruett",
    "Rudge",
    "Sallow",
    "Thrale",
    "Veck",
]
NOUN = [
    "Harbour",
    "Lamp",
    "Tide",
    "Quarry",
    "Meadow",
    "Signal",
    "Lantern",
    "Ferry",
    "Orchard",
    "Mill",
    "Station",
    "Window",
    "Winter",
    "Garden",
]
LABEL = ["Halyard", "Merrow", "Sandglass", "Tollgate", "Fenwick", "Larkspur", "Owlet", "Brackwater"]
MARK = ["wheel", "anchor", "bell", "acorn", "crown", "leaf", "key", "fish"]
COLOUR = ["blue", "maroon", "yellow", "green", "black", "silver", "orange", "grey"]
GRADE = ["M-", "NM", "EX", "EX-", "VG++", "VG+", "VG", "VG-", "G+"]
SAID = [
    "{edition} on {label}, {colour} label, {groove}.",
    "Run-out: {number}A {etched}, {number}B {etched}.",
    "There is a small {mark} stamped in the dead wax {side}.",
    "No {mark} that I can see, only the numbers and the initials {initials}.",
    "Disc {grade}, sleeve {grade2}; {defect}.",
    "Played through on a good deck: {sound}.",
    "I was told by the previous owner that it is {edition2}, but I could not check.",
    "The {part} is laminated on the front with {flaps}.",
    "Unlike the later copies this one has the {colour} label and the thick rim.",
    "If it had the {mark} it would be a first, and the price would be another one.",
    "Weight about {weight} g, flat edge, {groove}.",
    "Label address: {street} {town}. No R in a circle.",
    "Recorded in {year}, released {year2}; the cover has {barcode}.",
    "Comes with {inner}.",
    "See pictures {n} to {n2} for the {part}; ask me about anything else.",
    "Not a reissue as far as I know, but I am no expert in {label} records.",
    "Initials {initials} scratched by hand next to {number}, no idea what they mean.",
    "Small {defect2} on the back, {colour} sticker on the front, name on the label.",
    "Posted within {n} days in a stiff mailer. Returns accepted within {days} days.",
    "The music: {first} {last} at the {noun} with {first2} {last2} on piano, one of the finest dates of the period.",
]
POLICY = [
    "Grading: M- as good as new, VG++ light marks, VG+ some marks that do not sound, VG audible noise in places.",
    "I combine postage. Orders under {n}0 cost extra. Please ask before you pay, {first} answers within {n} days.",
    "All records are cleaned by hand. Photos show the copy you will get. Number {number} in my list of {year2}.",
]
SLOTS: dict[str, list[str]] = {
    "edition": [
        "Original pressing",
        "First pressing",
        "Early copy",
        "Original issue",
        "Reissue",
        "Second issue",
        "Promo",
    ],
    "edition2": ["the first pressing", "an original", "a later pressing", "from the first run"],
    "label": LABEL,
    "colour": COLOUR,
    "groove": [
        "deep groove on both sides",
        "no deep groove",
        "deep groove side 2 only",
        "a ridge in the label",
        "no ridge",
    ],
    "etched": ["etched by hand", "machine stamped", "scratched", "stamped, hard to read"],
    "mark": MARK,
    "side": ["on both sides", "on side one", "on side 2 only", "I think", "?"],
    "initials": ["TK", "RW", "HB", "EJS", "LMN", "PV"],
    "grade": GRADE,
    "grade2": GRADE,
    "defect": ["light ring wear", "a short split at the top", "corner bump", "no writing", "a stain on the back"],
    "defect2": ["tear", "crease", "tape mark", "price sticker", "stain"],
    "sound": ["quiet throughout", "a few ticks on track 2", "no skips", "some noise between songs"],
    "part": ["jacket", "sleeve", "cover", "label", "inner"],
    "flaps": ["flip-backs", "two flaps", "no flaps", "a printed spine"],
    "barcode": ["no barcode", "a barcode on the back", "a cut corner", "a hole in the corner"],
    "inner": ["the original inner", "a plain inner", "no inner", "a later inner sleeve"],
    "street": ["12 Quay Street,", "40 Mill Lane,", "7 Tanner's Yard,", "88 Foundry Road,"],
    "town": ["Port Merrow", "Kestle", "Brackwater", "Ostley"],
    "first": FIRST,
    "first2": FIRST,
    "last": LAST,
    "last2": LAST,
    "noun": NOUN,
}


def listing(n: int, seed: int = 7, size: int = 1_060) -> dict[str, str]:
    """The n-th listing as a record, its text at least `size` characters long."""
    chance = random.Random(f"{seed}-{n}")
    pick = {name: chance.choice(values) for name, values in SLOTS.items()}

    def filled(template: str) -> str:
        values = {name: chance.choice(choices) for name, choices in SLOTS.items()} | {
            "label": pick["label"],
            "number": f"{pick['label'][:2].upper()}-{chance.randint(100, 9999)}",
            "weight": str(chance.randint(110, 200)),
            "year": str(chance.randint(1950, 1979)),
            "year2": str(chance.randint(1950, 1989)),
            "n": str(chance.randint(1, 9)),
            "n2": str(chance.randint(3, 12)),
            "days": str(chance.choice((7, 14, 30))),
        }
        return template.format(**values)

    title = f"{pick['first']} {pick['last']} - {chance.choice(NOUN)} {chance.choice(NOUN)} {n} LP {pick['label']}"
    lines: list[str] = []
    while sum(map(len, lines)) < size:
        lines.append(filled(chance.choice(SAID if len(lines) < 12 else POLICY)))
        if chance.random() < 0.2:
            lines.append(filled(chance.choice(POLICY)))
    text, at = "", 0
    for line in lines:
        text += line + ("\n\n" if (at := at + 1) % 4 == 0 else " ")
    return {"id": f"v{n}", "title": title, "text": text.strip(), "price": str(chance.randint(5, 400))}


def listings(count: int, start: int = 0, seed: int = 7, size: int = 1_060) -> Iterator[dict[str, str]]:
    """`count` listings, each of its own."""
    return (listing(n, seed, size) for n in range(start, start + count))
