"""The casebook as JSON Lines, a line a case (`sayso.case/1`), and back without loss."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator

from pydantic import ValidationError

from sayso.casebook.book import Case
from sayso.casebook.store import CasebookError

SCHEMA = "sayso.case/1"


def to_line(case: Case) -> str:
    """One case as one line of JSON, in ASCII so that no character is lost on the way."""
    return json.dumps({"schema": SCHEMA, **case.model_dump(mode="json")})


def from_lines(lines: Iterable[str]) -> Iterator[Case]:
    """The cases of an export. Raises `CasebookError` naming the line that cannot be read."""
    for n, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            data = json.loads(line)
            if not isinstance(data, dict) or data.pop("schema", None) != SCHEMA:
                raise CasebookError(f"line {n} is no case of the form {SCHEMA}; is this an export of a casebook?")
            yield Case.model_validate(data)
        except (ValueError, RecursionError) as error:
            what = error.errors()[0]["msg"] if isinstance(error, ValidationError) else str(error)
            raise CasebookError(f"line {n} cannot be read ({what}); nothing was imported") from None
