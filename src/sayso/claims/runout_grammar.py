"""Compiles the systems of the lexicon and finds the one that fits a string."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.claims.runout_text import compile_words
from sayso.lexicon.systems import MACROS

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.systems import Pattern, System

TABLE = re.compile(r"\{table:([a-z0-9_-]+)\}")


@dataclass(frozen=True)
class Match:
    """One number in the text, and by which pattern it was read."""

    start: int
    end: int
    groups: Mapping[str, str | None]
    pattern: Pattern


@dataclass(frozen=True)
class Grammar:
    """A system with its patterns compiled."""

    system: System
    patterns: tuple[tuple[Pattern, re.Pattern[str]], ...]


def expand(pattern: str, lexicon: Lexicon) -> str:
    """The regular expression behind a pattern of the data. An unknown table matches nothing."""

    def alternatives(m: re.Match[str]) -> str:
        row = lexicon.tables.get(m[1])
        keys = sorted(row.entries, key=len, reverse=True) if row else ()
        return f"(?:{'|'.join(map(re.escape, keys))})" if keys else "(?!)"

    pattern = TABLE.sub(alternatives, pattern)
    for macro, expansion in MACROS.items():
        pattern = pattern.replace(macro, expansion)
    return rf"(?<![A-Z0-9])(?:{pattern})(?![A-Z0-9])"


@lru_cache(maxsize=8)
def grammars(lexicon: Lexicon) -> tuple[Grammar, ...]:
    """All systems, compiled, in the order of the data."""
    return tuple(
        Grammar(s, tuple((p, re.compile(expand(p.regex, lexicon))) for p in s.patterns))
        for s in lexicon.systems.values()
    )


def find(grammar: Grammar, text: str, given: str, *, alone: bool = False) -> list[Match]:
    """The numbers of one system in `text`, from left to right.

    Full numbers come before parts, and parts before mere suffixes; a suffix that follows a slash after a full number is
    the other side ('…-1E / 2W').
    """
    taken: list[Match] = []
    for kind in ("full", "part"):
        for pattern, compiled in grammar.patterns:
            if pattern.kind != kind or (alone and not pattern.alone):
                continue
            for m in compiled.finditer(text):
                if m.end() == m.start() or not _spelt(grammar.system, pattern, m, given):
                    continue
                if all(m.end() <= t.start or m.start() >= t.end for t in taken):
                    taken.append(Match(m.start(), m.end(), m.groupdict(), pattern))
    taken.sort(key=lambda t: t.start)
    if alone:
        return taken
    at = taken[-1].end if taken else 0
    if len(taken) > 1:
        return taken
    suffixes: list[Match] = []
    for pattern, compiled in grammar.patterns:
        if pattern.kind != "suffix":
            continue
        if taken:
            slash = re.compile(r"\s{0,3}[/&]\s{0,3}").match(text, at)
            n = compiled.match(text, slash.end()) if slash else None
            if n and n.end() > n.start() and not re.match(r"\s{1,3}[A-Z]{1,4}(?![A-Z])", text[n.end() : n.end() + 8]):
                return [*taken, Match(n.start(), n.end(), n.groupdict(), pattern)]
            continue
        for m in compiled.finditer(text):
            free = all(m.end() <= t.start or m.start() >= t.end for t in suffixes)
            if free and m.end() > m.start() and _spelt(grammar.system, pattern, m, given):
                suffixes.append(Match(m.start(), m.end(), m.groupdict(), pattern))
    return taken or sorted(suffixes, key=lambda t: t.start)[:2]


def _spelt(system: System, pattern: Pattern, m: re.Match[str], given: str) -> bool:
    """Whether letters and figures are in a case in which a number is written; talk in small letters is none.

    A whole number of a known maker may be typed in small letters; a mere part or suffix, or a number of an unknown
    maker without a dash, may not.
    """
    part = "".join(given[slice(*m.span(g))] for g in m.groupdict() if m.group(g)) or given[m.start() : m.end()]
    if part.upper() == part:
        return any(c.isdigit() for c in m.group())
    if pattern.kind == "suffix" or system.anonymous:
        return "-" in m.group() and part.lower() == part and any(c.isdigit() for c in part) and pattern.kind == "full"
    return part.lower() == part or sum(c.islower() for c in part) <= 2


def _words_of(lexicon: Lexicon, table: str) -> Mapping[str, str]:
    row = lexicon.tables.get(table)
    return compile_words(row.entries.items()).values if row else {}


@lru_cache(maxsize=512)
def _label(label: str, lexicon: Lexicon) -> tuple[frozenset[str], str | None]:
    """The names in a label as given, folded, and its country where one is said."""
    countries, noise = _words_of(lexicon, "country_word"), _words_of(lexicon, "label_noise")
    country: str | None = None
    names: set[str] = set()
    bracketed = re.findall(r"\(([^()]{0,80})\)", label)
    plain = re.sub(r"\([^()]{0,80}\)", " ", label)
    for piece in bracketed:
        for word in re.findall(r"[\w.]+", piece.casefold()):
            country = country or countries.get(word)
    for piece in re.split(r"[/,;|]", plain):
        kept = []
        for word in re.findall(r"[\w.'’&!-]+", piece.casefold().replace("’", "'")):
            if word in countries:
                country = country or countries[word]
            elif word not in noise:
                kept.append(word)
        if kept:
            names.add(" ".join(kept))
    return frozenset(names), country


def known_country(label: str | None, lexicon: Lexicon) -> str | None:
    """The country that the label's name says, such as UK in 'Parlophone (UK)'."""
    return _label(label[:200], lexicon)[1] if label else None


def for_label(label: str, lexicon: Lexicon) -> list[Grammar]:
    """The systems that this label is known to use."""
    names, country = _label(label[:200], lexicon)
    found = []
    for grammar in grammars(lexicon):
        system = grammar.system
        if country and system.country and country != system.country:
            continue
        known = [k.casefold() for k in system.labels]
        if any(name == k or name.startswith(k + " ") for name in names for k in known):
            found.append(grammar)
    return found


def best(text: str, given: str, label: str | None, lexicon: Lexicon) -> tuple[int, Grammar | None, list[Match]]:
    """The grammar that reads most of the text, with its numbers and how much it reads (0 for no maker's grammar).

    With a label: the systems that label is known to use. Without: only patterns that are unmistakable. Failing both,
    the shape that any label may use.
    """
    candidates = for_label(label, lexicon) if label else [g for g in grammars(lexicon) if not g.system.anonymous]
    rank = {"full": 10_000, "part": 100, "suffix": 1}
    chosen: tuple[int, Grammar, list[Match]] | None = None
    for grammar in candidates:
        matches = find(grammar, text, given, alone=not label)
        if matches:
            score = sum(rank[m.pattern.kind] + m.end - m.start for m in matches)
            if chosen is None or score > chosen[0]:
                chosen = (score, grammar, matches)
    if chosen:
        return chosen
    for grammar in grammars(lexicon):
        if grammar.system.anonymous:
            matches = find(grammar, text, given)
            if matches:
                return 0, grammar, matches
    return 0, candidates[0] if label and candidates else None, []
