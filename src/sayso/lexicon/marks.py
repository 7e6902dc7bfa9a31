"""Marks in the dead wax and on the label: whose they are, what they prove, how sellers write them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal

from pydantic import Field, field_validator, model_validator

from sayso.lexicon.rows import Row
from sayso.lexicon.systems import bounded

MarkKind = Literal["plant", "cutting", "plating", "pressing-code"]
Basis = Literal["published", "common practice", "memory"]
INITIALS = 3
"""So few letters may be anybody's."""


class Mark(Row):
    """One mark of one maker.

    `earliest` and `latest` are years that bound the use of the mark on new metal or labels. A cutting or plating mark
    stays on the metal, so its `latest` never bounds a pressing.
    """

    id: str = Field(min_length=1, pattern=r"^[a-z0-9][a-z0-9-]*$")
    name: str
    """The mark in a buyer's words: the value of a claim that names it."""
    kind: MarkKind
    who: str
    proves: str
    form: str
    """What it looks like."""
    method: str
    country: str
    earliest: int | None = Field(default=None, ge=1877, le=2100)
    latest: int | None = Field(default=None, ge=1877, le=2100)
    basis: Basis
    sources: int = Field(ge=0)
    source: str = Field(min_length=1)
    caution: str = ""
    memory_fields: tuple[str, ...] = ()
    """Fields of a published mark that nobody was found to publish; `all` for a mark from memory."""
    unsafe: tuple[str, ...] = ()
    """Fields that are published but too uncertain to convict anybody: a question at most."""
    written_as: tuple[str, ...] = ()
    where: Literal["run-out", "label"] = "run-out"
    ordinary: bool = False
    """Spelt like an ordinary word or letter: read only beside a run-out (or label) cue, and in the right case."""
    weak: bool = False
    """Shares its form with a mark that is far commoner; reported, but does not blur the commoner reading."""
    read_by: Literal["words", "grammar"] = "words"
    """`grammar`: part of a matrix number, and read only by the grammar of its maker."""
    says: tuple[str, ...] = ()
    """Described forms, case folded: `[x]` may be missing, `a|b` is either word, `<circle>` any word of that class in
    the table `mark_words`, `~` up to three small words."""
    letters: tuple[str, ...] = ()
    """Transcribed forms, in exactly this case."""
    patterns: tuple[str, ...] = ()
    """Regular expressions over the text in capitals with its signs unified; every repetition must be bounded."""
    labels: tuple[str, ...] = ()
    """Labels known to use it; an ordinary form is given a meaning only on these."""
    gives: dict[str, str] = Field(default_factory=dict)
    """What it settles, by the field names of a parsed run-out (`plant`, `plating`, `cut_at`, `engineer`, ...)."""

    @field_validator("patterns")
    @classmethod
    def _bounded(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for pattern in value:
            bounded(pattern)
        return value

    @model_validator(mode="after")
    def _agrees(self) -> Mark:
        if self.earliest and self.latest and self.earliest > self.latest:
            raise ValueError(f"earliest {self.earliest} is after latest {self.latest}")
        if self.basis == "memory" and "all" not in self.memory_fields:
            raise ValueError('basis is memory, so memory_fields must be ["all"]')
        if self.read_by == "words" and not (self.says or self.letters or self.patterns):
            raise ValueError("nothing to recognise it by: give says, letters or patterns")
        return self

    def from_memory(self, field: str) -> bool:
        """Whether this field rests on memory alone."""
        return self.basis == "memory" or bool({"all", field} & set(self.memory_fields))

    @property
    def hard_floor(self) -> int | None:
        """The year before which the mark cannot have been made, where that is published and safe; else None."""
        if self.from_memory("earliest") or "earliest" in self.unsafe:
            return None
        return self.earliest

    def is_theirs(self, written: str, labels: Collection[str]) -> bool:
        """Whether what is seen is this maker's mark beyond doubt on these labels, so that its first year binds.

        Plain letters and pictures are used by many: they are a maker's only on the labels that he is known to have
        made, and a few letters with no label to hold them to are never more than a hint.
        """
        if not self.ordinary:
            return True
        if not self.labels:
            return sum(c.isalnum() for c in written) > INITIALS
        return bool({*labels} & {*self.labels})
