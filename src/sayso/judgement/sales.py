"""Past sales as a buyer notes them down, from a table as spreadsheets write it; what they say of each pressing's worth.

A line that cannot be used costs that line, not the others, and is named. Prices are told in their own currency; nothing
is converted.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from sayso.judgement.dossier import Dossier, JudgementError

if TYPE_CHECKING:
    from sayso.intake.money import Price
    from sayso.lexicon import Lexicon

COLUMNS = ("label", "catalogue number", "pressing", "grade", "price", "currency", "date")
NEEDED = ("pressing", "price")
ALIKE = 86.0
"""So alike must a column's name be to a known one (rapidfuzz ratio, 0 to 100). A convention of this program."""
LARGEST = 20_000_000
"""Bytes read of a list of sales."""
KIND = "sold_column"
"""The words of the lexicon that name its columns."""


@dataclass(frozen=True)
class Sale:
    """One past sale, as the buyer noted it. `line` counts from 1, the head of the table included."""

    label: str
    number: str
    pressing: str
    grade: str
    price: Decimal
    currency: str
    date: str
    line: int = 0

    @property
    def year(self) -> int | None:
        """The year of sale; null where the date shows none."""
        found = re.findall(r"(?<!\d)(19\d\d|20\d\d)(?!\d)", self.date)
        return int(found[0]) if len(found) == 1 else None


@dataclass(frozen=True)
class Sales:
    """The sales of a file, and what was wrong with the lines that are left out."""

    sales: tuple[Sale, ...]
    faults: tuple[str, ...] = ()


def read_sales(path: Path | str, lexicon: Lexicon | None = None) -> Sales:
    """Sales from a table with the columns label, catalogue number, pressing, grade, price, currency, date.

    Other names for them are known from the lexicon; any delimiter and encoding is read. A line without a pressing, a
    price or a currency is left out and named in `faults`. Raises `JudgementError` where nothing of it can be used.
    """
    from sayso.intake.decode import decode
    from sayso.intake.errors import IntakeError

    try:
        with Path(path).open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        raise JudgementError(f"{path} cannot be read: {error.strerror or error}") from error
    if len(data) > LARGEST:
        raise JudgementError(f"{path} is larger than the {LARGEST // 1_000_000} MB read of a list of sales")
    try:
        text = decode(data, str(path))[0] if data.strip() else ""
    except IntakeError as error:
        raise JudgementError(str(error)) from error
    if not text.strip():
        raise JudgementError(f"{path} is empty; its first line must name the columns: {', '.join(COLUMNS)}")
    return _table(text, str(path), _forms(lexicon))


def _forms(lexicon: Lexicon | None) -> tuple[tuple[str, str], ...]:
    """(form, column), folded; the names themselves are always among them."""
    own = [(name, name) for name in COLUMNS]
    words = lexicon.words if lexicon is not None else ()
    return (*own, *((_fold(f), str(w.value)) for w in words if w.kind == KIND for f in w.forms))


def _fold(name: str) -> str:
    return " ".join(re.sub(r"[\W_]+", " ", name.casefold()).split())


@lru_cache(maxsize=4)
def _table(text: str, path: str, forms: tuple[tuple[str, str], ...]) -> Sales:
    lines = text.removeprefix("\ufeff").splitlines(keepends=True)
    head, best, rows = 0, dict[str, int](), list[list[str]]()
    for delimiter in (",", ";", "\t", "|"):
        try:
            found = list(csv.reader(lines, delimiter=delimiter))
        except csv.Error:
            continue
        for n, row in enumerate(found[:8]):  # a title may stand above the names of the columns
            named = _columns(row, forms)
            if len(named) > len(best):
                head, best, rows = n, named, found
    missing = [c for c in NEEDED if c not in best]
    if missing:
        raise JudgementError(
            f"{path} has no column for the {missing[0]}; its first line must name the columns: {', '.join(COLUMNS)}"
        )
    decimal = _decimal(rows[head + 1 :], best["price"])
    sales: list[Sale] = []
    faults: list[str] = []
    for n, row in enumerate(rows[head + 1 :], head + 2):
        if not any(cell.strip() for cell in row):
            continue
        one = _sale(row, best, n, decimal)
        if isinstance(one, Sale):
            sales.append(one)
        else:
            faults.append(f"line {n}: {one}")
    if not sales:
        why = f"; {faults[0]}" if faults else ""
        raise JudgementError(f"{path} holds no sale that can be used{why}")
    return Sales(tuple(sales), tuple(faults))


def _columns(row: Sequence[str], forms: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Which column holds what: the exact names first, then what is nearly one."""
    from rapidfuzz import fuzz

    exact = dict(forms)
    out: dict[str, int] = {}
    names = [_fold(cell) for cell in row]
    for i, name in enumerate(names):
        if name in exact:
            out.setdefault(exact[name], i)
    for i, name in enumerate(names):
        if len(name) < 4 or i in out.values():
            continue
        score, column = max((fuzz.ratio(name, form), column) for form, column in forms)
        if score >= ALIKE:
            out.setdefault(column, i)
    return out


def _decimal(rows: Sequence[Sequence[str]], column: int) -> str | None:
    from sayso.intake.money import decimal_mark

    return decimal_mark(row[column] for row in rows[:500] if len(row) > column)


def _sale(row: Sequence[str], columns: Mapping[str, int], n: int, decimal: str | None) -> Sale | str:
    """The sale of one line, or what is wrong with it."""
    cell = {c: row[i].strip() if i < len(row) else "" for c, i in columns.items()}
    if not cell["pressing"]:
        return "it names no pressing"
    code = cell.get("currency", "")
    price = _price(cell["price"], code, decimal)
    if isinstance(price, str):
        return price
    assert price.amount is not None
    assert price.currency is not None
    get = cell.get
    return Sale(
        get("label", ""),
        get("catalogue number", ""),
        cell["pressing"],
        get("grade", ""),
        price.amount,
        price.currency,
        get("date", ""),
        n,
    )


def _price(words: str, code: str, decimal: str | None) -> Price | str:
    from sayso.intake.money import money_words, parse_price

    known = money_words()
    named = code.upper() if re.fullmatch("[A-Za-z]{3}", code) else None
    if code and named is None:
        sign = parse_price(f"{code} 1", words=known)
        named = sign.currency if sign is not None else None
        if named is None:
            return f"{code!r} is no currency; use three letters such as USD"
    if not words:
        return "it names no price"
    if re.match(r"\s*[-−(]", words):
        return f"the price {words!r} is negative"
    price = parse_price(words, currency=named, decimal=decimal, words=known)
    if price is None or price.amount is None:
        why = f" ({price.doubt})" if price is not None and price.doubt else ""
        return f"{words!r} is no price{why}; write it like 120.50"
    if price.amount <= 0:
        return "the price must be above nil"
    if named is not None and (price.currency is None or price.doubt):  # a sign that several currencies use
        return replace(price, currency=named)
    if price.currency is None:
        return "it names no currency; use three letters such as USD"
    if named is not None and price.currency != named:
        return f"the price is in {price.currency} and the column says {named}"
    return price


def pressing_of(sale: Sale, dossier: Dossier) -> tuple[str, ...]:
    """The pressings of the dossier that the buyer may mean: by id, by name, or 'first' and 'later'."""
    named = [p.id for p in dossier.pressings if same(sale.pressing, p.id) or same(sale.pressing, p.name)]
    if named:
        return tuple(named)
    word = _fold(sale.pressing)
    if word in ("first", "later"):
        return tuple(p.id for p in dossier.pressings if (p.id in dossier.first) == (word == "first"))
    return ()


def same(a: str, b: str) -> bool:
    """Whether two names are alike but for case, spaces and signs."""
    x, y = re.sub(r"[\W_]", "", a).casefold(), re.sub(r"[\W_]", "", b).casefold()
    return x == y != ""
