"""Numbers that sellers put before their answers, and the questions those numbers mean.

A number need not be the buyer's: many sellers count their own answers and pass a question over.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

_CIRCLED = "①②③④⑤⑥⑦⑧⑨⑩"
_DIGITS = str.maketrans("１２３４５６７８９０", "1234567890")
MOST = 20
MARGIN = 2.0
"""So much more must speak for another way of counting before a seller's numbers are read as his own."""


Mark = tuple[int, int, int, tuple[int, ...]]
"""Where a number begins and where its words do, the number, and further ones that share the answer."""


@dataclass(frozen=True)
class Block:
    """A stretch of the reply that stands behind a number: `start` is where its words begin."""

    number: int
    mark: int
    start: int
    end: int
    also: tuple[int, ...] = ()
    """Further numbers that share this answer."""


def blocks_of(text: str, labels: re.Pattern[str] | None = None, joins: re.Pattern[str] | None = None) -> list[Block]:
    """Numbered stretches, in order; empty where the numbers do not count up.

    `labels` may stand before a number ('Q1'), `joins` between two that share an answer ('1 and 2: none').
    """
    label = f"(?:(?:{labels.pattern})[ .:]*)?" if labels is not None else ""
    join = f"|{joins.pattern}" if joins is not None else ""
    more = rf"((?:[ \t]*(?:[,&+/]|[-–]{join})[ \t]*\d{{1,2}}(?!\d))*)"
    firm = re.compile(
        rf"(?:^|(?<=[\n;,.!?\u3002\u3001]))[ \t]*{label}"
        rf"(?:[(\[#]?(\d{{1,2}}|[\uff11-\uff19]){more}(?:[.):\]°\uff0e\uff09\uff1a]|/(?=\s)|[ \t]*[-–=>]+)(?!\d)[ \t]*"
        rf"|([{_CIRCLED}])[ \t]*)",
        re.IGNORECASE,
    )
    loose = re.compile(
        r"(?:^|(?<=[\n;,]))[ \t]*(\d{1,2})()[ \t]+(?=[^\W\d])|(?:^|(?<=\n))[ \t]*(\d{1,2})()[ \t]+(?=\S)"
    )
    lettered = re.compile(r"(?:^|(?<=\n))[ \t]*\(?([a-j])()[.)][ \t]+")
    stopped = len(_counting(_marks(firm, text)))
    run_on = next((shape for shape in (_RUN_ON, _RUN_ON_LETTERS) if _runs_on(shape, text, stopped)), firm)
    for shape, least in ((run_on, 1), (loose, 2), (lettered, 2)):
        kept = _counting(_marks(shape, text))
        if len(kept) >= least and (len(kept) > 1 or kept[0][3] or _leads(text, kept[0][0])):
            if shape is lettered and kept[0][2] != 1:
                continue
            ends = [k[0] for k in kept[1:]] + [len(text)]
            return [Block(n, a, b, end, also) for (a, b, n, also), end in zip(kept, ends, strict=True)]
    return []


_RUN_ON = re.compile(r"(?:^|(?<=\s))[(\[]?(\d{1,2})()[.):][ \t]+(?=[^\W\d])")
"""A number anywhere in a line, with a stop or a bracket behind it."""
_RUN_ON_LETTERS = re.compile(r"(?:^|(?<=\s))\(?([a-j])()\)[ \t]+")


def _marks(shape: re.Pattern[str], text: str) -> list[Mark]:
    return [(m.start(), m.end(), _number(m), _more(m)) for m in shape.finditer(text)]


def _runs_on(shape: re.Pattern[str], text: str, stopped: int) -> bool:
    """Whether numbers count up from one, without a gap, in a reply that does without stops ('1. no idea 2. nope')."""
    found = [m[2] for m in _marks(shape, text)]
    return len(found) > max(stopped, 1) and found == list(range(1, len(found) + 1))


def _number(m: re.Match[str]) -> int:
    mark = m.group(1) or m.group(3)
    if mark in _CIRCLED:
        return _CIRCLED.index(mark) + 1
    return ord(mark) - ord("a") + 1 if mark.isalpha() else int(mark.translate(_DIGITS))


def _more(m: re.Match[str]) -> tuple[int, ...]:
    """Further numbers that share the answer: '1 & 2', '1, 2 and 4', '1-3'."""
    first, rest = m.group(1), m.group(2) or ""
    if not rest or first is None or not first.isdigit():
        return ()
    numbers = [int(n) for n in re.findall(r"\d{1,2}", rest)]
    if len(numbers) == 1 and re.fullmatch(r"\s*[-–]\s*\d+", rest) and int(first) < numbers[0] <= MOST:
        return tuple(range(int(first) + 1, numbers[0] + 1))
    return tuple(numbers)


def _leads(text: str, at: int) -> bool:
    """Whether a lone number stands at the start of a line."""
    return not text[text.rfind("\n", 0, at + 1) + 1 : at].strip()


def _counting(marks: Sequence[Mark]) -> list[Mark]:
    """The longest run of numbers that go up, from the first that starts low enough to be a count."""
    best: list[Mark] = []
    for i, first in enumerate(marks):
        if not 1 <= first[2] <= MOST:
            continue
        run = [first]
        for mark in marks[i + 1 :]:
            top = max((run[-1][2], *run[-1][3]))
            if top < mark[2] <= top + 4:
                run.append(mark)
        if len(run) > len(best):
            best = run
    return best


def meant(numbers: Sequence[int], order: Sequence[int], fit: Mapping[tuple[int, int], float]) -> dict[int, int]:
    """Number in the reply → number of the question. `order` are the numbers of the questions as they were asked;
    `fit[number, question]` says how well the words behind a number fit a question.

    The numbers are taken as the buyer's, unless the words fit clearly better when all are moved by as much, or else
    when they are laid out in any rising order.
    """

    def total(way: Mapping[int, int]) -> float:
        return sum(fit.get((k, q), 0.0) for k, q in way.items())

    same = {k: k for k in numbers if k in order}
    ways: list[tuple[float, dict[int, int]]] = []
    for shift in range(1, len(order)):
        moved = {k: order[i] for k in numbers if 0 <= (i := k - 1 + shift) < len(order)}
        if len(moved) == len(numbers):
            ways.append((total(moved), moved))
    rising = _rising(numbers, order, fit)
    ways.append((total(rising) - 0.5, rising))
    free = _freely(numbers, order, fit)
    ways.append((total(free) - MARGIN, free))
    score, way = max(ways, key=lambda w: w[0])
    return way if score >= total(same) + MARGIN else same


def _freely(numbers: Sequence[int], order: Sequence[int], fit: Mapping[tuple[int, int], float]) -> dict[int, int]:
    """The best assignment in any order, each question at most once, the firmest fits first."""
    out: dict[int, int] = {}
    for (k, q), score in sorted(fit.items(), key=lambda f: -f[1]):
        if score > 0 and k in numbers and q in order and k not in out and q not in out.values():
            out[k] = q
    return out


def _rising(numbers: Sequence[int], order: Sequence[int], fit: Mapping[tuple[int, int], float]) -> dict[int, int]:
    """The best assignment that keeps the order, each question at most once."""
    rows, columns = len(numbers), len(order)
    if rows > columns:
        return {}
    worst = float("-inf")
    best = [[worst] * (columns + 1) for _ in range(rows + 1)]
    best[0] = [0.0] * (columns + 1)
    for i in range(1, rows + 1):
        for j in range(i, columns + 1):
            take = best[i - 1][j - 1] + fit.get((numbers[i - 1], order[j - 1]), 0.0)
            best[i][j] = max(take, best[i][j - 1])
    out: dict[int, int] = {}
    j = columns
    for i in range(rows, 0, -1):
        while j > i and best[i][j - 1] >= best[i][j]:
            j -= 1
        out[numbers[i - 1]] = order[j - 1]
        j -= 1
    return out
