"""A short way to write what one knows of a group of labels: marks, initials, addresses, designs.

A file with the lists `plants` ({name, mark}), `cutting` ({initials, name}), `labels` ({name, country, addresses,
designs}) and `words` ({mark: {language: [words]}}) is expanded into ordinary rows. It is meant for a collector's own
notes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import product
from typing import Any

SHORT = frozenset({"plants", "cutting", "labels", "words", "comment"})
KEYS: Mapping[str, frozenset[str]] = {
    "plants": frozenset({"name", "mark", "country"}),
    "cutting": frozenset({"initials", "name", "country"}),
    "labels": frozenset({"name", "country", "kind", "addresses", "designs", "plant", "cutting", "aliases"}),
}
Row = dict[str, Any]


def expand(data: dict[str, Any]) -> dict[str, Any]:
    """`data` with the short lists replaced by ordinary rows; other data are returned as they are.

    Raises `ValueError` naming the entry that is not of the short form.
    """
    if not SHORT & data.keys():
        return data
    _check(data)
    words: Mapping[str, Mapping[str, list[str]]] = data.get("words", {})
    terms: list[Row] = []
    for mark in dict.fromkeys(p["mark"] for p in data.get("plants", ()) if p.get("mark")):
        terms += _mark_terms(mark, words.get(mark, {}))
    for initials in dict.fromkeys(c["initials"] for c in data.get("cutting", ()) if c.get("initials")):
        terms.append(_term("deadwax.mastering_mark", [initials], initials, exact=True))
    for address in dict.fromkeys(a for label in data.get("labels", ()) for a in label.get("addresses", ())):
        forms, bare = address_forms(address), bare_address(address)
        terms.append(_term("label.address", [f for f in forms if f != bare], address, kind="address"))
        if bare:  # a name like that may be anybody's: in a title it is the artist's or the song's
            terms.append(_term("label.address", [bare], address, kind="address", needs=["outside the title"]))
    designs = list(dict.fromkeys(d for label in data.get("labels", ()) for d in label.get("designs", ())))
    for design in designs:
        terms += _design_terms(design, words, designs)
    rows = {k: v for k, v in data.items() if k not in SHORT}
    rows["term"] = [*rows.get("term", ()), *_merged(terms)]
    fuller = {str(row.get("name") or row.get("label")).casefold() for row in rows.get("label", ())}
    labels = [_label(row, data) for row in data.get("labels", ()) if row["name"].casefold() not in fuller]
    if labels:
        rows["label"] = [*rows.get("label", ()), *labels]
    return rows


def _label(row: Mapping[str, Any], data: Mapping[str, Any]) -> Row:
    """The row of a label, as far as the short form knows it. It never replaces a fuller one of the same name."""
    plants = [
        {"name": p["name"], "mark": p["mark"], "basis": "own notes"}
        for p in data.get("plants", ())
        if "name" in p and p["name"] == row.get("plant")
    ]
    own = {k: row[k] for k in ("name", "country", "aliases") if k in row}
    return {**own, "basis": "own notes"} | ({"plants": plants} if plants else {})


def _check(data: Mapping[str, Any]) -> None:
    for name, known in KEYS.items():
        entries = data.get(name, [])
        if not isinstance(entries, list):
            raise ValueError(f"{name} must be a list of entries")
        for number, entry in enumerate(entries, 1):
            if not isinstance(entry, dict):
                raise ValueError(f"{name} {number} must be an entry with keys such as {', '.join(sorted(known))}")
            unknown = sorted(set(entry) - known)
            if unknown:
                raise ValueError(f"{name} {number}: unknown key {unknown[0]}; known are {', '.join(sorted(known))}")
            for key, value in entry.items():
                listed = key in ("addresses", "designs", "aliases")
                if listed and not (isinstance(value, list) and all(isinstance(v, str) and v.strip() for v in value)):
                    raise ValueError(f"{name} {number}: {key} must be a list of texts")
                if not listed and not (isinstance(value, str) and value.strip()):
                    raise ValueError(f"{name} {number}: {key} must be a text that is not empty")
            needed = {"plants": "mark", "cutting": "initials", "labels": "name"}[name]
            if needed not in entry:
                raise ValueError(f"{name} {number}: {needed} is missing")
    words = data.get("words", {})
    if not isinstance(words, dict):
        raise ValueError("words must be a table of the marks in other languages")
    for key, languages in words.items():
        fine = isinstance(languages, dict) and all(
            isinstance(forms, list) and all(isinstance(f, str) and f.strip() for f in forms)
            for forms in languages.values()
        )
        if not fine:
            raise ValueError(f"words {key}: must give a list of texts for each language")


def _term(feature: str, forms: Iterable[str], value: str, **more: Any) -> Row:
    return {"feature": feature, "forms": list(dict.fromkeys(f for f in forms if f)), "value": value, **more}


@cache
def _table(name: str) -> Mapping[str, tuple[str, ...]]:
    """A list of words from the shipped data."""
    import tomllib

    from sayso.lexicon.load import shipped

    path = shipped() / "systems" / "streets.toml"
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["table"] if path.is_file() else ()
    return {k: tuple(v) for row in rows if row["id"] == name for k, v in row["entries"].items()}


def _plural(word: str) -> str:
    if re.search(r"(s|x|z|ch|sh)$", word):
        return word + "es"
    return word[:-1] + "ies" if re.search(r"[^aeiou]y$", word) else word + "s"


def _mark_terms(mark: str, languages: Mapping[str, list[str]]) -> list[Row]:
    """The terms for one plant mark: a drawing ('anchor'), letters ('letters Dr') or letters in a frame."""
    feature = "deadwax.plant_mark"
    short = _table("short_form")
    first, _, rest = mark.partition(" ")
    if first.casefold() in short.get("letter", ()) and rest:
        found = [
            _term(feature, [rest], rest, exact=True, needs=["deadwax"]),
            _term(feature, [f"{word} {rest}" for word in short["letter"]], rest, exact=True),
        ]
        for lang, forms in languages.items():
            plain = [f.strip("„“”\"'«»") for f in forms]
            spelt = [f for f in plain if f != rest]
            if spelt:
                found.append(_term(feature, spelt, rest, lang=lang, exact=True))
        return found
    for inside in short.get("enclosed", ()):
        letters, _, frame = mark.partition(f" {inside} ")
        if frame and letters.isalpha() and not letters.islower():
            phrases = [f"{letters} {x} {frame}" for x in short["enclosed"]] + [f"{frame} {letters}"]
            found = [
                _term(feature, [mark, *phrases], mark),
                _term(feature, [letters], mark, exact=True, needs=["deadwax"]),
            ]
            return found + [_term(feature, forms, mark, lang=lang) for lang, forms in languages.items()]
    forms = [mark, _plural(mark), *(f"{mark} {word}" for word in short.get("after_mark", ()))]
    found = [_term(feature, forms, mark)]
    return found + [_term(feature, forms, mark, lang=lang) for lang, forms in languages.items()]


PLAIN = re.compile(r"\s*\([^()]*\)\s*")


def _plain(design: str) -> str:
    return " ".join(PLAIN.sub(" ", design).split())


def _design_terms(design: str, words: Mapping[str, Mapping[str, list[str]]], designs: Iterable[str]) -> list[Row]:
    """The terms for one label design; a bracketed remark is no part of it."""
    plain = _plain(design)
    named = [key for key in words if re.search(rf"(?<!\w){re.escape(key)}(?!\w)", plain)]
    forms = [*_spellings(plain)]
    inner = re.findall(r"\(([^()]*)\)", design)
    if design != plain and inner and not design.rstrip().endswith(")"):
        # 'silver (shaded) owl': the bracket may be said or not.
        forms += _spellings(" ".join(design.replace("(", "").replace(")", "").split()))
    for key in named:
        forms += [key, _plural(key)]
    others = {_plain(d) for d in designs}
    heads = (plain.partition(" with ")[0], plain.partition(", ")[0])
    # 'green' for 'green with a mountain' would be any green label; a longer beginning is distinctive.
    forms += [head for head in heads if " " in head and head not in others]
    # A single word may be any colour in the listing; in a title it is the artist's or the song's.
    drawn = {x for key in named for x in (key, _plural(key))}
    single = [f for f in forms if " " not in f and "-" not in f and "/" not in f and f not in drawn]
    longer = [f for f in forms if f not in single]
    found = []
    if longer:
        found.append(_term("label.design", longer, plain, kind="design"))
    if single:
        found.append(_term("label.design", single, plain, kind="design", needs=["label"]))
    for key in named:
        found += [
            _term("label.design", foreign, plain, kind="design", lang=lang) for lang, foreign in words[key].items()
        ]
    return found


def _spellings(design: str) -> list[str]:
    """'black and gold' as it is also written; 'rainbow rim' with a hyphen."""
    forms = [design]
    if design.count(" and ") == 1 and " with " not in design:
        one, two = design.split(" and ")
        forms += [
            f"{one} & {two}",
            f"{one}/{two}",
            f"{one} / {two}",
            f"{one}-{two}",
            f"{one} {two}",
            f"{two} and {one}",
        ]
    elif design.count(" ") == 1 and "," not in design:
        forms.append(design.replace(" ", "-"))
    return forms


def address_forms(address: str) -> list[str]:
    """An address in full and in its natural shortenings: without number, town or street word, and spelt either way."""
    address = " ".join(address.split())
    first, _, town = address.partition(",")
    forms = [address, address.rstrip(".")]
    boxes = [form for options in _table("box_word").values() for form in options]
    box = next((b for b in boxes if first.casefold().startswith(b.casefold() + " ")), None)
    if box:
        tail = first[len(box) :].strip()
        return list(dict.fromkeys([*forms, *(f"{b} {tail}" for b in boxes)]))
    tokens = first.split()
    number = [t for t in tokens if re.fullmatch(r"\d+[a-zA-Z]?", t)]
    name = [t for t in tokens if t not in number]
    kinds = [_kinds(t) for t in name]
    for spelt in product(*kinds):
        street = " ".join(spelt)
        for whole in (
            street,
            f"{number[0]} {street}" if number else street,
            f"{street} {number[0]}" if number else street,
        ):
            if number and whole != street and (whole.startswith(number[0]) != first.startswith(number[0])):
                continue
            forms += [whole, whole.rstrip(".")]
            if town:
                forms.append(f"{whole.rstrip('.')}, {town.strip()}")
                forms.append(f"{whole.rstrip('.')}, {re.sub(r' ?[0-9]+$', '', town.strip())}")
                if whole.endswith("."):
                    forms += [f"{whole}, {town.strip()}", f"{whole}, {re.sub(r' ?[0-9]+$', '', town.strip())}"]
    if bare := bare_address(address):
        forms.append(bare)
    forms += [f.replace("'", "’") for f in forms if "'" in f]
    return list(dict.fromkeys(f for f in forms if f))


def bare_address(address: str) -> str:
    """The name of the street alone, where it is a real address with a number and a name long enough to be no ordinary
    word; else nothing."""
    tokens = " ".join(address.split()).partition(",")[0].split()
    name = [t for t in tokens if not re.fullmatch(r"\d+[a-zA-Z]?", t)]
    bare = " ".join(t for t in name if len(_kinds(t)) == 1 and not _is_kind(t))
    return bare if len(name) < len(tokens) and len(bare) >= 5 and len(name) > 1 else ""


def _is_kind(token: str) -> bool:
    return any(token.casefold() in (f.casefold() for f in forms) for forms in _table("street_word").values())


def _kinds(token: str) -> tuple[str, ...]:
    """The ways of writing one word of an address."""
    for forms in _table("street_word").values():
        if token.casefold() in (f.casefold() for f in forms):
            return tuple(dict.fromkeys((token, *forms)))
    return (token,)


def _merged(terms: Iterable[Row]) -> list[Row]:
    """Terms with the same meaning made one, in order."""
    kept: dict[tuple[object, ...], Row] = {}
    for term in terms:
        key = tuple((k, tuple(v) if isinstance(v, list) else v) for k, v in sorted(term.items()) if k != "forms")
        if key in kept:
            kept[key]["forms"] = list(dict.fromkeys([*kept[key]["forms"], *term["forms"]]))
        else:
            kept[key] = dict(term)
    return list(kept.values())
