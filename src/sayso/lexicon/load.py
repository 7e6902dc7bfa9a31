"""Finds, reads and merges the data files.

The shipped data lie in `lexicon/` of a checkout and in `sayso/lexicon_data/` of an installed package. The user's own
files (platform configuration folder) and those passed with `--lexicon` are merged over them: a row with an id that is
already known replaces the earlier row whole; rows without an id are added.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, cached_property, lru_cache
from importlib import import_module
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from sayso.lexicon.rows import LexiconError, Row, in_plain_words
from sayso.lexicon.shortform import expand

if TYPE_CHECKING:
    from sayso.lexicon.assumptions import Assumption
    from sayso.lexicon.facts import Fact, Pattern
    from sayso.lexicon.kept import Kept
    from sayso.lexicon.labels import Label
    from sayso.lexicon.marks import Mark
    from sayso.lexicon.profiles import Need, Openness, Profile
    from sayso.lexicon.questions import Letter, Template
    from sayso.lexicon.systems import System, Table
    from sayso.lexicon.terms import Cue, Feature, Manner, Shape, Term, Word, WordClass

T = TypeVar("T")
SECTIONS: Mapping[str, tuple[str, str, str]] = {
    # noun in the files: (module, class, folder of the shipped data; two of them are parted by a blank)
    "feature": ("terms", "Feature", "features"),
    "term": ("terms", "Term", "features"),
    "class": ("terms", "WordClass", "features cues"),
    "shape": ("terms", "Shape", "features"),
    "cue": ("terms", "Cue", "cues"),
    "manner": ("terms", "Manner", "cues"),
    "word": ("terms", "Word", "cues"),
    "fact": ("facts", "Fact", "facts"),
    "pattern": ("facts", "Pattern", "facts"),
    "mark": ("marks", "Mark", "marks"),
    "system": ("systems", "System", "systems"),
    "table": ("systems", "Table", "systems"),
    "label": ("labels", "Label", "labels"),
    "template": ("questions", "Template", "questions"),
    "letter": ("questions", "Letter", "questions"),
    "profile": ("profiles", "Profile", "profiles"),
    "need": ("profiles", "Need", "profiles"),
    "openness": ("profiles", "Openness", "profiles"),
    "phrase": ("profiles", "Phrase", "phrases"),
    "assumption": ("assumptions", "Assumption", "assumptions.toml"),
}


MANY = 1000
"""At most so many files of a folder are read."""
LARGEST = 8_000_000
"""Bytes of one data file."""
TONGUE = "lang_"
"""Files named `lang_XX.toml` hold the words of one language; they are read only for listings in that language."""
_LANGUAGE = re.compile(rf"(?:{TONGUE})?([a-z][a-z])")
NOTES = frozenset({"id", "name", "country", "aliases", "basis", "plants"})
"""The keys of a label that the short form of a collector's notes can give."""


def shipped() -> Path:
    """The folder of the data that come with the program."""
    here = Path(__file__).resolve()
    for candidate in (here.parents[1] / "lexicon_data", here.parents[3] / "lexicon"):
        if candidate.is_dir():
            return candidate
    raise LexiconError("lexicon", "", "the data folder is missing; reinstall sayso")


def _files(root: Path) -> list[Path]:
    if root.is_dir():
        inside = root.resolve()
        found = list(islice(root.rglob("*.toml"), MANY + 1))
        if len(found) > MANY:
            raise LexiconError(root, "", f"more than {MANY} data files; name the folder that holds only yours")
        # A link that leads out of the folder is not followed: data never read files outside their folder. Nor are
        # pipes and devices, which may never end.
        return [p for p in sorted(found) if p.is_file() and p.resolve().is_relative_to(inside)]
    if not root.exists():
        raise LexiconError(root, "", "no such file or folder; check the path given with --lexicon")
    return [root]


def left_out(root: Path) -> list[Path]:
    """What looks like a data file in this folder and is not read: links that lead out of it, pipes, devices."""
    read = set(_files(root)) if root.is_dir() else set()
    return [p for p in sorted(root.rglob("*.toml")) if p not in read and not p.is_dir()] if root.is_dir() else []


def _text(path: Path) -> str:
    """The text of a data file; editors that put a mark for the encoding before it are forgiven."""
    with path.open("rb") as file:
        raw = file.read(LARGEST + 1)
    if len(raw) > LARGEST:
        raise ValueError(f"is larger than {LARGEST // 1_000_000} MB; divide it into several files")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ValueError(f"cannot be read: it is not UTF-8 (byte {error.start + 1}); save it as UTF-8") from error


def _loads(path: Path, raw: str) -> Any:
    if path.suffix == ".json":
        import json

        return json.loads(raw)
    return tomllib.loads(raw)


def parse(path: Path) -> dict[str, list[dict[str, Any]]]:
    """One data file as plain rows by noun. JSON is accepted beside TOML.

    Raises `LexiconError` naming file, key and reason.
    """
    try:
        raw = _text(path)
    except OSError as error:
        raise LexiconError(path, "", f"cannot be read ({error.strerror})") from error
    except ValueError as error:
        raise LexiconError(path, "", str(error)) from error
    try:
        data = _loads(path, raw)
    except ValueError as error:
        raise LexiconError(path, "", f"is not valid {path.suffix[1:].upper() or 'TOML'}: {error}") from error
    except RecursionError as error:
        raise LexiconError(path, "", "holds lists or tables nested too deep; no entry needs that") from error
    if not isinstance(data, dict):
        raise LexiconError(path, "", "must be a table of lists, such as [[term]]")
    try:
        data = expand(data)
    except ValueError as error:
        raise LexiconError(path, "", str(error)) from error
    for noun, rows in data.items():
        if noun not in SECTIONS:
            raise LexiconError(path, noun, f"unknown kind of entry; known are {', '.join(SECTIONS)}")
        if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows):
            raise LexiconError(path, noun, f"must be written as [[{noun}]]")
    return data


def validate(noun: str, raw: dict[str, Any], path: Path, number: int) -> Row:
    """The row as its frozen model. Raises `LexiconError`."""
    module, name, _ = SECTIONS[noun]
    model: type[Row] = getattr(import_module(f"sayso.lexicon.{module}"), name)
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(x) for x in first["loc"])
        named = raw.get("id") or raw.get("name") or number
        key = f"{noun} {named}" + (f", key {where}" if where else "")
        raise LexiconError(path, key, in_plain_words(first["msg"], first["type"])) from error


class Lexicon:
    """All the data, merged; each section is read on first use."""

    def __init__(self, overlays: Sequence[Path] = (), *, base: Path | None = None, keep: bool = False) -> None:
        """With `keep`, what earlier runs made of the same files is fetched rather than made again."""
        self.base = base or shipped()
        self.overlays = tuple(overlays)
        self._made: dict[tuple[Any, ...], Any] = {}
        self._fetched: set[str] = set()
        self._grown: set[str] = set()
        self._kept: Kept | None = None
        if keep:
            from sayso.lexicon.kept import kept_of

            self._kept = kept_of(path for root in (self.base, *self.overlays) for path in _files(root))
        if self._kept is None or not self._kept.folder.is_dir():
            self._extra  # noqa: B018 (a fault in the user's own files is told at once)

    @cached_property
    def _extra(self) -> dict[str, list[tuple[Path, int, dict[str, Any]]]]:
        """The rows of the files laid over the shipped ones, by noun."""
        extra: dict[str, list[tuple[Path, int, dict[str, Any]]]] = {noun: [] for noun in SECTIONS}
        for root in self.overlays:
            for path in _files(root):
                for noun, rows in parse(path).items():
                    extra[noun] += [(path, n, row) for n, row in enumerate(rows, 1)]
        if extra["assumption"]:
            self._known_assumptions(extra["assumption"])
        return extra

    def _known_assumptions(self, own: Iterable[tuple[Path, int, dict[str, Any]]]) -> None:
        """A number under a name that nothing reads would change nothing, and nobody would notice."""
        from difflib import get_close_matches

        known = [
            row.get("id") for path in _files(self.base / "assumptions.toml") for row in _parsed(path)["assumption"]
        ]
        for path, _, row in own:
            name = str(row.get("id"))
            if known and name not in known:
                near = get_close_matches(name, [str(k) for k in known], 1)
                meant = f"; did you mean {near[0]}?" if near else "; the names are in lexicon/assumptions.toml"
                raise LexiconError(path, f"assumption {name}", f"there is no assumption of this name{meant}")

    def made(self, key: tuple[Any, ...], make: Callable[[], T]) -> T:
        """What `make` makes of these data, once; `key` names it, with the language it belongs to if to one alone."""
        if key not in self._made:
            part = _part(key)
            if self._kept is not None and part not in self._fetched:
                self._fetched.add(part)
                self._made.update(self._kept.part(part, self))
            if key not in self._made:
                self._made[key] = make()
                self._grown.add(part)
        value: T = self._made[key]
        return value

    def keep(self) -> None:
        """Keeps for later runs what was made in this one; does nothing where that is turned off."""
        if self._kept is not None:
            for part in sorted(self._grown):
                self._kept.write(part, {k: v for k, v in self._made.items() if _part(k) == part}, self)
        self._grown.clear()

    def _raw(self, noun: str, stem: str | None = None) -> Iterable[tuple[Path, int, dict[str, Any]]]:
        folders = [f for name in SECTIONS[noun][2].split() if (f := self.base / name).exists()]
        if folders:
            for path in [path for folder in folders for path in _files(folder)]:
                if path.stem != stem if stem is not None else path.stem.startswith(TONGUE):
                    continue
                for n, row in enumerate(_parsed(path).get(noun, ()), 1):
                    yield path, n, row
        if stem is None or not stem.startswith(TONGUE):
            yield from self._extra[noun]

    def rows(self, noun: str, stem: str | None = None) -> tuple[Any, ...]:
        """The rows of one noun in order of reading, later ids replacing earlier ones in place.

        With `stem`, of the shipped files only those of that name: the questions of one language need not wait for the
        others.
        """
        return self.made(("rows", noun, stem), lambda: self._rows(noun, stem))

    def _rows(self, noun: str, stem: str | None) -> tuple[Any, ...]:
        kept: dict[object, Row] = {}
        for path, n, raw in self._raw(noun, stem):
            row = validate(noun, raw, path, n)
            key = getattr(row, "id", None) or object()
            if (
                key in kept
                and noun == "label"
                and row.model_fields_set <= NOTES
                and not kept[key].model_fields_set <= NOTES
            ):
                continue  # a few notes on a label do not replace its history
            if noun == "phrase" and key in kept:
                _fills(path, kept[key], row)
            kept[key] = row
        return tuple(kept.values())

    @cached_property
    def features(self) -> dict[str, Feature]:
        return {f.id: f for f in self.rows("feature")}

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The terms in the files, those that the user's own dossiers teach, and the lines on known labels."""
        return self.made(("terms",), self._terms)

    def _terms(self) -> tuple[Term, ...]:
        from sayso.lexicon.dossier_terms import line_terms, terms_of

        rows: tuple[Term, ...] = self.rows("term")
        rows = (*rows, *line_terms(row for _, _, row in self._raw("label")))
        own = [row for _, _, row in self._extra["label"] if row.get("parts")]
        return (*rows, *terms_of(own, rows)) if own else rows

    @cached_property
    def cues(self) -> tuple[Cue, ...]:
        return self.rows("cue")

    @cached_property
    def words(self) -> tuple[Word, ...]:
        return self.rows("word")

    @cached_property
    def manners(self) -> tuple[Manner, ...]:
        return self.rows("manner")

    @cached_property
    def shapes(self) -> tuple[Shape, ...]:
        return self.rows("shape")

    def classes(self, language: str | None = None) -> tuple[WordClass, ...]:
        """The classes of words that shapes are put together from: those of every listing, or of one language alone."""
        return self.rows("class", f"{TONGUE}{language}" if language else None)

    def tongue(self, language: str) -> tuple[tuple[Term, ...], tuple[Cue, ...], tuple[Word, ...]]:
        """The terms, cues and words of one language, beyond those that are read in every listing."""
        stem = f"{TONGUE}{language}"
        return self.rows("term", stem), self.rows("cue", stem), self.rows("word", stem)

    @cached_property
    def facts(self) -> dict[str, Fact]:
        return {f.id: f for f in self.rows("fact")}

    @cached_property
    def patterns(self) -> dict[str, Pattern]:
        return {p.id: p for p in self.rows("pattern")}

    @cached_property
    def marks(self) -> dict[str, Mark]:
        return {m.id: m for m in self.rows("mark")}

    @cached_property
    def systems(self) -> dict[str, System]:
        return {s.id: s for s in self.rows("system")}

    @cached_property
    def tables(self) -> dict[str, Table]:
        return {t.id: t for t in self.rows("table")}

    @cached_property
    def labels(self) -> dict[str, Label]:
        return {x.id: x for x in self.rows("label")}

    @cached_property
    def templates(self) -> dict[str, Template]:
        return {t.id: t for t in self.rows("template")}

    def questions(self, language: str) -> tuple[Template, ...]:
        """The templates of questions in one language."""
        return self.made(
            ("questions", language), lambda: tuple(t for t in self.rows("template", language) if t.lang == language)
        )

    def letter(self, language: str) -> Letter | None:
        """What stands around the questions of one language; null where there is no such language."""
        return next((x for x in self.rows("letter", language) if x.id == language), None)

    @cached_property
    def profiles(self) -> dict[str, Profile]:
        return {p.id: p for p in self.rows("profile")}

    @cached_property
    def needs(self) -> tuple[Need, ...]:
        return self.rows("need")

    @cached_property
    def openness(self) -> dict[str, Openness]:
        return {o.id: o for o in self.rows("openness")}

    @cached_property
    def phrases(self) -> dict[str, str]:
        return {p.id: p.text for p in self.rows("phrase")}

    @cached_property
    def assumptions(self) -> dict[str, Assumption]:
        return {a.id: a for a in self.rows("assumption")}


def _part(key: tuple[Any, ...]) -> str:
    """The language to which what bears this name belongs, or what every listing needs."""
    found = (_LANGUAGE.fullmatch(x) for x in key if isinstance(x, str))
    return next((m[1] for m in found if m), "all")


def _fills(path: Path, known: Any, own: Any) -> None:
    """Raises `LexiconError` where a sentence of one's own asks for what nobody fills in."""
    from sayso.lexicon.places import only, places

    try:
        only(own.text, places(known.text))
    except ValueError as error:
        raise LexiconError(path, f"phrase {own.id}", str(error)) from error


@cache
def _parsed(path: Path) -> dict[str, list[dict[str, Any]]]:
    return parse(path)


@lru_cache(maxsize=8)
def _load(overlays: tuple[Path, ...]) -> Lexicon:
    lexicon = Lexicon(overlays, keep=True)
    _LOADED.append(lexicon)
    return lexicon


_LOADED: list[Lexicon] = []


def keep_loaded() -> None:
    """Keeps for later runs what this one made of the lexicons it loaded. Called when all else is done."""
    for lexicon in _LOADED:
        lexicon.keep()


def user_folder() -> Path:
    """Where a user's own data files lie; it need not exist."""
    import platformdirs

    return platformdirs.user_config_path("sayso") / "lexicon"


def load_lexicon(overlays: Iterable[Path | str] = (), *, user: bool = True) -> Lexicon:
    """The shipped lexicon, the user's own folder over it (unless `user` is false), and `overlays` over both, in order.

    Overlays are files or folders. Raises `LexiconError` for a damaged file.
    """
    own = user_folder() if user else None
    return _load((*((own,) if own and own.is_dir() else ()), *(Path(p) for p in overlays)))
