"""Assumption rows: the numbers behind the odds and the advice, each with its range and its reason."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from sayso.lexicon.rows import Row


class Assumption(Row):
    """One number that nobody has measured.

    `value` is used for the answer; the odds are worked out again over `low` to `high`, and the answer carries that
    range.
    """

    id: str
    value: float
    low: float
    high: float
    what: str
    """What the number is, fit to stand after 'It depends most on'."""
    why: str
    """Why this value and this range."""
    of: Literal["odds", "decision", "general"] = "odds"
    """What it bears on: the odds (and so the advice), only what to do about them, or the odds without a dossier."""
    most: float = Field(default=1.0, exclude=True)
    """The largest value that makes sense; 1 for probabilities and shares."""

    @model_validator(mode="after")
    def _ordered(self) -> Assumption:
        if not 0 <= self.low <= self.value <= self.high:
            raise ValueError("must have 0 <= low <= value <= high")
        if self.high > self.most:
            raise ValueError(f"high must not exceed {self.most:g}; chances and shares lie between 0 and 1")
        return self
