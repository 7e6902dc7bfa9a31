"""Placeholder until the schema of a dossier is settled."""

from __future__ import annotations

from pathlib import Path


def form(name: str, folder: Path) -> str:
    """A dossier to fill in."""
    raise NotImplementedError
