"""What passes between the parts of a review: a raw row going in, a finished one coming out. All of it pickles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Raw:
    """One row of the input before it is read: a record, or the path of a file; or what was wrong with it.

    `number` is the row as a spreadsheet or editor counts it (the head of a table is row 1); 0 for a whole file.
    """

    source: str
    number: int
    record: Mapping[str, Any] | None = None
    path: str | None = None
    data: bytes | None = None
    problem: str = ""


@dataclass(frozen=True)
class Settings:
    """How every row is to be audited: the same for all, and complete, so that any process can do it."""

    lexicon: tuple[str, ...] = ()
    options: Mapping[str, Any] = field(default_factory=dict)
    max_bytes: int = 2_000_000
    currency: str | None = None
    """The currency of prices that name none."""
    encoding: str | None = None
    want_json: bool = True
    want_packed: bool = False
    want_summary: bool = False


@dataclass(frozen=True)
class Summary:
    """What the ranking needs of one audit; small, whatever the size of the listing."""

    id: str
    title: str
    verdict: str
    score: float
    reason: str
    question: str
    message: str
    price: str
    currency: str
    url: str
    seller: str
    record: str
    """Key of the record on offer: copies of one title share it."""
    title_key: str
    """The telling words of the title, sorted."""
    print_: str
    """Fingerprint of the words: the same listing twice has the same one."""
    words: str
    """The folded words, cut, for comparing near duplicates."""
    says: tuple[tuple[str, str, str], ...] = ()
    """(feature, state, value) of what tells pressings apart."""
    ceiling: str = ""
    clash: bool = False
    """True where the words contradict themselves or the dated facts."""
    silent: bool = False
    """True where something decisive is not spoken of."""


@dataclass(frozen=True)
class Done:
    """One row after the audit: its JSON line, its summary, or the reason why there is neither."""

    source: str
    number: int
    json: bytes | None = None
    """The audit as one line of UTF-8, without the end of the line."""
    summary: Summary | None = None
    problem: str = ""
    packed: bytes | None = None
    """The same line, compressed, to be kept until the ranking is written."""

    @property
    def where(self) -> str:
        """The place of the row, in words."""
        return f"{self.source}, row {self.number}" if self.number else self.source
