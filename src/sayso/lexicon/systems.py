"""How makers build their matrix numbers, as data: patterns, what their parts mean, and the tables they go through."""

from __future__ import annotations

import re
from typing import Any, Literal

from pydantic import Field, field_validator, model_validator

from sayso.lexicon.rows import Row

Basis = Literal["published", "common practice", "memory"]
MACROS = {
    "{d}": "[0-9OI|]",  # a figure, with the letters that sellers type for nought and one
    "{s}": r"[-\s._]{0,3}",
    "{S}": r"[-\s._]{1,3}",
}
"""Short forms inside the patterns of the data."""


def bounded(pattern: str) -> None:
    """Refuse a pattern whose running time is not bounded for every starting point, or that does not compile.

    Data may come from users, and no text may make the program hang: so there is no `*`, `+` or open `{n,}`, no
    repeated group, no back-reference. Raises `ValueError`.
    """
    i, in_class, closed = 0, False, False
    while i < len(pattern):
        c, after_group = pattern[i], closed
        closed = c == ")" and not in_class
        if c == "\\":
            if pattern[i + 1 : i + 2].isdigit() or pattern[i + 1 : i + 2] == "k":
                raise ValueError(f"pattern {pattern!r}: back-references are not allowed")
            i += 2
            continue
        if in_class:
            in_class = c != "]"
        elif c == "[":
            in_class = True
            if pattern[i + 1 : i + 2] == "^":
                i += 1
            if pattern[i + 1 : i + 2] == "]":
                i += 1
        elif c in "*+":
            raise ValueError(f"pattern {pattern!r}: write a bounded repetition such as {{0,9}} instead of {c}")
        elif c == "{" and after_group:
            raise ValueError(f"pattern {pattern!r}: a group must not be repeated")
        elif c == "{":
            found = re.match(r"\{(\d{1,3})(?:,(\d{1,3}))?\}", pattern[i:])
            if not found or int(found[2] or found[1]) > 60:
                raise ValueError(f"pattern {pattern!r}: a repetition needs an upper limit of at most 60")
            i += found.end() - 1
        elif pattern.startswith("(?P=", i):
            raise ValueError(f"pattern {pattern!r}: back-references are not allowed")
        i += 1
    try:
        re.compile(pattern)
    except (re.error, OverflowError) as error:
        raise ValueError(f"pattern {pattern!r} is no regular expression: {error}") from error


class Table(Row):
    """A table that a part of a matrix number goes through, or a list of words.

    `map`: whole key to value. `prefix`: the longest key with which the part begins. `digits`: letters that stand for
    figures. `count`: letters counted like figures without a nought. `dates`: code to the day it came into use.
    `words`: a value and the words for it.
    """

    id: str = Field(min_length=1, pattern=r"^[a-z0-9][a-z0-9_-]*$")
    name: str
    kind: Literal["map", "prefix", "digits", "count", "dates", "words"]
    basis: Basis
    source: str = Field(min_length=1)
    caution: str = ""
    entries: dict[str, Any] = Field(default_factory=dict)
    letters: str = ""
    """For `count`: the letters in order."""
    contested: tuple[str, ...] = ()
    """Keys that sources read differently: never turned into a value."""
    unsafe: tuple[str, ...] = ()
    """Keys that are published but convict nobody."""
    memory_fields: tuple[str, ...] = ()
    """Keys that rest on memory."""
    alone: dict[str, int] = Field(default_factory=dict)
    """For `digits`: the value of a letter that stands by itself, where it differs."""

    @model_validator(mode="after")
    def _shape(self) -> Table:
        values = self.entries.items()
        if self.kind == "count":
            if not self.letters or len(set(self.letters)) != len(self.letters):
                raise ValueError("a table of kind count needs letters, each once")
        elif not self.entries:
            raise ValueError(f"a table of kind {self.kind} needs entries")
        if self.kind == "digits":
            if any(len(k) != 1 or not isinstance(v, int) or not 0 <= v <= 9 for k, v in values):
                raise ValueError("entries of a table of kind digits are single letters with a figure 0 to 9")
            if len({v for _, v in values}) != len(self.entries):
                raise ValueError("two letters of a table of kind digits have the same figure")
        if self.kind == "words":
            for key, forms in values:
                if not isinstance(forms, list | tuple) or not all(isinstance(f, str) and f for f in forms):
                    raise ValueError(f"the words for {key} must be a list of texts")
        if self.kind == "dates":
            for key, value in values:
                if not re.fullmatch(r"\d{4}(-\d\d(-\d\d)?)?", str(value)):
                    raise ValueError(f"the date of {key} must be written YYYY, YYYY-MM or YYYY-MM-DD")
        return self

    def firm(self, key: str) -> bool:
        """Whether this key is published, undisputed and safe enough to bear a hard bound."""
        return self.basis == "published" and not {key} & {*self.contested, *self.unsafe, *self.memory_fields}


class Reading(Row):
    """One field of the result: from a group of the pattern, through a table if one is named, or a fixed value."""

    field: str
    group: str = ""
    table: str = ""
    plus: str = ""
    """A group whose figure is added."""
    add: int = 0
    value: str | int | None = None
    soft: bool = False
    """From memory: shown, never weighed."""
    floor: bool = False
    """The value is a year before which the metal cannot have been made."""
    only_in: str = ""
    """The text of the group counts only where this table knows it."""
    remark: str = ""
    """Key of the remark to make where the table does not know the part."""


class Pattern(Row):
    """One shape of a number. Groups named like fields are fields; those that begin with `x_` only feed readings."""

    regex: str
    kind: Literal["full", "part", "suffix"] = "full"
    """`part`: a number without its cut; `suffix`: only what follows the number ('-1A/-1B')."""
    alone: bool = False
    """Unmistakable: may be read where no label is known."""
    digits: tuple[str, ...] = ()
    """Groups that are figures throughout."""
    squeeze: tuple[str, ...] = ()
    """Groups from which blanks and dashes are dropped."""
    fixed: dict[str, str | int] = Field(default_factory=dict)
    readings: tuple[Reading, ...] = ()
    remark: str = ""

    @field_validator("regex")
    @classmethod
    def _bounded(cls, value: str) -> str:
        probe = re.sub(r"\{table:[a-z0-9_-]+\}", "X", value)
        for macro, expansion in MACROS.items():
            probe = probe.replace(macro, expansion)
        bounded(probe)
        return value


class Slot(Row):
    """What may follow a number: a figure (`mother`) or letters of a code word (`stamper`), in this order."""

    field: str
    kind: Literal["figure", "letters", "group"]
    table: str = ""
    number: str = ""
    """The field that takes the decoded number."""


class Late(Row):
    """From which cut on a remark is made: the program's own setting, not a fact."""

    field: str
    start: int
    remark: str


class Example(Row):
    """A worked example, kept as a test. `basis` says where it comes from."""

    text: str
    gives: tuple[dict[str, Any], ...]
    basis: str


class System(Row):
    """The grammar of one maker's matrix numbers."""

    id: str = Field(min_length=1, pattern=r"^[a-z0-9][a-z0-9_-]*$")
    name: str
    country: str = ""
    labels: tuple[str, ...] = ()
    basis: Basis
    source: str = Field(min_length=1)
    caution: str = ""
    memory_fields: tuple[str, ...] = ()
    about: str = ""
    """How the number is built, in plain words."""
    anonymous: bool = False
    """The shape that any label may use: read where no maker's grammar fits, and reported as no system."""
    number_kind: Literal["project", "catalogue", ""] = ""
    patterns: tuple[Pattern, ...] = Field(min_length=1)
    readings: tuple[Reading, ...] = ()
    slots: tuple[Slot, ...] = ()
    late: tuple[Late, ...] = ()
    marks: tuple[str, ...] = ()
    """Ids of marks that may stand by themselves beside these numbers."""
    tax: bool = False
    """UK tax letters may stand beside it."""
    write: str = ""
    """How a number is written out again; `[…]` is dropped where a field in it is missing."""
    examples: tuple[Example, ...] = ()
