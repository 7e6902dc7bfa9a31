"""What the columns of a table mean. Their names are matched with rapidfuzz against the names in the lexicon."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

ALIKE = 87.0
"""Names at least this alike (rapidfuzz ratio, 0 to 100) mean the same; below it plurals and slips still pass, other
words do not. A convention of this program, held by tests over the names in the lexicon."""
MANY = frozenset({"text", "specifics", "ignore"})
"""Meanings that several columns may share."""
MEANINGS = ("id", "title", "text", "format", "price", "currency", "shipping", "auction", "url", "seller", "specifics")


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    from sayso.lexicon.load import parse, shipped

    found = parse(shipped() / "cues" / "columns.toml").get("word", [])
    return {fold(form): str(row["value"]) for row in found if row.get("kind") == "column" for form in row["forms"]}


def fold(name: str) -> str:
    """A column name without case, signs, and what stands in brackets."""
    plain = re.sub(r"\([^)]*\)|\[[^\]]*\]", " ", name)
    plain = re.sub(r"([a-zà-ÿ])([A-Z])", r"\1 \2", plain)
    return " ".join(re.sub(r"[\W_]+", " ", plain.casefold()).split())


def meaning(name: str) -> tuple[str, float]:
    """(meaning, likeness) of a column name; an empty meaning where none is alike enough."""
    from rapidfuzz import fuzz, process

    folded = fold(name)
    names = _names()
    if not folded:
        return "", 0.0
    if folded in names:
        return names[folded], 100.0
    if len(folded) < 4:
        return "", 0.0
    best = process.extractOne(folded, names.keys(), scorer=fuzz.ratio, score_cutoff=ALIKE)
    if best is None:
        best = process.extractOne(folded, names.keys(), scorer=fuzz.token_sort_ratio, score_cutoff=ALIKE)
    return (names[best[0]], float(best[1])) if best else ("", 0.0)


@dataclass(frozen=True)
class Columns:
    """Which column holds what."""

    names: tuple[str, ...]
    by_meaning: Mapping[str, tuple[int, ...]]
    currency: str | None = None
    decimal: str | None = None

    def named(self, at: int, name: str) -> bool:
        """Whether the column is called so."""
        return fold(self.names[at]) == fold(name) or self.names[at].strip() == name.strip()

    @property
    def usable(self) -> bool:
        """True where there are words to audit."""
        return bool({"title", "text"} & set(self.by_meaning))

    def explain(self) -> str:
        """What was understood, in one line."""
        used = []
        for name in MEANINGS:
            if name in self.by_meaning:
                used.append(f"{name} ← " + " + ".join(f"“{self.names[i].strip()}”" for i in self.by_meaning[name]))
        taken = {i for name, at in self.by_meaning.items() if name != "ignore" for i in at}
        rest = [f"“{n.strip()}”" for i, n in enumerate(self.names) if i not in taken and n.strip()]
        return "; ".join(used) + (f"; not used: {', '.join(rest)}" if rest else "")

    def with_samples(self, rows: Sequence[Sequence[str]], *, currency: str | None) -> Columns:
        """With what the cells and the head tell of the notation of prices."""
        from sayso.intake.money import decimal_mark, find_prices, money_words

        at = self.by_meaning.get("price", ())
        if not at:
            return self
        head = self.names[at[0]]
        words = money_words()
        found = [p for p in find_prices(re.sub(r"[()\[\]]", " ", head) + " 1", words=words) if p.currency]
        named = found[0].currency if found else None
        if named is None:
            codes = [words.codes.get(w.casefold()) for w in re.findall(r"[A-Z]{3}|[^\w\s()\[\]]", head)]
            named = next((value for c in codes if c and c[0] != "currency_shared" for value in [c[1]]), None)
        mark = decimal_mark(row[at[0]] for row in rows if len(row) > at[0])
        return replace(self, currency=named or currency, decimal=mark)

    def record(self, row: Sequence[str]) -> tuple[dict[str, Any], str]:
        """(record, problem) of one row, in the form of `sayso.intake.read_record`."""
        from sayso.intake.paste import is_html

        if len(row) > len(self.names) and any(cell.strip() for cell in row[len(self.names) :]):
            extra = len(row) - len(self.names)
            return {}, f"{extra} more cell{'s' * (extra > 1)} than the head has columns; a quote may be missing"
        cells = [*(c.strip() for c in row), *[""] * (len(self.names) - len(row))]
        record: dict[str, Any] = {}
        for name, at in self.by_meaning.items():
            values = [v for i in at if (v := cells[i])]
            if not values or name in ("ignore", "specifics"):
                continue
            record[name] = "\n\n".join(values) if name == "text" else values[0]
        specifics = {self.names[i].strip(): v for i in self.by_meaning.get("specifics", ()) if (v := cells[i])}
        if specifics:
            record["specifics"] = specifics
        if not record.get("title") and not record.get("text"):
            return {}, "neither a title nor words of the seller"
        if "auction" in record:
            record["auction"] = fold(record["auction"]) in ("yes", "y", "true", "1", "auction", "x")
        form = str(record.get("format") or "").lower()
        if form not in ("text", "html", "reply"):
            record.pop("format", None)
            if is_html(str(record.get("text", ""))):
                record["format"] = "html"
        self._money(record)
        return record, ""

    def _money(self, record: dict[str, Any]) -> None:
        from sayso.intake.money import parse_price
        from sayso.intake.record import currency_code, two_currencies

        code = currency_code(str(record.get("currency") or "")) or self.currency
        if code:
            record["currency"] = code
        notes = []
        for key in ("price", "shipping"):
            if key not in record:
                continue
            cell = str(record[key])
            found = parse_price(cell, currency=code, decimal=self.decimal)
            if found is None or found.amount is None:
                why = found.doubt if found is not None and found.doubt else f"“{cell[:40]}” is no amount"
                notes.append(f"{key.capitalize()}: {why}.")
                record.pop(key)
                continue
            record[key] = str(found.amount)
            if key == "price" and found.currency:
                if code and found.currency != code:
                    notes.append(two_currencies(found.currency, code))
                record["currency"] = found.currency
        if notes:
            record["notes"] = notes


def match_columns(names: Sequence[str], chosen: Mapping[str, str] | None = None) -> Columns:
    """The meaning of each column. `chosen` maps a meaning to the name of the column that the user gave for it.

    A chosen column that does not exist is left out.
    """
    by_meaning: dict[str, list[int]] = {}
    taken: set[int] = set()
    for wanted, name in (chosen or {}).items():
        at = [i for i, n in enumerate(names) if fold(n) == fold(name) or n.strip() == name.strip()]
        if at:
            by_meaning[wanted] = [at[0]]
            taken.add(at[0])
    scored = sorted(((*meaning(n), i) for i, n in enumerate(names) if i not in taken), key=lambda s: (-s[1], s[2]))
    for name, _, i in scored:
        if not name or (name in by_meaning and (name not in MANY or name in (chosen or {}))):
            continue
        by_meaning.setdefault(name, []).append(i)
    return Columns(tuple(names), {k: tuple(sorted(v)) for k, v in by_meaning.items()})
