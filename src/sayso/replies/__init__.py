"""A seller's reply: which words answer which question, what they say, and what that changes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.replies.align import align
    from sayso.replies.answers import answer_reply
    from sayso.replies.nouns import Asked, Reply, ReplyError

_HOME = {"align": "align", "answer_reply": "answers", "Asked": "nouns", "Reply": "nouns", "ReplyError": "nouns"}
__all__ = ["Asked", "Reply", "ReplyError", "align", "answer_reply"]


def __getattr__(name: str) -> object:
    """Import a part when it is first asked for."""
    if name in _HOME:
        from importlib import import_module

        return getattr(import_module(f"sayso.replies.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
