"""What intake says when something cannot be read."""

from __future__ import annotations


class IntakeError(Exception):
    """Input that cannot be audited. The message is one line, says what to do, and is fit to be shown to a user."""
