"""What the copy is worth to this buyer: given outright, or estimated from sales the buyer has noted down."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from sayso.judgement.dossier import Dossier, JudgementError
from sayso.judgement.sales import Sale, Sales, pressing_of, read_sales, same

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

CENT = Decimal("0.01")
FAR = 2.5
"""A price so many times that of the middle, or so much smaller, is told. A convention of this program."""

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


def estimate(offer: Offer, dossier: Dossier, default_doubt: float, lexicon: Lexicon | None = None) -> Estimate | None:
    """The worth of each pressing of the dossier; null where the buyer gave none. Raises `JudgementError`.

    Figures given outright go before what the sales say. `lexicon` knows other names for the columns of the sales.
    """
    check_offer(offer)
    currency = offer.worth_currency or offer.currency
    given = _given(offer.worth, dossier)
    if offer.sold is not None:
        found = read_sales(offer.sold, lexicon)
        return _from_sales(found, dossier, currency, offer.grade, default_doubt, given)
    if not offer.worth:
        return None
    if currency is None:
        raise JudgementError("the worths have no currency; give one, such as GBP")
    missing = [p.id for p in dossier.pressings if p.id not in given]
    if missing:
        names = {p.id: p.name for p in dossier.pressings}
        raise JudgementError(
            f"nothing says what one of its pressings, {missing[0]} ({names[missing[0]]}), is worth to you; say that too"
        )
    worth = {p.id: given[p.id] for p in dossier.pressings}
    return Estimate(currency, worth, dict.fromkeys(worth, default_doubt))


def _given(worth: Mapping[str, Decimal], dossier: Dossier) -> dict[str, Decimal]:
    """The buyer's own figures by pressing; 'first' and 'later' stand for those without one of their own."""
    ids = [p.id for p in dossier.pressings]
    called = {p.id.casefold(): p.id for p in dossier.pressings}
    for p in dossier.pressings:  # by the whole name, or by what stands before its first comma
        for words in (p.name, p.name.split(",")[0]):
            called.setdefault(" ".join(words.casefold().split()), p.id)
    worth = {called.get(" ".join(name.casefold().split()), name): amount for name, amount in worth.items()}
    out: dict[str, Decimal] = {name: Decimal(amount) for name, amount in worth.items() if name in ids}
    for name, amount in worth.items():
        if name in ids:
            continue
        if name not in ("first", "later"):
            there = ", ".join(f"{p.id} ({p.name})" for p in dossier.pressings)
            raise JudgementError(f"{name!r} is no pressing of this record, which has {there}; or use first and later")
        for i in ids:
            if (i in dossier.first) == (name == "first"):
                out.setdefault(i, Decimal(amount))
    return out


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


def _from_sales(
    found: Sales,
    dossier: Dossier,
    currency: str | None,
    grade: str | None,
    default_doubt: float,
    given: Mapping[str, Decimal],
) -> Estimate:
    """What the sales say of each pressing; `given` are the buyer's own figures, which go before them."""
    mine, notes = _mine(found, dossier)
    seen = sorted({s.currency for s in mine})
    if currency is None:
        if len(seen) != 1:
            raise JudgementError(
                f"the sales of this record are in {', '.join(seen) or 'no currency'}; say which with --currency"
            )
        currency = seen[0]
    used = [s for s in mine if s.currency == currency]
    if other := len(mine) - len(used):
        what = "sale in another currency than" if other == 1 else "sales in other currencies than"
        notes.append(f"{other} {what} {currency} left out; nothing is converted.")
    target = share_of_mint(grade) if grade else None
    if target is None:
        target = GRADES["VG+"]
        notes.append("The copy's grade is not known; its worth is given for VG+.")
    worth: dict[str, Decimal] = {}
    doubt: dict[str, float] = {}
    for p in dossier.pressings:
        if p.id in given:
            worth[p.id], doubt[p.id] = given[p.id], default_doubt
            continue
        own = [s for s in used if p.id in pressing_of(s, dossier)]
        if not own:
            raise JudgementError(
                f"the sales hold none of the pressing {p.id} of this record in {currency}; add --worth {p.id}=AMOUNT"
            )
        worth[p.id], doubt[p.id], said = _middle(own, target, default_doubt)
        notes.append(f"{p.name or p.id}: {said}")
    return Estimate(currency, worth, doubt, (RULE, *notes))


def _mine(found: Sales, dossier: Dossier) -> tuple[list[Sale], list[str]]:
    """The sales of this record, and what is to be said of those left out."""
    notes = []
    if found.faults:
        many = f" and {len(found.faults) - 1} more" if len(found.faults) > 1 else ""
        notes.append(f"Of the list of sales, {found.faults[0]}{many}; left out.")
    numbered = any(s.number for s in found.sales)  # a list for one record needs no numbers
    mine = [s for s in found.sales if not numbered or not dossier.number or same(s.number, dossier.number)]
    if numbered and (bare := sum(not s.number for s in found.sales)):
        notes.append(f"{bare} of the sales without a catalogue number left out.")
    if unknown := [s for s in mine if not pressing_of(s, dossier)]:
        notes.append(
            f"The pressing {unknown[0].pressing!r} (line {unknown[0].line}) is none of this record's; "
            f"{len(unknown)} left out. They are {', '.join(p.id for p in dossier.pressings)}, or first and later."
        )
    return [s for s in mine if pressing_of(s, dossier)], notes


def _middle(sales: Sequence[Sale], target: Decimal, default_doubt: float) -> tuple[Decimal, float, str]:
    """Worth at a share of Near Mint, its relative uncertainty, and what it rests on, in words."""
    from math import exp, log

    shares = [share_of_mint(s.grade) for s in sales]
    logs = [log(float(s.price / (share or GRADES["VG+"]))) for s, share in zip(sales, shares, strict=True)]
    middle, error = robust(logs)
    many = len(sales)
    if error == float("inf"):  # one or two: no better known than any figure, and worse where two differ
        error = max(default_doubt, (max(logs) - min(logs)) / 2)
    # A handful of sales that happen to agree is no proof of a fixed price.
    doubt = max(error, default_doubt / many**0.5) if many > 2 else error
    said = f"{many} sale{'s' * (many > 1)} noted"
    if years := [s.year for s in sales if s.year]:
        said += f", {min(years)} to {max(years)}" if min(years) < max(years) else f", {min(years)}"
    if undated := sum(1 for s in sales if s.date and not s.year):
        said += f", {undated} with a date in which no year can be read"
    if ungraded := shares.count(None):
        said += f", {ungraded} without a known grade taken as VG+"
    far = [s for s, x in zip(sales, logs, strict=True) if many > 3 and abs(x - middle) > log(FAR)]
    if far:
        said += f"; {far[0].price} {far[0].currency} (line {far[0].line}) is far from the others and hardly counts"
    return money(Decimal(str(exp(middle))) * target), doubt, said + "."
