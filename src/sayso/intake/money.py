"""Amounts of money as people write them. What can be read two ways is left open and the doubt is said.

The signs and words are data (`lexicon/cues/money.toml`); the notation of numbers is code.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Mark = Literal[".", ","]

# Digits in groups of three parted by a space or an apostrophe, or digits in a run; then anything parted by . or ,
_NUMBER = r"(?:\d{1,3}(?:[ \u00a0\u202f'’]\d{3})+(?!\d)|\d+)(?:[.,]\d+)*"
_DASHES = r"(?:[.,][-–—]{1,2}(?!\d)|[.,](?!\d))?"  # the ',-' and '.–' that stand for 'no cents'
MOST = Decimal(10) ** 10


@dataclass(frozen=True)
class Price:
    """An amount as written at `start`:`end`. `amount` or `currency` is null where it is open, and `doubt` says why."""

    amount: Decimal | None
    currency: str | None
    raw: str
    start: int = 0
    end: int = 0
    doubt: str = ""


@dataclass(frozen=True)
class MoneyWords:
    """The money words of a lexicon, ready to match."""

    codes: dict[str, tuple[str, str]] = field(hash=False)
    """Folded sign, code or word → (kind, value)."""
    marks: dict[str, str] = field(hash=False)
    """Currency → '.', ',' or 'none' (no cents), where its prices are written in one way."""
    amount: re.Pattern[str] = field(hash=False)
    keyed: re.Pattern[str] = field(hash=False)
    after: re.Pattern[str] = field(hash=False)
    filler: re.Pattern[str] = field(hash=False)
    offered: re.Pattern[str] = field(hash=False)
    """What directly behind an amount makes it the one asked ('or nearest offer', 'posted')."""
    past: re.Pattern[str] = field(hash=False)
    """What makes an amount one that somebody paid ('I paid')."""
    shipping: frozenset[str]
    auction: frozenset[str]
    free: frozenset[str]


def _alternatives(forms: Iterable[str]) -> str:
    return "|".join(re.escape(f).replace(r"\ ", r"\s?") for f in sorted(set(forms), key=lambda f: (-len(f), f)))


def _bounded(forms: Iterable[str]) -> str:
    """Alternatives that do not start or end inside a word; signs and CJK words may touch what they stand beside."""
    words = [f for f in forms if f[0].isalpha() and not _cjk(f[0])]
    others = [f for f in forms if f not in words]
    parts = []
    if words:
        # A word may touch a digit ('45euro', 'USD45'), but no letter.
        parts.append(rf"(?<![^\W\d_])(?:{_alternatives(words)})(?![^\W\d_])")
    if others:
        parts.append(f"(?:{_alternatives(others)})")
    return "|".join(parts)


def _cjk(char: str) -> bool:
    return "\u3040" <= char <= "\u9fff" or "\uff00" <= char <= "\uffef"


def _rows(lexicon: Lexicon | None) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    if lexicon is not None:
        return tuple((w.kind, w.value or "", w.forms) for w in lexicon.words)
    from sayso.lexicon.load import parse, shipped

    # Only the one file: a paste must not wait for the whole lexicon before its price is read.
    found = parse(shipped() / "cues" / "money.toml").get("word", [])
    return tuple((str(r["kind"]), str(r.get("value") or ""), tuple(r["forms"])) for r in found)


_BY_LEXICON: dict[int, tuple[Any, MoneyWords]] = {}


def money_words(lexicon: Lexicon | None = None) -> MoneyWords:
    """The words of `lexicon`, or of the shipped data alone."""
    known = _BY_LEXICON.get(id(lexicon))
    if known is None or known[0] is not lexicon:
        if len(_BY_LEXICON) > 16:
            _BY_LEXICON.clear()
        known = _BY_LEXICON[id(lexicon)] = (lexicon, _compile(_rows(lexicon)))
    return known[1]


@lru_cache(maxsize=8)
def _compile(rows: tuple[tuple[str, str, tuple[str, ...]], ...]) -> MoneyWords:
    by_kind: dict[str, list[str]] = {}
    codes: dict[str, tuple[str, str]] = {}
    marks: dict[str, str] = {}
    for kind, value, forms in rows:
        by_kind.setdefault(kind, []).extend(forms)
        if kind in ("currency", "currency_usual", "currency_shared"):
            for form in forms:
                codes.setdefault(_fold(form), (kind, value))
        elif kind in ("decimal_point", "decimal_comma", "no_cents"):
            for form in forms:
                marks[form] = {"decimal_point": ".", "decimal_comma": ",", "no_cents": "none"}[kind]
    signs = [f for kind in ("currency", "currency_usual", "currency_shared") for f in by_kind.get(kind, [])] or ["¤"]
    sign = _bounded(signs)
    number = rf"(?P<number>{_NUMBER})(?P<k>k\b)?(?P<dash>{_DASHES})"
    amount = rf"(?:(?P<before>{sign})\s?|(?<![\w.,])){number}(?:\s?(?P<after>{sign}))?"
    none = ["\x00"]
    price, shipping, auction = (by_kind.get(k, none) for k in ("price_key", "shipping_key", "auction_key"))
    link = _bounded(by_kind.get("price_link", none))
    return MoneyWords(
        codes=codes,
        marks=marks,
        amount=re.compile(amount, re.I),
        keyed=re.compile(rf"(?P<key>{_bounded([*price, *shipping, *auction])})(?:[\s:=–—-]|{link})*\Z", re.I),
        after=re.compile(rf"\s?(?:[(+&]\s?)?(?P<key>{_bounded(shipping)})", re.I),
        filler=re.compile(rf"(?:{_bounded(by_kind.get('price_filler', none))}|[\s:;,.()\[\]+~≈*!/&-])+", re.I),
        offered=re.compile(rf"\s?[(,+]?\s?(?:{_bounded(by_kind.get('price_offered', none))})", re.I),
        past=re.compile(_bounded(by_kind.get("price_past", none)), re.I),
        shipping=frozenset(map(_fold, shipping)),
        auction=frozenset(map(_fold, auction)),
        free=frozenset(map(_fold, by_kind.get("free", []))),
    )


def _fold(text: str) -> str:
    return " ".join(text.split()).casefold()


def read_number(text: str, *, currency: str | None = None, decimal: str | None = None) -> tuple[Decimal | None, str]:
    """(amount, doubt) of a number as written. `decimal` is the decimal mark where it is known from elsewhere.

    A single mark before exactly three digits groups thousands or parts decimals; only evidence decides: the usual
    notation of the currency, or the mark given. Without it the amount is null.
    """
    digits = re.sub(r"[ \u00a0\u202f'’]", "", text)
    marks = re.findall(r"[.,]", digits)
    if not marks:
        return _checked(digits)
    parts = re.split(r"[.,]", digits)
    if len(set(marks)) == 2:
        last = marks[-1]
        if marks.count(last) > 1 or len(parts[-1]) not in (1, 2):
            return None, f"“{text}” is not a price in any usual notation"
        if not _grouped(parts[:-1], marks[0]):
            return None, f"“{text}” is not a price in any usual notation"
        return _checked("".join(parts[:-1]) + "." + parts[-1])
    mark = marks[0]
    if len(marks) > 1:
        if _grouped(parts, mark):
            return _checked("".join(parts))
        return None, f"“{text}” is not a price in any usual notation"
    if len(parts[1]) in (1, 2):
        return _checked(".".join(parts))
    if len(parts[1]) == 3 and 1 <= len(parts[0]) <= 3 and not parts[0].startswith("0"):
        known = decimal or None
        if known is None and currency is not None:
            known = {"none": "." if mark == "," else ","}.get(currency, currency)
        if known is not None and known != mark:
            return _checked("".join(parts))
        return None, f"“{text}” can be read as {parts[0]}{parts[1]} or as {parts[0]} and a fraction"
    return None, f"“{text}” is not a price in any usual notation"


def _grouped(parts: list[str], mark: str) -> bool:
    if not 1 <= len(parts[0]) <= 3:
        return False
    thousands = all(len(p) == 3 for p in parts[1:])
    indian = mark == "," and len(parts[-1]) == 3 and all(len(p) == 2 for p in parts[1:-1]) and len(parts[0]) <= 2
    return thousands or indian


def _checked(digits: str) -> tuple[Decimal | None, str]:
    number = Decimal(digits) if len(digits) <= 16 else MOST
    return (number, "") if number < MOST else (None, "the amount is too large to be a price")


def find_prices(text: str, *, decimal: str | None = None, words: MoneyWords | None = None) -> list[Price]:
    """Every number in `text` that stands beside a currency, in order, and every other number with a null currency."""
    words = words or money_words()
    found = []
    for match in words.amount.finditer(text):
        follows = text[match.end() : match.end() + 1]
        if follows.isalnum() and not _cjk(follows) and not match["after"]:
            continue  # '45cm', '12th': no amount
        found.append(_price(match, words, decimal))
    return found


def _price(match: re.Match[str], words: MoneyWords, decimal: str | None) -> Price:
    signs = [words.codes[_fold(s)] for s in (match["before"], match["after"]) if s and _fold(s) in words.codes]
    exact = [value for kind, value in signs if kind == "currency"]
    currency, doubt = None, ""
    if exact:
        currency = exact[0] if len(set(exact)) == 1 else None
        doubt = "" if currency else "two currencies stand beside one amount"
    elif signs:
        kind, value = signs[0]
        sign = (match["before"] or match["after"] or "").strip()
        if kind == "currency_usual":
            currency, doubt = value, f"“{sign}” was read as {value}; other currencies use it too"
        else:
            doubt = f"“{sign}” can be {value.replace(' ', ', ')}"
    amount, why = read_number(
        match["number"], currency=words.marks.get(currency) if currency else None, decimal=decimal
    )
    if amount is not None and match["k"]:
        amount *= 1000
    return Price(amount, currency, match.group().strip(), match.start(), match.end(), why or doubt)


def parse_price(
    text: str, *, currency: str | None = None, decimal: str | None = None, words: MoneyWords | None = None
) -> Price | None:
    """The one price that a cell or field holds, or null where it holds none, several, or other words.

    `currency` applies where the cell names none; `decimal` is the decimal mark of the column where that is known.
    """
    words = words or money_words()
    cell = text.strip()
    if not cell or len(cell) > 80:
        return None
    if cell.startswith(("-", "−")) and cell[1:2].isdigit():
        return None
    found = find_prices(cell, decimal=decimal, words=words)
    if not found:
        return None
    if len(found) > 1:
        shipping = [p for p in found[1:] if _is_shipping(cell, p, words)]
        if len(found) - len(shipping) != 1:
            return Price(None, None, cell, 0, len(cell), f"“{cell}” holds more than one amount")
    price = found[0]
    left, right = cell[: price.start], cell[price.end : found[1].start if len(found) > 1 else len(cell)]
    for rest in (left, right):
        if rest and not words.filler.fullmatch(rest) and not words.keyed.search(rest.strip() + " "):
            return None
    shared = price.currency is None or (price.amount is not None and bool(price.doubt))  # '$' where CAD is named
    if currency and shared and price.currency != currency:
        return _in_currency(price, currency, decimal, words)
    return price


def _in_currency(price: Price, currency: str, decimal: str | None, words: MoneyWords) -> Price:
    """`price`, which names no currency of its own, read as an amount of `currency`."""
    match = words.amount.search(price.raw)
    if match is None:
        return price
    amount, why = read_number(match["number"], currency=words.marks.get(currency), decimal=decimal)
    if amount is not None and match["k"]:
        amount *= 1000
    return Price(amount, currency, price.raw, price.start, price.end, why)


def _is_shipping(text: str, price: Price, words: MoneyWords) -> bool:
    before = words.keyed.search(text[max(0, price.start - 40) : price.start])
    after = words.after.match(text, price.end)
    key = _fold(before["key"]) if before else _fold(after["key"]) if after else ""
    return key in words.shipping or "+" in text[max(0, price.start - 3) : price.start]


@dataclass(frozen=True)
class Asked:
    """What a pasted listing asks: price, shipping, whether it is an auction; and the doubts, in plain words."""

    price: Decimal | None = None
    currency: str | None = None
    shipping: Decimal | None = None
    auction: bool = False
    notes: tuple[str, ...] = ()


def asking_price(text: str, *, words: MoneyWords | None = None) -> Asked:
    """The price that the words of a listing ask.

    Only an amount that a key introduces ('Price: £45', 'p&p 4 EUR'), that an offer follows ('£45 ono'), that stands
    alone on its line or is set apart at its end counts: sellers also write what they paid, what others ask and what a
    guide says.
    """
    words = words or money_words()
    prices: list[Price] = []
    shipping: list[Price] = []
    auction = False
    for line in text.split("\n"):
        if len(line) > 400:
            spans = [m for m in words.amount.finditer(line) if m["before"] or m["after"]]
        else:
            spans = list(words.amount.finditer(line))
        for match in spans:
            follows = line[match.end() : match.end() + 1]
            if follows.isalnum() and not _cjk(follows) and not match["after"]:
                continue
            before = words.keyed.search(line[max(0, match.start() - 40) : match.start()])
            after = words.after.match(line, match.end())
            named = bool(match["before"] or match["after"] or len(match["dash"]) > 1)
            rest = line[match.end() :].strip(" .;,)")
            bare = not rest or words.filler.fullmatch(rest) is not None
            key = _fold(before["key"]) if before else _fold(after["key"]) if after and named else ""
            price = _price(match, words, None)
            if key in words.shipping:
                if named or bare:
                    shipping.append(price)
            elif key:
                if named or bare:
                    prices.append(price)
                    auction = auction or key in words.auction
            elif (named and not words.past.search(line, max(0, match.start() - 60), match.start())) and (
                words.offered.match(line, match.end())
                or (bare and (not line[: match.start()].strip() or _set_apart(line, match.start())))
            ):
                prices.append(price)
    return _settle(prices, shipping, auction)


def _set_apart(line: str, at: int) -> bool:
    """Whether a dash, a bar or a bracket cuts off what ends the line ('… mono - £85'), as sellers do in titles."""
    return re.search(r"(?:\s[-–—|/~]+|[([|])\s*\Z", line[:at]) is not None


def _settle(prices: list[Price], shipping: list[Price], auction: bool) -> Asked:
    notes: list[str] = []
    amounts = {(p.amount, p.currency) for p in prices if p.amount is not None}
    currencies = {p.currency for p in prices if p.currency}
    price = currency = carriage = None
    if len({a for a, _ in amounts}) == 1 and len(currencies) <= 1:
        price = next(iter(amounts))[0]
        currency = next(iter(currencies), None)
    elif len(amounts) > 1:
        notes.append("The listing names more than one price; give the price asked with --price.")
    doubts = [p.doubt for p in prices if p.doubt]
    if doubts:
        notes.append(f"Price: {doubts[0]}.")
    carriages = {p.amount for p in shipping if p.amount is not None}
    if len(carriages) == 1 and {p.currency for p in shipping} <= {currency, None}:
        carriage = next(iter(carriages))
    return Asked(price, currency, carriage, auction, tuple(notes))


def decimal_mark(samples: Iterable[str]) -> Mark | None:
    """The decimal mark of a column of prices, from those cells that show it beyond doubt; null where they differ."""
    seen: set[str] = set()
    for cell in samples:
        for number in re.findall(_NUMBER, cell):
            digits = re.sub(r"[ \u00a0\u202f'’]", "", number)
            marks = re.findall(r"[.,]", digits)
            tail = re.split(r"[.,]", digits)[-1]
            if not marks:
                continue
            if len(set(marks)) == 2 or (len(marks) == 1 and len(tail) in (1, 2)):
                seen.add(marks[-1])
            elif len(marks) > 1:
                seen.add("," if marks[0] == "." else ".")
    if seen == {"."}:
        return "."
    return "," if seen == {","} else None
