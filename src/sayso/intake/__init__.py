"""Anything a buyer can paste → `Listing`: text, pages, records, tables, encodings, money."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.intake.errors import IntakeError
    from sayso.intake.page import read_html
    from sayso.intake.paste import read_any, read_file
    from sayso.intake.record import read_record
    from sayso.intake.text import read_text

_HOME = {
    "IntakeError": "errors",
    "read_any": "paste",
    "read_file": "paste",
    "read_html": "page",
    "read_record": "record",
    "read_text": "text",
}
__all__ = ["IntakeError", "read_any", "read_file", "read_html", "read_record", "read_text"]


def __getattr__(name: str) -> object:
    """Import a reader when it is first asked for: plain text must not pay for the HTML parser."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"sayso.intake.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
