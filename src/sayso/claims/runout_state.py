"""What is passed along while a run-out string is read."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NoReturn

from sayso.claims.runout_text import unify

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon


TOKEN = re.compile(r"[^\W_]+|\S")


class Frozen(dict[str, Any]):
    """A dictionary that cannot be changed: plain JSON, safe to share."""

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("a parsed run-out cannot be changed")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = _refuse
    __ior__ = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(repr(self))


@dataclass
class Side:
    """One side while it is being read."""

    fields: dict[str, Any]
    soft: set[str] = field(default_factory=set)
    marks: list[str] = field(default_factory=list)

    def put(self, name: str, value: Any, soft: bool = False) -> None:
        """Set a field that is not yet set."""
        if value is not None and self.fields.get(name) is None:
            self.fields[name] = value
            if soft:
                self.soft.add(name)


class Reader:
    """The state of one reading; `done` holds the stretches already understood, `marks` those that are marks."""

    def __init__(self, text: str, lexicon: Lexicon, label: str | None) -> None:
        self.given, self.lexicon, self.label = text, lexicon, label
        self.text = unify(text, lexicon)
        self.done: list[tuple[int, int]] = []
        self.marks: list[tuple[int, int]] = []
        self.bounds: list[Frozen] = []
        self.unusual: dict[tuple[str, str | None], Frozen] = {}

    def remark(self, code: str, side: str | None = None) -> None:
        table = self.lexicon.tables.get("runout_remark")
        text = table.entries.get(code, code) if table else code
        self.unusual.setdefault((code, side), Frozen(code=code, text=text, side=side))

    def bound(self, not_before: str, why: str, hard: bool, source: str) -> None:
        row = Frozen(not_before=not_before, why=why, hard=hard, source=source)
        if row not in self.bounds:
            self.bounds.append(row)

    def free(self, start: int, end: int) -> bool:
        return all(end <= a or start >= b for a, b in self.done)
