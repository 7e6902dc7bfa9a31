"""Dated signs in a listing: where they are said to stand, and what they bound.

A sign counts only where the words say that it is printed, stamped or etched on a part of the record. The seller's own
address, the post, an owner's pen, a sticker, other copies and denials count for nothing (rules 1, 5 and 6 of the
knowledge): the worst fault would be to accuse an honest seller.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import islice
from typing import TYPE_CHECKING, Any

from sayso.lexicon.literals import lowered
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.sieve import Alternatives, Sieve
from sayso.model import CLAIMING, Bound, Carrier, Listing, Span

if TYPE_CHECKING:
    from sayso.claims.marks import MarkHit
    from sayso.lexicon import Lexicon
    from sayso.lexicon.facts import Fact, Trigger
    from sayso.lexicon.labels import Label

END = re.compile(r"\n+|(?<=[.!?])['\"’”)]?\s+(?=[\"'‘“(\[A-Z0-9ÄÖÜ])")
BINDS: frozenset[Carrier] = frozenset({"label", "metal", "disc"})
"""Floors on these are floors of the pressing; a jacket or an inner can be swapped."""
PARTS: tuple[Carrier, ...] = ("label", "jacket", "inner", "metal")
NUMBER = re.compile(r"[ .-]{0,2}\d")
WIDE = 400
"""Words further off than this have no say, however long the sentence: work stays linear in the paste."""
ALL = -1
"""Of a few letters every pattern may as well be tried."""
MANY = 60
"""At most this many matches of one sign are read."""
HANDS = re.compile(r"[,;:]|\band\b|\bwith\b|\bbut\b", re.IGNORECASE)


@lru_cache(maxsize=4096)
def _compiled(pattern: str, exact: bool) -> re.Pattern[str]:
    return re.compile(pattern, 0 if exact else re.IGNORECASE)


@dataclass(frozen=True)
class _Looked:
    """A trigger with what a text must hold for it to be worth trying."""

    trigger: Trigger
    fact: Fact | None
    patterns: tuple[tuple[int, str], ...]
    barred: tuple[tuple[int, str], ...]
    wanted: tuple[tuple[int, str], ...]


class Rulebook:
    """The dated signs of a lexicon and the patterns they are judged by, behind one sieve."""

    def __init__(self, lexicon: Lexicon) -> None:
        rows = lexicon.patterns
        facts = [(t, f) for f in lexicon.facts.values() for t in f.trigger]
        own = [t for label in lexicon.labels.values() for t in label.sign]
        self.years = _years(lexicon)
        signs = (*(t for t, _ in facts), *own)
        self.sieve = Sieve(
            [
                *((p, t.exact) for t in signs for p in t.patterns),
                *((p, False) for t in signs for p in (*t.listing_not, *t.listing_needs)),
                *((p, r.exact) for r in rows.values() for p in r.patterns),
                *((p, False) for patterns in self.years.values() for p in patterns),
            ]
        )
        self.triggers = tuple(self.look(t, f) for t, f in facts)
        plain = [n for n in rows if n != "year.between" and n not in self.years]
        self.use = {n: Alternatives(rows[n].patterns, rows[n].exact, self.sieve) for n in plain}
        for name in USED:
            self.use.setdefault(name, Alternatives((), False, self.sieve))
        self.stated = {n: tuple((self.sieve.needs(p), p) for p in ps) for n, ps in self.years.items()}

    def look(self, trigger: Trigger, fact: Fact | None) -> _Looked:
        """A trigger with the bits of the sieve that its patterns need."""

        def each(patterns: tuple[str, ...], exact: bool = False) -> tuple[tuple[int, str], ...]:
            return tuple((self.sieve.needs(p, exact), p) for p in patterns)

        barred, wanted = each(trigger.listing_not), each(trigger.listing_needs)
        return _Looked(trigger, fact, each(trigger.patterns, trigger.exact), barred, wanted)


USED = (
    "abbreviation",
    "doubt",
    "edition.first",
    "edition.first_issue",
    "hedge.year",
    "jacket.other",
    "lot",
    "negation.after",
    "negation.before",
    "negation.stop",
    "not.other",
    "not.owner",
    "not.seller",
    "part.false",
    "title.year.not",
    "title.year.not.after",
    "year",
    "year.not",
    "year.not.after",
)
"""The uses of patterns that the code asks for; one that the data lack matches nothing."""


def _years(lexicon: Lexicon) -> dict[str, tuple[str, ...]]:
    """The patterns round a year, with the year and what may stand between written out."""
    rows = lexicon.patterns
    if not {"year", "year.between"} <= rows.keys():
        return {}
    year = "(?P<y>" + "|".join(rows["year"].patterns) + ")"
    between = rows["year.between"].patterns[0]
    return {
        name: tuple(r"(?<!\w)(?:" + p.replace("{Y}", year).replace("{Q}", between) + ")" for p in rows[name].patterns)
        for name in ("year.pressed", "year.reissue", "edition.reissue")
        if name in rows
    }


@of_lexicon
def rulebook(lexicon: Lexicon) -> Rulebook:
    """Made once for each lexicon."""
    return Rulebook(lexicon)


class Reader:
    """A listing cut into sentences, with the parts of the record named in each."""

    def __init__(self, listing: Listing, lexicon: Lexicon) -> None:
        self.listing, self.lexicon, self.text = listing, lexicon, listing.text
        self.folded = self.text.casefold()
        self.rules = rulebook(lexicon)
        self.use = self.rules.use
        self.mask = self.rules.sieve.mask(self.text)
        self._masks: dict[str, int] = {}
        self.breaks = [0]
        abbreviated = self.use["abbreviation"].search
        for m in END.finditer(self.text):
            if "\n" in m.group() or not abbreviated(self.text[max(0, m.start() - 12) : m.start()], ALL):
                self.breaks.append(m.end())
        self.breaks.append(len(self.text))
        self.silent = [(s.start, s.end) for s in listing.segments if s.kind not in CLAIMING]

    def sentence(self, at: int) -> tuple[int, int]:
        """The sentence or line around an offset."""
        n = bisect_right(self.breaks, at)
        low = self.breaks[max(0, n - 1)]
        high = self.breaks[n] if n < len(self.breaks) else len(self.text)
        return max(low, at - WIDE), min(high, at + WIDE)

    def claims(self, at: int) -> bool:
        """Whether words here can speak of the copy on offer (no policy, legend, biography)."""
        return not any(a <= at < b for a, b in self.silent)

    @cached_property
    def lowered(self) -> str:
        """The text as a sieve wants it."""
        return lowered(self.text)

    @cached_property
    def named(self) -> bool:
        """Whether any part of a record is named anywhere."""
        return any(self.use[f"part.{part}"].search(self.text, self.mask) for part in PARTS)

    def can(self, need: int) -> bool:
        """Whether an expression can match somewhere in the listing."""
        return (self.mask & need) == need

    def mask_of(self, text: str) -> int:
        """What the sieve says of a stretch; sentences are asked about again and again."""
        mask = self._masks.get(text)
        if mask is None:
            mask = self._masks[text] = self.rules.sieve.mask(text)
        return mask

    def has(self, name: str, text: str) -> bool:
        return self.use[name].search(text, self.mask if text is self.text else self.mask_of(text))

    def denied(self, start: int, end: int) -> bool:
        """Whether the words at this span are negated, in their own clause."""
        low, high = self.sentence(start)
        head = self.text[max(low, start - 60) : start]
        stops = [m.end() for m in self.use["negation.stop"].finditer(head, self.mask_of(head))]
        head = head[stops[-1] :] if stops else head
        if self.has("negation.before", head):
            return True
        return self.has("negation.after", self.text[end:high])

    def part(self, start: int, end: int) -> Carrier | None:
        """The part of the record on which these words stand; null where none is named.

        Where two parts are about as near, the weaker (a jacket) is taken: a jacket accuses nobody.
        """
        low, high = self.sentence(start)
        # A semicolon parts two sayings as a full stop does.
        low = max(low, self.text.rfind(";", low, start) + 1)
        high = (self.text.find(";", end, high) + 1 or high + 1) - 1
        text = self.text[low:high]
        mask = self.mask_of(text)
        blocked = [m.span() for m in self.use["part.false"].finditer(text, mask)]
        found: list[tuple[float, Carrier]] = []
        for part in PARTS:
            for m in self.use[f"part.{part}"].finditer(text, mask):
                if any(a <= m.start() < b for a, b in blocked):
                    continue
                found.append((self._distance(low + m.start(), low + m.end(), start, end), part))
        inner = [d for d, p in found if p == "inner"]
        found = [(d, p) for d, p in found if not (p == "jacket" and any(abs(d - i) < 8 for i in inner))]
        if not found:
            return None
        best, part = min(found)
        for distance, other in found:
            if other in ("jacket", "inner") and part not in ("jacket", "inner") and distance <= best + 6:
                return other
        return part

    def _distance(self, a: int, b: int, start: int, end: int) -> float:
        if a < end and b > start:
            return 0
        between = self.text[b:start] if b <= start else self.text[end:a]
        cost = float(len(between))
        for hand in HANDS.findall(between):
            cost += 4 if hand == ":" else 14
        # "on the label" after the sign, and "the label says" before it, hold together.
        if b > start and re.match(
            r"\W*(?:\w+\W+){0,2}(?:on|of|at|to|in|across|along|round|around|under|by)\W", between
        ):
            cost *= 0.5
        if b <= start and re.search(
            r":|\b(?:say\w*|read\w*|show\w*|print\w*|has|have|having|with|carr\w+|bear\w*|stands|stating)\b", between
        ):
            cost *= 0.5
        return cost


@dataclass(frozen=True)
class Sign:
    """A dated sign found in the words."""

    bound: Bound
    not_first: bool = False
    certain: bool = True


def find_signs(reader: Reader, label: Label | None) -> tuple[Sign, ...]:
    """Every dated sign of the listing, in the order of the text. Pure."""
    signs: list[Sign] = []
    mask = reader.mask
    for looked in reader.rules.triggers:
        for need, _ in looked.patterns:
            if (mask & need) == need:
                signs += _matches(reader, looked, None)
                break
    if label is not None:
        for trigger in label.sign:
            signs += _matches(reader, reader.rules.look(trigger, None), label)
    signs += _marks(reader, label)
    kept: dict[tuple[Any, ...], Sign] = {}
    for sign in signs:
        b = sign.bound
        key = (b.fact, b.carrier, b.span.start if b.span else -1, b.not_before, b.not_after, sign.not_first)
        kept.setdefault(key, sign)
    return tuple(sorted(kept.values(), key=lambda s: (s.bound.span.start if s.bound.span else 0, s.bound.fact)))


def _matches(reader: Reader, looked: _Looked, label: Label | None) -> Iterator[Sign]:
    text, trigger = reader.text, looked.trigger
    if trigger.hints and not any(h in reader.folded for h in trigger.hints):
        return
    words, holds = (text if trigger.exact else reader.lowered), reader.rules.sieve.holds
    likely = [p for need, p in looked.patterns if reader.can(need) and holds(p, trigger.exact, words)]
    if not likely:
        return
    if trigger.default is None and not trigger.disc_default and not reader.named:
        return  # no part of the record is named anywhere
    if any(reader.can(need) and _compiled(p, False).search(text) for need, p in looked.barred):
        return
    if looked.wanted and not any(reader.can(need) and _compiled(p, False).search(text) for need, p in looked.wanted):
        return
    if label is not None and not number_fits(reader, trigger, label):
        return
    for pattern in likely:
        for m in islice(_compiled(pattern, trigger.exact).finditer(text), MANY):
            carrier = _carrier(reader, trigger, m.start(), m.end())
            if carrier is None or m.end() <= m.start():
                continue
            yield from _signs(reader, trigger, looked.fact, label, m, carrier)


def _carrier(reader: Reader, trigger: Trigger, start: int, end: int) -> Carrier | None:
    if not reader.claims(start):
        return None
    low, high = reader.sentence(start)
    sentence = reader.text[low:high]
    if trigger.needs and not any(_compiled(p, False).search(sentence) for p in trigger.needs):
        return None
    if any(_compiled(p, False).search(sentence) for p in trigger.not_near):
        return None
    if any(reader.has(n, sentence) for n in ("not.seller", "not.owner", "not.other", "doubt")):
        return None
    if reader.denied(start, end):
        return None
    part = reader.part(start, end)
    if part in trigger.on:
        return part
    if trigger.disc_default and (part is None or "disc" in trigger.on):
        return "disc"
    if trigger.default is not None and (part is None or part == trigger.default):
        return trigger.default
    return None


def _signs(
    reader: Reader, trigger: Trigger, fact: Fact | None, label: Label | None, m: re.Match[str], carrier: Carrier
) -> Iterator[Sign]:
    floor = m.groupdict().get("year") or trigger.earliest or (fact.earliest if fact else None)
    ceiling = trigger.latest or (fact.latest if fact else None)
    span = Span(start=m.start(), end=m.end(), quote=m.group())
    common: dict[str, Any] = {"carrier": carrier, "span": span}
    if fact is not None:
        common |= {
            "fact": fact.id,
            "statement": trigger.statement or fact.statement,
            "basis": fact.basis,
            "source": fact.source,
            "caution": fact.caution,
        }
        hard = fact.hard if trigger.hard is None else trigger.hard
    else:
        assert label is not None
        era = label.era[trigger.era - 1] if trigger.era and trigger.era <= len(label.era) else None
        common |= {
            "fact": f"label.{label.id}" + (f".era{trigger.era}" if trigger.era else ""),
            "statement": trigger.statement or (era.design if era else ""),
            "basis": era.basis if era else label.basis,
            "source": (era.source if era else label.source) or label.source or "see the label's history",
            "caution": era.caution if era else label.caution,
        }
        recalled = era is not None and not trigger.not_first and {"all", "earliest"} & set(era.memory_fields)
        hard = trigger.hard is not False and not recalled
    if common["basis"] in ("from memory", "memory"):
        hard = False
    yielded = False
    if floor and ceiling and not hard:
        yield Sign(Bound(not_before=floor, not_after=ceiling, hard=False, **common), trigger.not_first)
        return
    if floor:
        yielded = True
        # A year read from print may have been set ahead of time: one year's gap is a question, never a charge.
        yield Sign(Bound(not_before=floor, hard=hard, **common), trigger.not_first)
    if ceiling:
        yielded = True
        yield Sign(Bound(not_after=ceiling, hard=False, **common))
    if trigger.not_first and not yielded:
        yield Sign(Bound(hard=hard, **common), True)


def number_fits(reader: Reader, trigger: Trigger, label: Label) -> bool:
    """Whether a catalogue number of the listing lies in the trigger's range; true where it has none."""
    if trigger.number_from is None and trigger.number_to is None:
        return True
    low, high = (_split(trigger.number_from or ""), _split(trigger.number_to or ""))
    prefix = low[0] or high[0]
    for m in (
        re.finditer(re.escape(prefix) + r"[ .-]{0,2}(\d{1,5})(?!\d)", reader.text, re.IGNORECASE) if prefix else ()
    ):
        if m.start() and reader.text[m.start() - 1].isalnum():
            continue
        n = int(m[1])
        if (low[1] is None or n >= low[1]) and (high[1] is None or n <= high[1]):
            return m[1] not in trigger.number_except
    return False


def _split(number: str) -> tuple[str, int | None]:
    m = re.match(r"\s*(.*?)[ .-]*(\d+)\s*$", number)
    return (m[1].strip(), int(m[2])) if m else (number.strip(), None)


def _marks(reader: Reader, label: Label | None) -> Iterator[Sign]:
    """What the marks and numbers in the run-out (or printed on the label) bound; their dates are those of the marks."""
    from sayso.claims.marks import marks_in
    from sayso.claims.runout import read_runout

    lexicon, text = reader.lexicon, reader.text
    names = label.spoken() if label else ()
    for hit in marks_in(text, lexicon)[: 4 * MANY]:
        since = hit.not_before or _recalled(hit, lexicon)
        if not (since and hit.in_context and reader.claims(hit.start)):
            continue
        if hit.end - hit.start <= 2 and NUMBER.match(text, hit.end):
            continue  # the letters of a catalogue number
        low, high = reader.sentence(hit.start)
        sentence = text[low:high]
        if any(reader.has(n, sentence) for n in ("not.owner", "not.other", "doubt")) or reader.denied(
            hit.start, hit.end
        ):
            continue
        mark = lexicon.marks[hit.marks[0]]
        carrier: Carrier = "label" if mark.where == "label" else "metal"
        ours = hit.not_before is not None and all(
            lexicon.marks[m].is_theirs(text[hit.start : hit.end], names) for m in hit.marks
        )
        yield Sign(
            Bound(
                carrier=carrier,
                not_before=str(since),
                hard=ours,
                span=Span(start=hit.start, end=hit.end, quote=text[hit.start : hit.end]),
                fact=f"mark.{mark.id}",
                statement=f"{mark.name}: {hit.proves}",
                basis=mark.basis,
                source=mark.source,
                caution=" ".join(hit.cautions),
            )
        )
    name = label.name if label else None
    if name is None:
        return
    for m in islice(reader.use["part.metal"].finditer(text, reader.mask), MANY):
        low, high = reader.sentence(m.start())
        sentence = text[low:high]
        if not reader.claims(low) or any(reader.has(n, sentence) for n in ("not.owner", "not.other", "doubt")):
            continue
        got = read_runout(sentence.rstrip(), name, lexicon)
        for side in got.get("sides", ()):
            year, at, to = side.get("year"), side.get("start"), side.get("end")
            if not isinstance(year, int) or at is None or "year" in side.get("soft", ()):
                continue
            if sentence[at:to] != side.get("as_written") or reader.denied(low + at, low + to):
                continue
            yield Sign(
                Bound(
                    carrier="metal",
                    not_before=str(year),
                    span=Span(start=low + at, end=low + to, quote=sentence[at:to]),
                    fact=f"system.{got.get('system')}",
                    statement=f"{got.get('system_name')}: the number was given out in {year}",
                    basis=str(got.get("basis", "published")),
                    source=str(got.get("source", "")),
                    caution=str(got.get("caution", "")),
                )
            )


def _recalled(hit: MarkHit, lexicon: Lexicon) -> int | None:
    """The first year of a mark, where it rests on memory for one of its makers: a hint."""
    years = [lexicon.marks[m].earliest for m in hit.marks]
    return min(y for y in years if y) if all(years) else None
