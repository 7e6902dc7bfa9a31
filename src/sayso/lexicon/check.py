"""Checks data files: schema, ids, sources, references, words claimed twice, eras that overlap or leave holes."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from sayso.lexicon import load
from sayso.lexicon.rows import LexiconError, Row

Grade = Literal["error", "note"]
SOURCED = ("mark", "table", "system", "fact", "label")
"""Kinds of entry that must say where they come from."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong (`error`) or worth knowing (`note`) in a data file; fit to be shown as one line."""

    file: str
    key: str
    what: str
    grade: Grade = "error"

    def __str__(self) -> str:
        return f"{self.file}: {self.key}: {self.what}" if self.key else f"{self.file}: {self.what}"


@dataclass(frozen=True)
class Read:
    """One valid row, and where it stands."""

    noun: str
    row: Row
    file: str
    number: int

    @property
    def key(self) -> str:
        name = getattr(self.row, "id", None) or getattr(self.row, "name", None) or self.number
        return f"{self.noun} {name}"


def files_in(paths: Iterable[Path]) -> list[Path]:
    """The data files under these paths. Raises `LexiconError` for a path that does not exist."""
    return [file for path in paths for file in load._files(path)]


def check(paths: Sequence[Path], *, base: load.Lexicon | None = None) -> list[Problem]:
    """Everything wrong in these files or folders, read on top of `base` (the shipped data where it is None).

    Does not stop at the first problem. When the shipped data themselves are checked they are read by themselves.
    """
    shipped = load.shipped().resolve()
    problems: list[Problem] = []
    rows: list[Read] = []
    try:
        files = files_in(paths)
    except LexiconError as error:
        return [Problem(error.file, error.key, error.reason)]
    for file in files:
        rows += _read(file, problems)
    inside = all(f.resolve().is_relative_to(shipped) for f in files)
    known = [] if inside else _known(base or load.Lexicon())
    problems += _ids(rows, known)
    problems += _sources(rows)
    problems += _references(rows, known)
    problems += _claimed_twice(rows, known)
    for read in rows:
        if read.noun == "label":
            problems += [Problem(read.file, read.key, what, grade) for what, grade in dossier_problems(read.row)]
    return problems


def _read(file: Path, problems: list[Problem]) -> Iterator[Read]:
    try:
        data = load.parse(file)
    except LexiconError as error:
        problems.append(Problem(error.file, error.key, error.reason))
        return
    for noun, rows in data.items():
        module, name, _ = load.SECTIONS[noun]
        model: type[Row] = getattr(import_module(f"sayso.lexicon.{module}"), name)
        for number, raw in enumerate(rows, 1):
            try:
                yield Read(noun, model.model_validate(raw), str(file), number)
            except ValidationError as error:
                named = raw.get("id") or raw.get("name") or number
                for wrong in error.errors():
                    where = ".".join(map(str, wrong["loc"]))
                    key = f"{noun} {named}" + (f", key {where}" if where else "")
                    problems.append(Problem(str(file), key, _plain(wrong["msg"], wrong["type"])))


def _plain(message: str, kind: str) -> str:
    """What pydantic says, in words for somebody who writes a data file."""
    if kind == "extra_forbidden":
        return "unknown key; check its spelling"
    if kind == "missing":
        return "this key is missing"
    return message.removeprefix("Value error, ")


def _known(base: load.Lexicon) -> list[Read]:
    """The rows that the checked files are merged over."""
    found = []
    for noun in load.SECTIONS:
        for number, row in enumerate(base.rows(noun), 1):
            found.append(Read(noun, row, "", number))
    return found


def _ids(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    have = {(k.noun, getattr(k.row, "id", None)) for k in known}
    seen: dict[tuple[str, str], str] = {}
    for read in rows:
        id_ = getattr(read.row, "id", None)
        if id_ is None:
            continue
        if (read.noun, id_) in seen:
            yield Problem(
                read.file, read.key, f"this id is used twice (also in {seen[read.noun, id_]}); give one another id"
            )
        seen[read.noun, id_] = read.file
        if (read.noun, id_) in have:
            yield Problem(read.file, read.key, "replaces the entry of the same id that comes with the program", "note")


def _sources(rows: Iterable[Read]) -> Iterator[Problem]:
    for read in rows:
        if read.noun not in SOURCED:
            continue
        basis, source = getattr(read.row, "basis", None), getattr(read.row, "source", None)
        if basis == "published" and (not source or re.match(r"(?i)no source|unknown|none\b|from memory$", source)):
            yield Problem(read.file, read.key, 'basis is "published" but no source is named; name it, or say "memory"')


def _references(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """Names of tables, marks and features that do not exist."""
    ids: dict[str, set[str]] = defaultdict(set)
    for read in (*known, *rows):
        if id_ := getattr(read.row, "id", None):
            ids[read.noun].add(id_)
    for read in rows:
        for noun, name, where in _names(read):
            if name and ids[noun] and name not in ids[noun]:
                yield Problem(read.file, read.key, f"{where} names the {noun} {name}, which does not exist")
        if read.noun == "system":
            yield from _groups(read)


def _names(read: Read) -> Iterator[tuple[str, str, str]]:
    row: Any = read.row
    if read.noun == "term":
        yield "feature", row.feature, "feature"
    if read.noun != "system":
        return
    for mark in row.marks:
        yield "mark", mark, "marks"
    for slot in row.slots:
        yield "table", slot.table, "slots"
    for reading in (*row.readings, *(r for p in row.patterns for r in p.readings)):
        yield "table", reading.table, f"the reading of {reading.field}"
        yield "table", reading.only_in, f"the reading of {reading.field}"
    for pattern in row.patterns:
        for table in re.findall(r"\{table:([a-z0-9_-]+)\}", pattern.regex):
            yield "table", table, "a pattern"


def _groups(read: Read) -> Iterator[Problem]:
    """Groups that a pattern names but does not have."""
    row: Any = read.row
    for pattern in row.patterns:
        groups = set(re.findall(r"\(\?P<(\w+)>", pattern.regex))
        named = {r.group for r in pattern.readings} | {r.plus for r in pattern.readings}
        for missing in sorted((named | {*pattern.digits, *pattern.squeeze}) - groups - {""}):
            yield Problem(read.file, read.key, f"the pattern {pattern.regex!r} has no group {missing}")


def _claimed_twice(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """The same words as the bare term of two features: no listing could be read."""
    owners: dict[tuple[str, str, bool, tuple[object, ...]], tuple[str, str]] = {}

    def keys(row: Any) -> Iterator[tuple[str, str, bool, tuple[object, ...]]]:
        context = (row.needs, row.not_after, row.not_before, row.only_after, row.only_before)
        for form in row.forms:
            yield (form if row.exact else form.casefold()), row.lang, row.exact, context

    for read in known:
        if read.noun == "term":
            for key in keys(read.row):
                owners.setdefault(key, (getattr(read.row, "feature", ""), "the data that come with the program"))
    for read in rows:
        if read.noun != "term":
            continue
        row: Any = read.row
        for key in keys(row):
            owner = owners.setdefault(key, (row.feature, read.file))
            if owner[0] != row.feature:
                what = f"'{key[0]}' is claimed by {row.feature} and by {owner[0]} (in {owner[1]})"
                yield Problem(read.file, f"term {row.feature}", f"{what}; say in which context it is meant")


def year_of(date: object) -> int | None:
    """The year of a date that is written YYYY, YYYY-MM or YYYY-MM-DD, or a number."""
    m = re.match(r"\d{4}", str(date)) if date not in (None, "") else None
    return int(m[0]) if m else None


def dossier_problems(label: Any) -> Iterator[tuple[str, Grade]]:
    """What contradicts itself in a label's dossier (errors), and where its eras overlap or leave holes (notes).

    Eras of different channels or series run side by side, so only eras of one kind are compared.
    """
    eras = list(getattr(label, "eras", None) or getattr(label, "era", None) or ())
    lanes: dict[object, list[tuple[int, int | None, str]]] = defaultdict(list)
    for number, era in enumerate(eras, 1):
        first, last = year_of(getattr(era, "earliest", None)), year_of(getattr(era, "latest", None))
        name = getattr(era, "design", None) or getattr(era, "id", None) or f"era {number}"
        if first and last and first > last:
            yield f"the era '{name}' begins in {first} and ends in {last}", "error"
        elif first:
            lanes[getattr(era, "channels", "")].append((first, last, str(name)))
    for lane in lanes.values():
        yield from _lane(sorted(lane))
    more: Callable[[Any], Iterable[tuple[str, Grade]]] | None = getattr(type(label), "contradictions", None)
    if more:
        yield from more(label)


def _lane(eras: Sequence[tuple[int, int | None, str]]) -> Iterator[tuple[str, Grade]]:
    for (first, last, name), (after, _, following) in pairwise(eras):
        if last is None:
            continue
        if after < last:
            yield f"the eras '{name}' ({first} to {last}) and '{following}' (from {after}) overlap", "note"
        elif after > last + 1:
            yield f"there is a hole from {last} to {after} between '{name}' and '{following}'", "note"


def summary(problems: Sequence[Problem]) -> Mapping[str, int]:
    """How many of each grade."""
    return {grade: sum(p.grade == grade for p in problems) for grade in ("error", "note")}
