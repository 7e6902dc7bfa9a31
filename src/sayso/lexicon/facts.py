"""Dated facts, the words in a listing that call them up, and the patterns by which such words are judged."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from sayso.lexicon.rows import Row
from sayso.lexicon.tame import tame
from sayso.model import Carrier

Basis = Literal["published", "common practice", "from memory"]


def _date(value: object) -> object:
    """Years may be written as numbers; an empty string means no bound."""
    if isinstance(value, int) and not isinstance(value, bool):
        return f"{value:04d}"
    return None if value == "" else value


def _dated(value: str | None) -> str | None:
    if value is not None:
        import datetime

        try:
            if not re.fullmatch(r"\d{4}(-\d\d){0,2}", value):
                raise ValueError
            datetime.date.fromisoformat(value + "0000-01-01"[len(value) :])
        except ValueError:
            raise ValueError(f"{value!r} is not a date; write YYYY, YYYY-MM or YYYY-MM-DD") from None
    return value


def _pattern(value: str) -> str:
    try:
        re.compile(value)
    except (re.error, OverflowError, RecursionError) as error:
        raise ValueError(f"{value!r} is not a regular expression: {error}") from None
    tame(value)
    return value


def in_order(earliest: str | None, latest: str | None) -> None:
    """Refuse a span that ends before it begins; the coarser of the two precisions decides. Raises `ValueError`."""
    if earliest and latest:
        n = min(len(earliest), len(latest))
        if latest[:n] < earliest[:n]:
            raise ValueError(f"ends ({latest}) before it begins ({earliest})")


DateText = Annotated[str | None, BeforeValidator(_date), AfterValidator(_dated)]
"""`YYYY`, `YYYY-MM` or `YYYY-MM-DD`, at the precision that is known; null: no bound."""
PatternText = Annotated[str, AfterValidator(_pattern)]


class Trigger(Row):
    """Words in a listing that call up a dated fact, and what must and must not stand beside them.

    `patterns` are regular expressions over the listing's words, case folded unless `exact`. A group named `year` gives
    the floor itself (a circled C with its year).
    """

    patterns: tuple[PatternText, ...]
    hints: tuple[str, ...] = ()
    """Small letters, one of which stands in every text that matches; a quick look saves running the patterns."""
    exact: bool = False
    on: tuple[Carrier, ...] = ("label", "jacket", "inner")
    """On which parts the sign can stand. The bound binds that part only; a label or metal floor binds the pressing."""
    default: Carrier | None = None
    """The part meant where the sentence names none (a bar code is on the jacket); null: then nothing follows."""
    disc_default: bool = False
    """The sign says something of the record itself (stereo, quadraphonic); no part need be named."""
    needs: tuple[PatternText, ...] = ()
    """One of these must stand in the same sentence."""
    listing_needs: tuple[PatternText, ...] = ()
    """One of these must stand somewhere in the listing (a word that places the label in a country)."""
    not_near: tuple[PatternText, ...] = ()
    """None of these may stand in the same sentence."""
    listing_not: tuple[PatternText, ...] = ()
    """None of these may stand anywhere in the listing."""
    earliest: DateText = None
    latest: DateText = None
    """Where set, these replace the dates of the fact."""
    hard: bool | None = None
    """Whether the floor can contradict; null: as the fact says. A ceiling never can."""
    not_first: bool = False
    """The sign contradicts a claim to be the first pressing, even where no year is stated."""
    number_from: str | None = None
    number_to: str | None = None
    number_except: tuple[str, ...] = ()
    """Only for catalogue numbers in this range (inclusive), these numbers left out."""
    statement: str = ""
    era: int | None = None
    """For a sign of a label: the number of the era it belongs to, from 1."""
    yes: tuple[str, ...] = ()
    """Listings in which the sign must be found; run as tests."""
    no: tuple[str, ...] = ()
    """Listings in which it must not."""

    @model_validator(mode="after")
    def _in_order(self) -> Trigger:
        in_order(self.earliest, self.latest)
        return self


class Fact(Row):
    """One fact with a date or a measure: what it says, on what basis, by whose word."""

    id: str
    group: str = ""
    kind: Literal["dated", "rule", "measure", "example", "vocabulary", "background"] = "dated"
    sign: str = ""
    """What a seller's words have to speak of, in plain words."""
    carriers: tuple[Carrier, ...] = ()
    earliest: DateText = None
    latest: DateText = None
    hard: bool = False
    """Whether the floor can contradict a seller. A ceiling never does: old stock is used up later."""
    statement: str
    basis: Basis
    source: str
    memory_fields: tuple[str, ...] = ()
    caution: str = ""
    trigger: tuple[Trigger, ...] = ()

    @model_validator(mode="after")
    def _agrees(self) -> Fact:
        in_order(self.earliest, self.latest)
        if self.hard and self.basis == "from memory":
            raise ValueError("what is from memory is never hard; leave hard out, or name who published it")
        for n, trigger in enumerate(self.trigger, 1):
            try:
                in_order(trigger.earliest or self.earliest, trigger.latest or self.latest)
            except ValueError as error:
                raise ValueError(f"trigger {n} {error}") from None
        return self


class Pattern(Row):
    """A set of regular expressions with one use in reading dated signs; `id` names the use."""

    id: str
    patterns: tuple[PatternText, ...]
    exact: bool = False
    value: str | None = None
    note: str = ""


Share = Annotated[float, Field(ge=0, le=1)]
