"""Which side a number belongs to, and of which sides something beside the numbers is said."""

from __future__ import annotations

import re
from collections.abc import Sequence

from sayso.claims.runout_grammar import Match
from sayso.claims.runout_state import TOKEN, Reader, Side
from sayso.claims.runout_text import Found, words


def assign_sides(reader: Reader, matches: Sequence[Match], sides: Sequence[Side]) -> list[bool]:
    """Give each number its side: from the number, a word beside it, or there being two. Tells which were spoken of."""
    named = words(reader.lexicon, "runout_side")
    spoken = [False] * len(sides)
    used = 0
    for i, (m, side) in enumerate(zip(matches, sides, strict=True)):
        low = max(used, matches[i - 1].end if i else 0)
        before = list(named.find(reader.text, max(low, m.start - 30), m.start))
        if side.fields["side"] is not None:
            spoken[i] = True
            reader.done += [(f.start, f.end) for f in before[-1:]]
            continue
        if before and not re.search(r"[^\W\d_]{3,}", reader.text[before[-1].end : m.start]):
            side.fields["side"] = before[-1].value
            reader.done.append((before[-1].start, before[-1].end))
            spoken[i] = True
            continue
        high = matches[i + 1].start if i + 1 < len(matches) else len(reader.text)
        after = named.first(reader.text, m.end, min(high, m.end + 14))
        closed = after and re.fullmatch(r"[\s(\[,:-]{0,4}(ON )?", reader.text[m.end : after.start])
        if after and closed and not (i + 1 < len(matches) and re.fullmatch(r"[\s:=-]*", reader.text[after.end : high])):
            side.fields["side"] = after.value
            reader.done.append((after.start, after.end))
            spoken[i] = True
            used = after.end
    if len(sides) == 2:
        one, two = sides[0].fields, sides[1].fields
        other = {"a": "b", "b": "a", None: None}
        if one["side"] is None and two["side"] is None:
            # '1K on one side, 3K on the other' does not say which.
            near = max(0, matches[0].start - 24), min(len(reader.text), matches[0].end + 24)
            if words(reader.lexicon, "runout_side_open").first(reader.text, *near) is None:
                one["side"], two["side"] = "a", "b"
        elif one["side"] is None:
            one["side"] = other[two["side"]]
        elif two["side"] is None:
            two["side"] = other[one["side"]]
    return spoken


def split_pairs(reader: Reader, matches: list[Match], sides: list[Side], spoken: Sequence[bool]) -> None:
    """'-1A both sides': one suffix that stands for two sides."""
    if len(sides) != 1 or spoken[0] or matches[0].pattern.kind != "suffix":
        return
    both = words(reader.lexicon, "runout_both").first(reader.text)
    if both is None:
        return
    first = sides[0]
    second = Side(dict(first.fields), set(first.soft))
    first.fields["side"], second.fields["side"] = "a", "b"
    matches.append(matches[0])
    sides.append(second)


def tails_of(reader: Reader, matches: Sequence[Match]) -> list[tuple[int, int]]:
    """What follows each number, up to the next."""
    ends = [*(m.start for m in matches[1:]), len(reader.text)][: len(matches)]
    return [(m.end, max(m.end, end)) for m, end in zip(matches, ends, strict=True)]


def targets(reader: Reader, start: int, end: int, sides: list[Side], tails: list[tuple[int, int]]) -> list[Side]:
    """The sides of which something at this place is said."""
    both = words(reader.lexicon, "runout_both")
    # 'both sides stamped', 'star both sides': the words directly beside it.
    for found in both.find(reader.text, max(0, start - 24), min(len(reader.text), end + 24)):
        between = reader.text[found.end : start] if found.end <= start else reader.text[end : found.start]
        if len(TOKEN.findall(between)) <= 2:
            return list(sides)
    for (a, b), side in zip(tails, sides, strict=True):
        if a <= start < b:
            return [side]
    return list(sides) if len(sides) == 1 else []


def read_lettering(reader: Reader, sides: list[Side], tails: list[tuple[int, int]]) -> None:
    """Whether the number is said to be etched or stamped; not what is said of another mark, nor of the other side."""
    if not sides:
        return
    for found in words(reader.lexicon, "runout_lettering").find(reader.text):
        meant = list(sides)
        if found.end > tails[0][0]:
            meant = targets(reader, found.start, found.end, sides, tails)
            if len(meant) == 1 and _of_a_mark(reader, tails[sides.index(meant[0])][0], found):
                continue
        for side in meant:
            side.put("lettering", found.value)
        if meant:
            reader.done.append((found.start, found.end))


def _of_a_mark(reader: Reader, start: int, found: Found) -> bool:
    """Whether the word is said of a mark: one stands between the number and the word, or directly after the word."""
    before = any(start <= a < found.start for a, _ in reader.marks)
    return before or any(a >= found.end and reader.text[found.end : a].isspace() for a, _ in reader.marks)
