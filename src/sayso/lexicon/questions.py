"""Templates of questions and of the letter around them."""

from __future__ import annotations

from typing import Literal

from pydantic import field_validator

from sayso.lexicon.places import only
from sayso.lexicon.rows import Row

QUOTES = ("quote", "quote2", "quote3", "quote4")


class Template(Row):
    """One question, in one language.

    `features` are what an honest answer settles: all of them must be open for the template to be used. `when` is the
    case it is worded for: `open`, `hedged` (said with doubt: the seller's words are quoted back), `bare` (mentioned
    without its value), `conflicting` (two statements are quoted back), `dates` (a sign later than the year claimed) or
    `sealed` (nobody can look inside). {quote} and {quote2} stand for the seller's words, {mark} for the sign a dossier
    says decides.
    """

    id: str
    lang: str
    features: tuple[str, ...]
    when: Literal["open", "hedged", "bare", "conflicting", "dates", "sealed"] = "open"
    zone: Literal["label", "dead wax", "edge", "jacket", "inner", "playing surface", "words"]
    text: str
    pointed: str = ""
    """A wording that names what is hoped for; the open one is used where this is empty."""
    pointed_mark: str = ""
    """As `pointed`, where a dossier names the sign: {mark}."""

    @field_validator("text", "pointed")
    @classmethod
    def _quotes(cls, value: str) -> str:
        return only(value, QUOTES)

    @field_validator("pointed_mark")
    @classmethod
    def _mark(cls, value: str) -> str:
        return only(value, ("mark",))


class Letter(Row):
    """What stands around the questions of one language."""

    id: str
    """The language."""
    greeting: str
    opening: str
    opening_one: str
    """The opening before a single question."""
    greeting_again: str = ""
    """The greeting of a message that follows an earlier one; the usual one where empty."""
    opening_again: str = ""
    """The opening of a message that follows an earlier one, answered or not; the usual one where empty."""
    quoting: str = ""
    """What comes before a question about something said with doubt: {quote}."""
    between: str = " "
    """What stands between two sentences."""
    thanks: str
    signature: str = ""
    ring: str = ""
    """How wide the blank ring is on a record of known size, where the line for it has {ring}: {width} in mm, {size}."""
    zones: dict[str, str]
    """The line that introduces the questions to be answered at one place."""
    template_label: str
    """Opening of a message about any record of one label: {label}."""
    template_any: str

    @field_validator("quoting")
    @classmethod
    def _quote(cls, value: str) -> str:
        return only(value, ("quote",))

    @field_validator("ring")
    @classmethod
    def _ring(cls, value: str) -> str:
        return only(value, ("width", "size"))

    @field_validator("zones")
    @classmethod
    def _zones(cls, value: dict[str, str]) -> dict[str, str]:
        for text in value.values():
            only(text, ("ring",))
        return value

    @field_validator("template_label")
    @classmethod
    def _label(cls, value: str) -> str:
        return only(value, ("label",))
