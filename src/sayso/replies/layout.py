"""The outer shape of a pasted reply: quoted questions, numbers in front of lines, sentences.

A question counts as quoted where its words stand in the reply, with or without '>' before them, also with the answer
typed in between.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from sayso.replies.nouns import Asked

_WORD = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]|[^\W_]+(?:['’][^\W_]+)*")
_PREFIX = re.compile(r"[ \t]*(?:[>»|]+[ \t]*)+")
# A stop and a space, a full-width stop, a line end.
_END = re.compile(r"(?<=[.!?…])[\"'”’)\]]*\s+(?=\S)|(?<=[\u3002\uff01\uff1f])|\n+")
# Not the end of a sentence: a short form, a lone letter (but not the last of letters spelt out), a number in a list.
_SHORT = re.compile(
    r"(?<![\w'’])(?:St|Ave|No|Nr|Mr|Mrs|Dr|Co|Inc|Ltd|vs|ca|z\.\s?B|d\.\s?h|approx|vol|pp|e\.g|i\.e|tel|rd)\.\s*$"
    r"|(?<![\w'’/.-])(?<!\w )[A-Za-z]\.\s*$"
    r"|(?:^|[\n;,.!?])\s*\d{1,2}\.\s*$|(?<!\w)[^\W\d]{2,3} \d{1,2}\.\s*$",
    re.IGNORECASE,
)
_ASKS = re.compile(r"[ \t\"'”’)]*(?:[?\uff1f:=/|]|->|[-–—]\s|→|\n|$)")
"""What stands behind a question that is repeated: its mark, a line end, a sign before the answer."""
SHORT = 6
"""A question of so few words is also said in an answer; it counts as repeated only with such a sign behind it."""
RUN = 4
"""So many words in a row count as quoted from a question; fewer where they are all of it or the tail of a run."""
RUN_CJK = 10
NEAR = 25
"""A short run counts only within so many words of a long one of the same question."""
Run = tuple[int, int, int, bool]
"""First word, past the last word, question, whether the end of the question is reached."""


@dataclass(frozen=True)
class Piece:
    """A stretch of the reply: the buyer's own words (`question` says whose), or the seller's."""

    start: int
    end: int
    quoted: bool
    question: int | None = None
    whole: bool = False
    """The quoted words reach the end of the question."""


@dataclass(frozen=True)
class Word:
    """A word of the reply."""

    start: int
    end: int
    fold: str


def words_of(text: str) -> list[Word]:
    """The words of a text; each character of Japanese script is a word of its own."""
    return [Word(m.start(), m.end(), m.group().casefold().replace("’", "'")) for m in _WORD.finditer(text)]


def quoted_spans(reply: str, asked: Sequence[Asked]) -> list[Piece]:
    """Where the reply repeats the words of questions, in order and without overlap."""
    words = words_of(reply)
    folds = [w.fold for w in words]
    found: list[tuple[int, int, int, int, bool]] = []  # (length, first word, past the last, question, its end reached)
    for question in asked:
        theirs = [w.fold for w in words_of(question.text)]
        if len(theirs) < 2:
            continue
        matcher = SequenceMatcher(None, theirs, folds, autojunk=False)
        blocks = [b for b in matcher.get_matching_blocks() if b.size]
        whole = len(theirs)
        cjk = sum(len(t) == 1 and not t.isascii() for t in theirs) > whole / 2
        least = RUN_CJK if cjk else RUN
        covered = sum(b.size for b in blocks if b.size >= 2)
        # An answer may repeat the middle of a question ('a ring pressed into the label'). It is quoted where a sentence
        # of it is repeated from its first word, or nearly all of it is, or quote signs stand before it.
        heads = _heads(question.text)
        anchors = [
            b
            for b in blocks
            if b.size == whole
            or (b.size >= least and (b.a in heads or covered >= 0.85 * whole or _signed(reply, words[b.b].start)))
        ]
        if whole <= SHORT:
            anchors = [b for b in anchors if _asks(reply, words[b.b].start, words[b.b + b.size - 1].end)]
        longest = max((b.size for b in anchors), default=0)
        if not anchors or (covered < 0.6 * whole and (cjk or longest < 6)):
            continue  # a phrase in common, not the question
        for b in blocks:
            if b.size >= 2 or b in anchors:
                found.append((b.size, b.b, b.b + b.size, question.n, b.a + b.size == whole))
    taken: list[Run] = []
    for _, first, past, n, ends in sorted(found, reverse=True):
        if all(past <= run[0] or first >= run[1] for run in taken):
            taken.append((first, past, n, ends))
    taken.sort()
    runs = _strong(taken, {q.n: len(words_of(q.text)) for q in asked})
    return [Piece(words[a].start, _past_stop(reply, words[b - 1].end), True, n, ends) for a, b, n, ends in runs]


def _heads(question: str) -> set[int]:
    """Which words of a question begin a sentence of it."""
    heads, words = set(), words_of(question)
    for n, word in enumerate(words):
        if n == 0 or re.search(r"[.?!:;\u3002\uff1f]", question[words[n - 1].end : word.start]):
            heads.add(n)
    return heads


def _asks(reply: str, start: int, end: int) -> bool:
    return _signed(reply, start) or _ASKS.match(reply, end) is not None


def _signed(reply: str, at: int) -> bool:
    return quote_level(reply[reply.rfind("\n", 0, at) + 1 : at])[0] > 0


def _strong(taken: list[Run], lengths: dict[int, int]) -> list[Run]:
    """Runs that lie near a long run of the same question; neighbours with nothing between become one."""
    long: dict[int, list[Run]] = {}
    for run in taken:
        if run[1] - run[0] >= min(RUN, lengths[run[2]]):
            long.setdefault(run[2], []).append(run)
    merged: list[Run] = []
    for run in taken:
        a, b, n, ends = run
        if not any(run == x or (a - x[1] <= NEAR and x[0] - b <= NEAR) for x in long.get(n, ())):
            continue
        if merged and merged[-1][2] == n and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], b, n, ends)
        else:
            merged.append(run)
    return merged


def _past_stop(text: str, end: int) -> int:
    """Past the stop that ends a question, so that it does not begin the answer."""
    m = re.compile(r"[ \t]*[?.!:;,、。?…\"”’)]+").match(text, end)
    return m.end() if m else end


def quote_level(line: str) -> tuple[int, int]:
    """(how many quote signs stand before the line, where its words begin); a row of a table is no quotation."""
    m = _PREFIX.match(line)
    if m and "|" in m.group() and "|" in line[m.end() :]:
        return 0, m.end()
    return (sum(c in ">»|" for c in m.group()), m.end()) if m else (0, 0)


def lines_of(text: str) -> list[tuple[int, int]]:
    """Start and end of each line, without its line end."""
    out, at = [], 0
    for line in text.split("\n"):
        out.append((at, at + len(line)))
        at += len(line) + 1
    return out


def pieces_of(reply: str, asked: Sequence[Asked], theirs: Sequence[tuple[int, int]] = ()) -> list[Piece]:
    """The reply as the buyer's own words and the seller's, in order; together they cover every word.

    `theirs` are stretches known to be the buyer's: the head lines of mail and the message answered.
    """
    spans = [s for s in quoted_spans(reply, asked) if not any(a <= s.start < b for a, b in theirs)]
    lines = [(a, b, *quote_level(reply[a:b])) for a, b in lines_of(reply)]
    levels = [level for a, b, level, _ in lines if any(s.start < b and s.end > a for s in spans)]
    signed = [level for level in levels if level]
    # Where questions stand behind quote signs, fewer signs mean the seller; where they stand plainly, signs are not the
    # buyer's.
    floor = min(signed) if signed else (None if levels else 1)
    out: list[Piece] = []
    for a, b, level, begin in lines:
        if any(x <= a and b <= y for x, y in theirs):
            out += [Piece(a, b, True)] if re.search(r"\w", reply[a:b]) else []
            continue
        parts = [Piece(max(s.start, a), min(s.end, b), True, s.question, s.whole) for s in spans]
        parts = [p for p in parts if p.start < p.end]
        if floor is not None and level >= floor:
            parts = _signed_line(reply, parts, a, b, out)
        at = a + begin
        for part in parts:
            out += _own(reply, at, part.start)
            out.append(part)
            at = part.end
        out += _own(reply, at, b)
    return _joined(reply, out)


def _signed_line(reply: str, parts: list[Piece], start: int, end: int, before: list[Piece]) -> list[Piece]:
    """A line behind quote signs is the buyer's, but for what is typed after the end of a question."""
    if not parts:
        return [Piece(start, end, True, before[-1].question if before and before[-1].quoted else None)]
    out = []
    for n, part in enumerate(parts):
        last = n == len(parts) - 1
        stop = (part.end if part.whole else end) if last else parts[n + 1].start
        out.append(Piece(start if n == 0 else part.start, stop, True, part.question, part.whole))
    return out


def _joined(reply: str, pieces: list[Piece]) -> list[Piece]:
    """Neighbouring lines of the same origin as one piece."""
    out: list[Piece] = []
    for piece in pieces:
        last = out[-1] if out else None
        if last and last.quoted == piece.quoted and last.question == piece.question:
            out[-1] = Piece(last.start, piece.end, piece.quoted, piece.question, piece.whole)
        else:
            out.append(piece)
    return out


def _own(reply: str, start: int, end: int) -> list[Piece]:
    text = reply[start:end]
    if not re.search(r"\w", text):
        return []
    lead = len(text) - len(text.lstrip(" \t|/–—:*•"))
    return [Piece(start + lead, start + len(text.rstrip()), False)]


def sentences(text: str, start: int, end: int) -> list[tuple[int, int]]:
    """Sentences and lines between two offsets, trimmed; not parted after abbreviations and single letters."""
    cuts = [start]
    for m in _END.finditer(text, start, end):
        if "\n" not in m.group() and _SHORT.search(text[cuts[-1] : m.start()]):
            continue
        cuts.append(m.end())
    out = []
    for a, b in zip(cuts, [*cuts[1:], end], strict=True):
        while a < b and text[a].isspace():
            a += 1
        while b > a and text[b - 1].isspace():
            b -= 1
        if b > a and re.search(r"\w", text[a:b]):
            out.append((a, b))
    return out
