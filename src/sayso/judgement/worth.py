"""What the copy is worth to this buyer: given outright, or estimated from sales the buyer has noted down."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from pathlib import Path
from statistics import median

from sayso.judgement.dossier import Dossier, JudgementError

CENT = Decimal("0.01")
COLUMNS = ("label", "catalogue number", "pressing", "grade", "price", "currency", "date")

GRADES: Mapping[str, Decimal] = {
    "M": Decimal("1"),
    "NM": Decimal("1"),
    "EX": Decimal("0.5"),
    "VG+": Decimal("0.5"),
    "VG": Decimal("0.25"),
    "G": Decimal("0.125"),
    "P": Decimal("0.025"),
}
"""Share of the Near Mint price. VG+ one half (grade-vgplus-half) and VG one quarter (grade-vg-quarter) are published
rules of thumb of a US guide, EX stands beside VG+ by comparison of the scales (grade-scale-uk); G and P are from memory
(grade-good-poor). 'About' and signs such as VG++ or EX- lie between and are put half-way."""

RULE = (
    "Grades are brought together by a rule of thumb of one US guide (VG+ half of Near Mint, VG a quarter); prices of "
    "one record may not follow it."
)


@dataclass(frozen=True)
class Costs:
    """What is paid beside the price: `shipping` and `fees` in money, `tax` as a share of price and shipping."""

    shipping: Decimal = Decimal(0)
    fees: Decimal = Decimal(0)
    tax: Decimal = Decimal(0)

    def total(self, price: Decimal) -> Decimal:
        """All that is paid at a price."""
        return (price + self.shipping) * (1 + self.tax) + self.fees

    def price_for(self, total: Decimal) -> Decimal:
        """The price at which `total` is paid; never below nil."""
        return max((total - self.fees) / (1 + self.tax) - self.shipping, Decimal(0))


@dataclass(frozen=True)
class Offer:
    """What is asked, and what the buyer knows of money. Amounts in `currency` unless said otherwise.

    `worth` maps a pressing's id (or 'first', 'later') to what it is worth in the condition offered; `sold` is a CSV of
    past sales instead. `price` is the price asked, or in an auction the standing bid.
    """

    price: Decimal | None = None
    currency: str | None = None
    auction: bool = False
    bidders: int | None = None
    hours_left: float | None = None
    worth: Mapping[str, Decimal] = field(default_factory=dict)
    worth_currency: str | None = None
    sold: Path | str | None = None
    grade: str | None = None
    costs: Costs = Costs()
    max_regret: float = 0.2


@dataclass(frozen=True)
class Estimate:
    """Worth of each pressing, its relative uncertainty (one standard error, share), and what is to be said of it."""

    currency: str
    worth: Mapping[str, Decimal]
    doubt: Mapping[str, float]
    notes: tuple[str, ...] = ()


def money(amount: float | Decimal) -> Decimal:
    """An amount to the cent."""
    return Decimal(str(amount)).quantize(CENT, rounding=ROUND_HALF_UP)


def check_offer(offer: Offer) -> None:
    """Raises `JudgementError`: negative amounts, an unusable limit, amounts in two currencies."""
    amounts = {"the price": offer.price, "the shipping": offer.costs.shipping, "the fees": offer.costs.fees}
    amounts |= {f"the worth of {k}": v for k, v in offer.worth.items()}
    for what, amount in amounts.items():
        if amount is not None and (not Decimal(amount).is_finite() or amount < 0):
            raise JudgementError(f"{what} is {amount}; amounts of money must not be negative")
    if not 0 <= offer.costs.tax < 10:
        raise JudgementError(f"the tax is {offer.costs.tax}; give it as a share, such as 0.19")
    if not 0 < offer.max_regret < 1:
        raise JudgementError(f"the limit of regret is {offer.max_regret:g}; it must lie between 0 and 1, such as 0.2")
    if offer.bidders is not None and offer.bidders < 0:
        raise JudgementError("the number of bidders must not be negative")
    if offer.currency and offer.worth_currency and offer.currency != offer.worth_currency:
        raise JudgementError(
            f"the price is in {offer.currency} and the worths are in {offer.worth_currency}; nothing is converted, so "
            "give both in one currency"
        )


def estimate(offer: Offer, dossier: Dossier, default_doubt: float) -> Estimate | None:
    """The worth of each pressing of the dossier; null where the buyer gave none. Raises `JudgementError`."""
    check_offer(offer)
    currency = offer.worth_currency or offer.currency
    if offer.worth:
        if currency is None:
            raise JudgementError("the worths have no currency; give one with --currency")
        worth = _by_pressing(offer.worth, dossier)
        return Estimate(currency, worth, dict.fromkeys(worth, default_doubt))
    if offer.sold is not None:
        return _from_sales(read_sales(offer.sold), dossier, currency, offer.grade, default_doubt)
    return None


def _by_pressing(given: Mapping[str, Decimal], dossier: Dossier) -> dict[str, Decimal]:
    ids = [p.id for p in dossier.pressings]
    out: dict[str, Decimal] = {}
    for name, amount in given.items():
        if name in ids:
            out[name] = Decimal(amount)
    for name, amount in given.items():
        if name in ids:
            continue
        if name in ("first", "later"):
            for i in ids:
                if (i in dossier.first) == (name == "first"):
                    out.setdefault(i, Decimal(amount))
            continue
        raise JudgementError(f"--worth {name}: this record has the pressings {', '.join(ids)}; or use first and later")
    missing = [i for i in ids if i not in out]
    if missing:
        raise JudgementError(f"no worth is given for the pressing {missing[0]}; add --worth {missing[0]}=AMOUNT")
    return {i: out[i] for i in ids}


@dataclass(frozen=True)
class Sale:
    """One past sale, as the buyer noted it."""

    label: str
    number: str
    pressing: str
    grade: str
    price: Decimal
    currency: str
    date: str


def read_sales(path: Path | str) -> tuple[Sale, ...]:
    """Sales from a CSV with the columns label, catalogue number, pressing, grade, price, currency, date.

    Raises `JudgementError` naming the line.
    """
    try:
        with Path(path).open(encoding="utf-8-sig", newline="") as handle:
            rows = list(csv.DictReader(handle))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise JudgementError(f"{path} cannot be read ({error})") from error
    out = []
    for n, raw in enumerate(rows, 2):
        row = {(k or "").strip().casefold().replace("_", " "): (v or "").strip() for k, v in raw.items() if k}
        absent = [c for c in ("pressing", "price", "currency") if not row.get(c)]
        if absent:
            raise JudgementError(f"{path}, line {n}: no {absent[0]}; the columns are {', '.join(COLUMNS)}")
        try:
            price = Decimal(row["price"])
        except InvalidOperation as error:
            raise JudgementError(f"{path}, line {n}: {row['price']!r} is no price; write it like 120.50") from error
        if not price.is_finite() or price <= 0:
            raise JudgementError(f"{path}, line {n}: the price must be above nil")
        currency = row["currency"].upper()
        if not re.fullmatch("[A-Z]{3}", currency):
            raise JudgementError(f"{path}, line {n}: {row['currency']!r} is no currency; use three letters such as USD")
        out.append(
            Sale(
                row.get("label", ""),
                row.get("catalogue number", ""),
                row["pressing"],
                row.get("grade", ""),
                price,
                currency,
                row.get("date", ""),
            )
        )
    return tuple(out)


def share_of_mint(grade: str) -> Decimal | None:
    """What a grade fetches, as a share of Near Mint, by the published rule of thumb; null where it cannot be read."""
    plain = grade.upper().replace(" ", "").split("/")[0]
    plain = (
        plain.replace("NEARMINT", "NM")
        .replace("VERYGOODPLUS", "VG+")
        .replace("VERYGOOD", "VG")
        .replace("EXCELLENT", "EX")
    )
    plain = re.sub(r"^(MINT|M)-$", "NM", plain)
    m = re.match(r"(NM|M|EX|E|VG|G|P)(\+{1,2}|-|)", plain)
    if not m:
        return None
    base = {"E": "EX"}.get(m[1], m[1])
    ladder = ["NM", "VG+", "VG", "G", "P"]
    if base in ("M", "NM"):
        return (GRADES["NM"] + GRADES["VG+"]) / 2 if m[1] == "NM" and m[2] == "-" else GRADES["NM"]
    if base == "EX":
        shift = {"+": "up", "-": "down"}.get(m[2], "")
        at = 1
    elif base == "VG" and m[2].startswith("+"):
        at, shift = 1, "up" if m[2] == "++" else ""
    else:
        at, shift = ladder.index(base), {"+": "up", "-": "down"}.get(m[2], "")
    here = GRADES[ladder[at]]
    if shift == "up":
        return (here + GRADES[ladder[at - 1]]) / 2
    if shift == "down" and at + 1 < len(ladder):
        return (here + GRADES[ladder[at + 1]]) / 2
    return here


def robust(values: Sequence[float]) -> tuple[float, float]:
    """Median and its standard error: 1.2533 · 1.4826 · MAD / √n, the usual figures for a normal middle (Huber 1981).

    With fewer than three values the error is not estimated and comes back as infinite.
    """
    middle = median(values)
    if len(values) < 3:
        return middle, float("inf")
    mad = median(abs(v - middle) for v in values)
    return middle, 1.2533 * 1.4826 * mad / len(values) ** 0.5


def _same(a: str, b: str) -> bool:
    return re.sub(r"\W", "", a).casefold() == re.sub(r"\W", "", b).casefold()


def _from_sales(
    sales: Sequence[Sale], dossier: Dossier, currency: str | None, grade: str | None, default_doubt: float
) -> Estimate:
    from math import exp, log

    mine = [s for s in sales if not s.number or not dossier.number or _same(s.number, dossier.number)]
    found = sorted({s.currency for s in mine})
    if currency is None:
        if len(found) != 1:
            raise JudgementError(f"the sales are in {', '.join(found) or 'no currency'}; say which with --currency")
        currency = found[0]
    used = [s for s in mine if s.currency == currency]
    notes = [RULE]
    if len(used) < len(mine):
        notes.append(
            f"{len(mine) - len(used)} sales in other currencies than {currency} are left out; nothing is converted."
        )
    target = share_of_mint(grade) if grade else None
    if target is None:
        target = GRADES["VG+"]
        notes.append("The copy's grade is not known; its worth is given for VG+.")
    worth: dict[str, Decimal] = {}
    doubt: dict[str, float] = {}
    for p in dossier.pressings:
        logs = []
        for s in used:
            alias = s.pressing in ("first", "later") and (p.id in dossier.first) == (s.pressing == "first")
            if not (_same(s.pressing, p.id) or _same(s.pressing, p.name) or alias):
                continue
            share = share_of_mint(s.grade) or GRADES["VG+"]
            logs.append(log(float(s.price / share)))
        if not logs:
            raise JudgementError(f"the sales hold none of the pressing {p.id} of this record in {currency}")
        middle, error = robust(logs)
        worth[p.id] = money(Decimal(str(exp(middle))) * target)
        # A handful of sales that happen to agree is no proof of a fixed price.
        doubt[p.id] = default_doubt if error == float("inf") else max(error, default_doubt / len(logs) ** 0.5)
        notes.append(f"{p.name or p.id}: {len(logs)} sale{'s' if len(logs) > 1 else ''} noted.")
    return Estimate(currency, worth, doubt, tuple(notes))
