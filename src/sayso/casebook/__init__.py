"""The casebook: what was said when. SQLite, one file; nothing is kept unless asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from sayso.casebook.book import Case, Casebook, Event
    from sayso.casebook.store import CasebookError

_HOME = {"Case": "book", "Casebook": "book", "Event": "book", "CasebookError": "store"}
__all__ = ["Case", "Casebook", "CasebookError", "Event", "open_casebook"]


def open_casebook(path: Path | str | None = None, *, create: bool = True) -> Casebook:
    """The casebook at `path`, else at SAYSO_CASEBOOK, else in the platform's data folder.

    Without `create` a casebook that does not exist is an error. Raises `CasebookError`, one line saying what to do.
    """
    from sayso.casebook.book import Casebook
    from sayso.casebook.store import usual_path

    return Casebook(usual_path(path), create=create)


def __getattr__(name: str) -> object:
    """Import a part when it is first asked for."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"sayso.casebook.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
