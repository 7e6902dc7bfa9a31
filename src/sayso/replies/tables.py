"""Answers set out under heads: rows of a table, 'sign -> none'. The head says which question is meant."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import cast

from sayso.model import Side
from sayso.replies.topics import Topics
from sayso.replies.words import Forms

_ARROW = re.compile(r"^[ \t*•-]*(\S[^\n]{1,48}?)[ \t]*(?:->|=>|-->|→|⇒)[ \t]*(\S[^\n]*)$", re.MULTILINE)
_GAP = re.compile(r"[ ]{2,}|\t+")
_RULE = re.compile(r"[\s|+:=_-]*")
"""A line of a table that only draws."""
LONGEST_HEAD = 50


@dataclass(frozen=True)
class Cell:
    """An answer by offsets into the reply, the question its head means, and the side its column is headed with."""

    start: int
    end: int
    head: tuple[int, int]
    question: int
    side: Side | None = None


def cells(reply: str, topics: Topics, forms: Forms) -> list[Cell]:
    """The answers under heads that fit a question, in order. Pure."""
    out = [c for c in (_arrow(m, topics) for m in _ARROW.finditer(reply)) if c is not None]
    for rows in _tables(reply):
        out += _of_table(reply, rows, topics, forms)
    return sorted(out, key=lambda c: c.start)


def _arrow(m: re.Match[str], topics: Topics) -> Cell | None:
    question = _meant(m.group(1), topics)
    return Cell(*m.span(2), m.span(1), question) if question is not None else None


def _meant(head: str, topics: Topics) -> int | None:
    fits = [f for f in topics.fit(head) if f.sure or f.score >= 1.0]
    return fits[0].question if fits else None


def _tables(reply: str) -> Iterator[list[list[tuple[int, int]]]]:
    """Runs of at least two lines that are parted into as many cells, by strokes, tabs or wide gaps."""
    run: list[list[tuple[int, int]]] = []
    at = 0
    for line in [*reply.split("\n"), ""]:
        row = _row(line, at)
        at += len(line) + 1
        if row is None and line.strip() and _RULE.fullmatch(line):
            continue
        # A head line may lack the cell over the heads of the rows.
        if row is not None and (not run or len(row) == len(run[-1]) or (len(run) == 1 and len(row) == len(run[0]) + 1)):
            run.append(row)
            continue
        if len(run) >= 2:
            yield run
        run = [row] if row is not None else []


def _row(line: str, at: int) -> list[tuple[int, int]] | None:
    if line.count("|") >= 1:
        parts = [(m.start(), m.end()) for m in re.finditer(r"[^|]+", line)]
    else:
        cuts = [0, *(x for m in _GAP.finditer(line.rstrip()) for x in m.span()), len(line.rstrip())]
        parts = list(zip(cuts[::2], cuts[1::2], strict=True))
    row = []
    for a, b in parts:
        text = line[a:b]
        if re.search(r"\w", text):
            lead = len(text) - len(text.lstrip())
            row.append((at + a + lead, at + a + len(text.rstrip())))
    return row if len(row) >= 2 else None


def _of_table(reply: str, rows: Sequence[Sequence[tuple[int, int]]], topics: Topics, forms: Forms) -> Iterator[Cell]:
    first = rows[0]
    width = max(len(r) for r in rows)
    heads = list(first) if len(first) < width else list(first[1:])
    sides = [_side(reply[a:b], forms) for a, b in heads]
    body = rows[1:] if all(sides) else rows
    if not all(sides):
        sides = [None] * (width - 1)
    for row in body:
        key, *answers = row
        if key[1] - key[0] > LONGEST_HEAD or len(row) != width:
            continue
        question = _meant(reply[key[0] : key[1]], topics)
        if question is None:
            continue
        for (a, b), side in zip(answers, sides, strict=True):
            yield Cell(a, b, key, question, side)


def _side(text: str, forms: Forms) -> Side | None:
    hit = forms.starts("reply_side", text) or forms.starts("reply_side", f"{text}:")
    return cast(Side, hit.value) if hit is not None and hit.end >= len(text.strip()) - 1 else None
