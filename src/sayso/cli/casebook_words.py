"""What the commands of the conversation do alike: naming a case, reading pasted words, the casebook's faults."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sayso.cli import Fault


def case_number(given: str) -> int:
    """The number of a case, as given. Raises `Fault`."""
    if not re.fullmatch(r"[0-9]{1,15}", given):
        raise Fault(f"{given!r} is no case; give its number, as `sayso cases list` shows it")
    return int(given)


def words(file: str, what: str) -> str:
    """Words from a file, a pipe (`-`) or the keyboard. Raises `Fault`."""
    from sayso.cli import shared
    from sayso.intake.decode import LIMIT, decode, refuse_size

    with shared.plain_faults():
        data, name = shared._bytes(file, LIMIT)
        refuse_size(len(data), LIMIT, name or what)
        text, _ = decode(data, name or what)
    if not text.strip("\ufeff \t\r\n\x00"):
        raise Fault(f"{what} is empty; paste it, or name a file that holds it")
    return text


@contextmanager
def casebook_faults() -> Iterator[None]:
    """Turns the casebook's errors, and those of listings and data, into `Fault`."""
    from sayso.casebook import CasebookError
    from sayso.cli import shared

    with shared.plain_faults():
        try:
            yield
        except CasebookError as error:
            raise Fault(" ".join(str(error).split())) from error


def folder_of_own_data() -> Path:
    """Where data of the user's own lie."""
    from sayso.lexicon.load import user_folder

    return user_folder()
