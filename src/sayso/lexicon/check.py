"""Checks data files: schema, ids, sources, references, words claimed twice, eras that overlap or leave holes."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from sayso.lexicon import load
from sayso.lexicon.places import only, places
from sayso.lexicon.rows import LexiconError, Row, in_plain_words

if TYPE_CHECKING:
    from sayso.lexicon.labels import Era, Label

Grade = Literal["error", "note"]
SOURCED = ("mark", "table", "system", "fact")
"""Kinds of entry that must say where they come from."""
SILENT = ("carrier", "topic")
"""Kinds of term that claim nothing: they keep words from being read as something else, or only name a thing."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong (`error`) or worth knowing (`note`) in a data file; fit to be shown as one line."""

    file: str
    key: str
    what: str
    grade: Grade = "error"

    def __str__(self) -> str:
        line = f"{self.file}: {self.key}: {self.what}" if self.key else f"{self.file}: {self.what}"
        return " ".join(line.splitlines())  # a name with a line break in it stays on one line


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
    known = [] if inside else _known(base or load.load_lexicon(user=False))
    problems += _ids(rows, known)
    problems += _sources(rows)
    problems += _bases(rows)
    problems += _left_out(paths)
    problems += _references(rows, known)
    problems += _claimed_twice(rows, known)
    problems += _also_said(rows, known)
    problems += _namesakes(rows, known)
    problems += _filled(rows, known)
    told = {read.file for read in rows} | {p.file for p in problems}
    problems += [Problem(str(f), "", "holds no entry", "note") for f in files if str(f) not in told]
    features = {str(getattr(r.row, "id", "")) for r in (*known, *rows) if r.noun == "feature"}
    for read in rows:
        if read.noun == "label":
            label: Any = read.row
            problems += [Problem(read.file, read.key, *found) for found in dossier_problems(label, features)]
    return problems


def _left_out(paths: Iterable[Path]) -> Iterator[Problem]:
    for path in paths:
        for file in load.left_out(path):
            yield Problem(str(file), "", "is not read: it leads out of its folder, or is no ordinary file", "note")


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
                    problems.append(Problem(str(file), key, in_plain_words(wrong["msg"], wrong["type"])))


@lru_cache(maxsize=2)
def _known(base: load.Lexicon) -> Sequence[Read]:
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


ANY = "*"
"""A template with this for a feature speaks of whichever it is."""
BASES = ("published", "common practice", "from memory", "memory", "inference", "invented", "own notes")
"""How a basis begins; what follows may say more."""


def _bases(rows: Iterable[Read]) -> Iterator[Problem]:
    """A basis that is none of the known ones: `list --basis` would not find it, and it would weigh as published."""
    for read in rows:
        if read.noun != "label":
            continue
        label: Any = read.row
        parts: list[Any] = [label, *label.era, *label.numbers, *label.plants, *label.owners, *label.traps]
        parts += [*label.first_pressing_features, *([label.stock_reuse] if label.stock_reuse else [])]
        for basis in sorted({p.basis for p in parts if not str(p.basis).startswith(BASES)}):
            yield Problem(read.file, read.key, f"the basis {basis!r} is not known; say {', '.join(BASES[:3])}")
        if "basis" in label.model_fields_set and label.basis == "published" and not label.source:
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
    yield from _word_classes(rows, known)


def _word_classes(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """Classes of words that a mark's described forms name and the table of them lacks."""
    tables: list[Any] = [
        r.row for r in (*known, *rows) if r.noun == "table" and getattr(r.row, "id", "") == "mark_words"
    ]
    if not tables:
        return
    classes = tables[-1].entries
    for read in rows:
        if read.noun == "mark":
            row: Any = read.row
            for name in {n for says in row.says for n in re.findall(r"<([^>]*)>", says)} - classes.keys():
                yield Problem(
                    read.file, read.key, f"says names the class of words <{name}>; there are {', '.join(classes)}"
                )


def _names(read: Read) -> Iterator[tuple[str, str, str]]:
    row: Any = read.row
    if read.noun in ("term", "shape", "need"):
        yield "feature", row.feature, "feature"
    if read.noun == "need":
        yield "profile", row.profile, "profile"
    if read.noun == "template":
        yield from (("feature", name, "features") for name in row.features if name != ANY)
    if read.noun == "label":
        yield from _named_by_label(row)
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


def _named_by_label(label: Label) -> Iterator[tuple[str, str, str]]:
    for said in (*label.first_pressing_features, *label.traps):
        yield from (("feature", name, f"'{said.text[:40]}'") for name in said.features)
    for left in label.leftover:
        yield "feature", left.feature, f"leftover '{left.what}'"
    yield from (("assumption", name, "assume") for name in label.assume)


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
        if row.kind in SILENT:
            return
        context = (row.needs, row.not_after, row.not_before, row.only_after, row.only_before)
        for form in row.forms:
            yield (form if row.exact else form.casefold()), row.lang, row.exact, context

    for read in known:
        if read.noun == "term" and getattr(read.row, "kind", "") != "carrier":
            for key in keys(read.row):
                owners.setdefault(key, (getattr(read.row, "feature", ""), "the data that come with the program"))
    for read in rows:
        if read.noun != "term":
            continue
        row: Any = read.row
        if row.kind == "carrier":  # it claims nothing, and keeps shorter words of its own feature from claiming
            continue
        for key in keys(row):
            owner = owners.setdefault(key, (row.feature, read.file))
            if owner[0] != row.feature:
                what = f"'{key[0]}' is claimed by {row.feature} and by {owner[0]} (in {owner[1]})"
                yield Problem(read.file, f"term {row.feature}", f"{what}; say in which context it is meant")


def _also_said(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """Words of one's own that already speak of another feature somewhere: worth knowing, since both are read."""
    owners: dict[tuple[str, str], set[str]] = defaultdict(set)
    for read in known:
        if read.noun == "term" and getattr(read.row, "kind", "") not in SILENT:
            known_row: Any = read.row
            for form in known_row.forms:
                owners[form.casefold(), known_row.lang].add(known_row.feature)
    for read in rows:
        if read.noun != "term":
            continue
        row: Any = read.row
        for form in row.forms:
            others = owners.get((form.casefold(), row.lang), set())
            if others and row.feature not in others and row.kind not in SILENT:
                names = ", ".join(sorted(others))
                yield Problem(
                    read.file, f"term {row.feature}", f"'{form}' already speaks of {names}; both will be read", "note"
                )


def _namesakes(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """A name or alias that another label has too: which of them is meant is then left to the number and the rest."""
    owners: dict[str, str] = {}
    for read in known:
        if read.noun == "label":
            row: Any = read.row
            for name in (row.name, *row.aliases):
                owners.setdefault(name.casefold(), row.name)
    for read in rows:
        if read.noun == "label":
            label: Any = read.row
            for name in (label.name, *label.aliases):
                owner = owners.get(name.casefold())
                if owner and owner.casefold() != label.name.casefold():
                    yield Problem(read.file, read.key, f"'{name}' is a name of the label {owner}, too", "note")


def _filled(rows: Sequence[Read], known: Sequence[Read]) -> Iterator[Problem]:
    """Sentences of one's own that ask for what nobody fills in."""
    texts: dict[str, Any] = {k.row.id: k.row for k in known if k.noun == "phrase"}  # type: ignore[attr-defined]
    for read in rows:
        row: Any = read.row
        if read.noun == "phrase" and row.id in texts:
            try:
                only(row.text, places(texts[row.id].text))
            except ValueError as error:
                yield Problem(read.file, read.key, str(error))


def year_of(date: object) -> int | None:
    """The year of a date that is written YYYY, YYYY-MM or YYYY-MM-DD, or a number."""
    m = re.match(r"\d{4}", str(date)) if date not in (None, "") else None
    return int(m[0]) if m else None


def dossier_problems(label: Label, features: Collection[str] = ()) -> Iterator[tuple[str, Grade]]:
    """What contradicts itself in a label's dossier (errors), and where its eras overlap or leave holes (notes).

    Eras of different channels run side by side, so only eras of one kind are compared. `features` are the known ids.
    """
    for era in label.era:
        if era.basis == "published" and not (era.source or label.source):
            yield f'the {_called(era)} says published and names no source; name it, or say basis = "memory"', "error"
        if _number(era.catalogue_from) > _number(era.catalogue_to) > 0:
            yield f"the {_called(era)} runs from number {era.catalogue_from} down to {era.catalogue_to}", "error"
    for numbers in label.numbers:
        if _number(numbers.first) > _number(numbers.last) > 0:
            yield f"the numbers run from {numbers.first} down to {numbers.last}", "error"
    for plant in label.plants:
        if plant.since and plant.until and plant.since > plant.until:
            yield f"the plant {plant.name or plant.text} pressed from {plant.since} to {plant.until}", "error"
    designs = [(e.design.casefold(), e.channels) for e in label.era if e.design]
    for design, _ in sorted({d for d in designs if designs.count(d) > 1}):
        yield f"two eras have the design '{design}', so that it tells neither from the other", "note"
    for first, second in combinations(label.numbers, 2):
        ends = [(_number(x.first), _number(x.last)) for x in (first, second)]
        same = re.sub(r"[^A-Za-z]", "", first.first) == re.sub(r"[^A-Za-z]", "", second.first)
        same = same and first.channels == second.channels and all(0 < a <= b for a, b in ends)
        if same and ends[0][0] <= ends[1][1] and ends[1][0] <= ends[0][1]:
            yield f"the numbers {first.first} to {first.last} and {second.first} to {second.last} overlap", "note"
    yield from _pressing_problems(label, features)
    lanes: dict[str, list[Era]] = defaultdict(list)
    for era in label.era:
        for lane in re.findall(r"\w+", era.channels.replace(" and ", " ")) or [""]:
            lanes[lane].append(era)
    told = set()
    for eras in lanes.values():
        for found in _lane(eras):
            if found not in told:
                told.add(found)
                yield found, "note"


def _pressing_problems(label: Label, features: Collection[str]) -> Iterator[tuple[str, Grade]]:
    known = {p.id for p in label.pressings}
    for left in label.leftover:
        if left.on and left.on not in known:
            yield f"leftover names the pressing '{left.on}', which is not here", "error"
        if left.printed_until and left.used_until and left.printed_until > left.used_until:
            yield (
                f"leftover '{left.what}' was printed until {left.printed_until} and used until {left.used_until}",
                "error",
            )
    firsts = [p for p in label.pressings if p.id in label.counts_as_first and p.years]
    begin = min((p.years[0] for p in firsts), default=0)
    for pressing in label.pressings:
        if pressing.years and pressing.id not in label.counts_as_first and pressing.years[0] < begin:
            yield f"the pressing '{pressing.id}' is older than those that count as first", "note"
    started = [year for e in label.era if (year := year_of(e.earliest))]
    for pressing in label.pressings:
        if started and len(started) == len(label.era) and pressing.years and pressing.years[0] < min(started):
            yield f"the pressing '{pressing.id}' is older than the first era of the label ({min(started)})", "note"
    for name in label.worth:
        if name not in known:
            yield f"worth names the pressing '{name}', which is not here", "error"
    used = {(part, variant) for p in label.pressings for part, shares in p.uses.items() for variant in shares}
    for part, variants in label.parts.items():
        for variant, shows in variants.items():
            if (part, variant) not in used:
                yield f"no pressing uses {part} '{variant}'", "note"
            for feature in shows:
                if features and feature not in features:
                    yield f"[parts.{part}.{variant}] names the feature {feature}, which does not exist", "error"
    for decider in label.decides:
        if features and decider.feature not in features:
            yield f"decides names the feature {decider.feature}, which does not exist", "error"


def _called(era: Era) -> str:
    return f"era '{era.name or era.design or era.address}'"


def _number(catalogue: str) -> int:
    """The last row of figures in a catalogue number, or 0."""
    found = re.findall(r"\d+", catalogue)
    return int(found[-1]) if found else 0


def _lane(eras: Sequence[Era]) -> Iterator[str]:
    """Eras of one kind of record: which of them overlap in years or numbers, and where none is known."""
    dated = sorted(
        ((year_of(e.earliest) or 0, year_of(e.latest), e) for e in eras if e.earliest),
        key=lambda d: (d[0], d[1] or 9999),
    )
    until: tuple[int, Era] | None = None
    for n, (first, last, era) in enumerate(dated):
        for after, _, following in dated[n + 1 :]:
            apart = {_series(era), _series(following)}
            # Records numbered in series of their own run side by side.
            if last is not None and after < last and not (len(apart) == 2 and "" not in apart):
                yield f"the {_called(era)} ({first} to {last}) and the {_called(following)} (from {after}) overlap"
        if until and first > until[0] + 1:
            yield f"there is a hole from {until[0]} to {first} between the {_called(until[1])} and the {_called(era)}"
        if last is None:
            break
        if until is None or last > until[0]:
            until = last, era
    for one, two in combinations(eras, 2):
        if _series(one) == _series(two) and _share(one, two):
            yield f"the numbers of the {_called(one)} and of the {_called(two)} overlap: both are told of such a record"


def _series(era: Era) -> str:
    return re.sub(r"[^A-Za-z]", "", era.catalogue_from).casefold()


def _share(one: Era, two: Era) -> bool:
    ends = [(_number(e.catalogue_from), _number(e.catalogue_to)) for e in (one, two)]
    return all(0 < low <= high for low, high in ends) and ends[0][0] <= ends[1][1] and ends[1][0] <= ends[0][1]


def summary(problems: Sequence[Problem]) -> Mapping[str, int]:
    """How many of each grade."""
    return {grade: sum(p.grade == grade for p in problems) for grade in ("error", "note")}
