"""Keeps expressions in data files from running away: data may come from anybody, and no listing may hang us."""

from __future__ import annotations

import re

FEW = 5
"""A group that repeats inside may itself be repeated this often: then the work stays a small power of the length."""
_COUNT = re.compile(r"\{(\d*)(?:(,)(\d*))?\}")


def tame(pattern: str) -> None:
    """Refuse an expression in which what repeats without end stands in a group that repeats again ('(a+)+').

    Such a one can take longer than the age of the world over a short text. Raises `ValueError`.
    """
    inside = [False]  # for each open group: whether something in it repeats without end
    wild = False  # whether the group that has just been closed holds such a thing
    closed = in_class = False
    i = 0
    while i < len(pattern):
        c = pattern[i]
        was_closed, closed = closed, False
        if c == "\\":
            i += 2
            continue
        if in_class:
            in_class = c != "]"
        elif c == "[":
            in_class = True
            i += pattern[i + 1 : i + 2] == "^"
            i += pattern[i + 1 : i + 2] == "]"
        elif c == "(":
            inside.append(False)
        elif c == ")" and len(inside) > 1:
            wild, closed = inside.pop(), True
            inside[-1] = inside[-1] or wild
        else:
            most, width = _repeats(pattern, i)
            if width:
                if was_closed and wild and most > FEW:
                    raise ValueError(f"pattern {pattern!r}: what repeats must not stand in a group that repeats again")
                inside[-1] = inside[-1] or most > 60
                i += width - 1
        i += 1


def _repeats(pattern: str, i: int) -> tuple[float, int]:
    """How often at most the thing before is repeated by what stands at `i`, and how many characters say so."""
    if pattern[i] in "*+":
        return float("inf"), 1
    if pattern[i] == "{" and (m := _COUNT.match(pattern, i)) and (m[1] or m[3]):
        most = (float(m[3]) if m[3] else float("inf")) if m[2] else float(m[1])
        return most, m.end() - i
    return 0, 0
