"""The common ground of every row of data: frozen, closed, with an id and a way to say what is wrong with it."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel, ConfigDict


class Row(BaseModel):
    """One entry of the lexicon. Unknown keys are refused, so that a misspelt key is never silently ignored."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class LexiconError(Exception):
    """A faulty data file. One line: file, key, what is wrong; the message is fit to be shown to a user."""

    def __init__(self, file: Path | str, key: str, reason: str) -> None:
        self.file, self.key, self.reason = str(file), key, reason
        super().__init__(f"{file}: {key}: {reason}" if key else f"{file}: {reason}")


def in_plain_words(message: str, kind: str) -> str:
    """What pydantic says, in words for somebody who writes a data file."""
    if kind == "extra_forbidden":
        return "unknown key; check its spelling"
    if kind == "missing":
        return "this key is missing"
    return message.removeprefix("Value error, ")
