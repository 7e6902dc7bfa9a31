"""The judgement of one offer: odds with their range and reasons, worth, what answers are worth, advice."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from sayso.judgement import assume, explain
from sayso.judgement.advise import Stake, advise, rounded
from sayso.judgement.asking import clash, first_to_ask, worth_of_answers
from sayso.judgement.assume import Assumptions
from sayso.judgement.dossier import Dossier, JudgementError, take
from sayso.judgement.general import ANY, GENERAL, General, any_record
from sayso.judgement.hear import Heard, hear
from sayso.judgement.network import KNOWS, Joint, Kind, Net, build, enumerate_all, zone
from sayso.judgement.outside import Asked, evidence
from sayso.judgement.worth import GRADES, Costs, Estimate, Offer, check_offer, estimate, money, share_of_mint
from sayso.model import Advice, Claim, Dating, Deferral, Finding, Listing, Odds, PressingOdds, Worth

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Array = NDArray[np.float64]
SAME = 0.01
"""A difference in a chance that is none to a buyer."""

NO_DOSSIER = (
    "Nothing is known here of this record: how many early and later copies there are, and what each of them shows. "
    "Without that, odds would be invented."
)


SALES_OF_WHAT = (
    "a list of sales is read by the pressings of a dossier, and there is none for this record; say what an early and a "
    "later copy are worth to you: --worth first=AMOUNT --worth later=AMOUNT"
)
ALL_OVER = (
    "By the words this copy was not made before {year}, and every pressing known here of this record was over by then. "
    "It is another edition, or something is described wrongly; odds over the known ones would mislead."
)


RANGE = (
    "The odds rest on judgements of how sellers write, not on counts. Each judgement has its limits: the range is what "
    "nine in ten sets of them give when all move at once."
)


CAUTION = "These are your own figures: a qualified appraisal may differ, and local law decides on taxes and returns."


@dataclass(frozen=True)
class Judgement:
    """All of it. `values` says for each feature what an answer on it is worth: (amount, 'money' or 'bits')."""

    odds: Odds | None = None
    why_no_odds: str | None = None
    worth: Worth | None = None
    why_no_worth: str | None = None
    advice: Advice | None = None
    first_question: str | None = None
    clashing: frozenset[str] = frozenset()
    """Features firmly described in ways that no one copy can show together."""
    values: Mapping[str, tuple[float, str]] = field(default_factory=dict)

    def value(self, features: Sequence[str]) -> tuple[float, str] | None:
        """What one question on these features is worth: at least its best feature. Null where nothing is known."""
        known = [self.values[f] for f in features if f in self.values]
        return max(known) if known else None


def offer_of(
    listing: Listing,
    *,
    worth: Mapping[str, Decimal] | None = None,
    worth_currency: str | None = None,
    sold: Path | str | None = None,
    max_regret: float | None = None,
    bidders: int | None = None,
    hours_left: float | None = None,
    fees: Decimal | None = None,
    tax: Decimal | None = None,
    **_: Any,
) -> Offer:
    """The offer from the listing's money and what the buyer adds."""
    costs = Costs(listing.shipping or Decimal(0), fees or Decimal(0), tax or Decimal(0))
    return Offer(
        price=listing.price,
        currency=listing.currency,
        auction=listing.auction,
        bidders=bidders,
        hours_left=hours_left,
        worth={k: Decimal(v) for k, v in (worth or {}).items()},
        worth_currency=worth_currency,
        sold=sold,
        costs=costs,
        max_regret=0.2 if max_regret is None else max_regret,
    )


def judge(
    claims: Sequence[Claim],
    deferrals: Sequence[Deferral],
    listing: Listing,
    dossier: Any,
    offer: Offer,
    lexicon: Lexicon,
    *,
    dating: Dating | None = None,
    findings: Sequence[Finding] = (),
    evaded: Collection[str] = (),
    heard: Heard | None = None,
    general: General | None = None,
) -> Judgement:
    """Judge one offer. Pure, and it never raises for odd input: what cannot be computed is null, with the reason.

    `dossier` is a row of the lexicon, or null where there is none for this record. `heard` may be given instead of
    claims. `evaded` are features that were asked about and passed over. With `general`, a record without a dossier is
    judged by what holds of any record.
    """
    try:
        check_offer(offer)
    except JudgementError as error:
        offer_fault: str | None = str(error)
    else:
        offer_fault = None
    if dossier is None or not _pressings(dossier):
        dossier = any_record(lexicon) if general and len(offer.worth) > 1 else None
        if dossier is None:
            return _without(offer, offer_fault, lexicon)
    else:
        general = None
    try:
        known = take(dossier)
        a = assume.of(lexicon, known.assume, general=general is not None)
        said = heard or hear(claims, deferrals, listing, known, lexicon, evaded=evaded)
    except JudgementError as error:
        return replace(_without(offer, offer_fault, lexicon), why_no_odds=_sentence(str(error)))
    worth, why_no_worth = None, offer_fault
    grade = offer.grade or next((str(c.value) for c in claims if c.feature == "condition.vinyl_grade"), None)
    offer, note = _own_figures(offer, dossier, grade, lexicon)
    if offer_fault is None:
        try:
            worth = estimate(replace(offer, grade=grade), known, a.at("worth.doubt"), lexicon)
            worth = replace(worth, notes=(*worth.notes, note)) if worth is not None and note else worth
        except JudgementError as error:
            why_no_worth = str(error)
            if general:
                return replace(_without(offer, offer_fault, lexicon), why_no_worth=why_no_worth)
    floor = _year(dating.not_before) if dating else None
    made = max([*([floor] if floor else []), *said.years], default=None)
    if made is not None and all(p.years and max(p.years) < made for p in known.pressings):
        return replace(_without(offer, offer_fault, lexicon), why_no_odds=ALL_OVER.format(year=made))
    places = {zone(c.feature) for c in claims if c.feature.startswith(("deadwax.", "label."))}
    return _judged(known, said, offer, worth, why_no_worth, a, floor, places, lexicon, general)


def _pressings(dossier: Any) -> Any:
    return dossier.get("pressings") if isinstance(dossier, Mapping) else getattr(dossier, "pressings", None)


def _own_figures(offer: Offer, dossier: Any, grade: str | None, lexicon: Lexicon) -> tuple[Offer, str]:
    """The worths that the buyer wrote into the dossier, where none were given with the offer, and a note on them.

    They are for a copy in VG+. A lower grade lowers them by the rule of thumb; a higher one does not raise them, since
    sellers grade their own copies.
    """
    kept = getattr(dossier, "worth", None)
    if offer.worth or offer.sold is not None or not kept:
        return offer, ""
    currency = getattr(dossier, "currency", None) or offer.currency
    share = share_of_mint(grade) if grade else None
    part = min(share / GRADES["VG+"], Decimal(1)) if share is not None else Decimal(1)
    worth = {k: Decimal(str(v)) * part for k, v in kept.items()}
    note = lexicon.phrases["worth.by_grade"].format(grade=grade, share=f"{100 * part:.0f} %")
    return replace(offer, worth=worth, worth_currency=currency), note if part < 1 else ""


def _judged(
    dossier: Dossier,
    heard: Heard,
    offer: Offer,
    worth: Estimate | None,
    why_no_worth: str | None,
    a: Assumptions,
    not_before: int | None,
    places: Collection[int],
    lexicon: Lexicon,
    general: General | None = None,
) -> Judgement:
    floats = {k: float(v) for k, v in worth.worth.items()} if worth else None
    net = _net(dossier, floats)
    if general:
        net = replace(net, tellable=a.at("general.tells"))
    price = float(offer.price) if offer.price is not None else None
    asked = Asked(
        price=None if offer.auction else price,
        bid=price if offer.auction else None,
        bidders=offer.bidders,
        worth=floats,
        seen=any(s.kind is Kind.DEFERRED for s in heard.said.values()),
    )
    outside = evidence(net, heard, asked, a, not_before)
    if general:
        outside = type(outside)({**outside.terms, **general.terms(net, a)})
    plan = explain.steps(net, heard.said, outside)
    let_in, use = explain.masks(net, plan, outside)
    # The last step holds everything, and is row 0 of the sets.
    joint = enumerate_all(net, heard.said, a, outside, steps=(let_in[:-1], use[:-1]), places=places)
    if not np.isfinite(joint.log).all():
        return Judgement(
            why_no_odds="What is said fits no pressing of the dossier at all, so no odds can be given.",
            why_no_worth=why_no_worth,
        )
    p = joint.p.sum(axis=2)
    path = _log_odds(joint.log, p, net.first)
    n = len(a.rows)
    order = [*path[n:].tolist(), float(path[0])]
    odds = _odds(net, heard, p[:n], joint, a, path[:n], explain.moves(net, heard, plan, order, lexicon))
    return _decided(net, heard, offer, worth, why_no_worth, a, joint, odds, p[:n], lexicon, general)


def _decided(
    net: Net,
    heard: Heard,
    offer: Offer,
    worth: Estimate | None,
    why_no_worth: str | None,
    a: Assumptions,
    joint: Joint,
    odds: Odds,
    draws: Array,
    lexicon: Lexicon,
    general: General | None = None,
) -> Judgement:
    stake = None
    payoff = None
    if worth is not None:
        cost = float(offer.costs.total(offer.price)) if offer.price is not None else None
        back = None
        if heard.returns in ("free", "yes") and cost is not None and not offer.auction:
            back = a.at("return.trouble" if heard.returns == "free" else "return.cost") * cost
        stake = Stake(draws[0], np.array([float(worth.worth[i]) for i in net.ids]), cost, back)
        payoff = stake.payoff() if cost is not None else None
    worths = general.worths(net, a, joint, payoff) if general else worth_of_answers(net, heard.said, a, joint, payoff)
    values = {f: (w.bits, "bits") if w.money is None else (w.money, "money") for f, w in worths.items()}
    clashing = clash(net, heard.said)
    if stake is None or worth is None:
        first = first_to_ask(net, worths, 0.02, clashing, a.at("asks.decider"))
        return Judgement(odds, values=values, first_question=first, clashing=clashing, why_no_worth=why_no_worth)
    names = {f: lexicon.features[f].name if f in lexicon.features else f for f in (*net.features, *worths)}
    deferred = frozenset(f for f, s in heard.said.items() if s.kind is Kind.DEFERRED)
    if general:
        deferred = general.pointed
    advice, first = advise(net, a, joint, stake, worth, offer, worths, deferred, names, clashing)
    return Judgement(
        odds=odds,
        worth=_worth(net, worth, stake, draws, offer),
        advice=advice,
        first_question=first,
        clashing=clashing,
        values=values,
    )


_NETS: dict[tuple[int, tuple[tuple[str, float], ...]], tuple[Dossier, Net]] = {}


def _net(dossier: Dossier, worth: Mapping[str, float] | None) -> Net:
    """The dossier as arrays; built once for each set of worths."""
    key = (id(dossier), tuple(sorted((worth or {}).items())))
    kept = _NETS.get(key)
    if kept is None or kept[0] is not dossier:
        if len(_NETS) > 64:
            _NETS.clear()
        kept = (dossier, build(dossier, worth))
        _NETS[key] = kept
    return kept[1]


def _log_odds(log: Array, p: Array, first: NDArray[np.bool_]) -> Array:
    """The log-odds of a first pressing, row by row: from chances, or from `log` where those are too small for it."""
    one, other = p @ first.astype(float), p @ (~first).astype(float)
    if min(one.min(), other.min()) > 1e-290:
        out: Array = np.log(one) - np.log(other)
        return out

    def total(part: Array) -> Array:
        if part.shape[1] == 0:
            return np.full(len(part), -700.0)
        top = part.max(axis=(1, 2), keepdims=True)
        out: Array = top[:, 0, 0] + np.log(np.exp(part - top).sum(axis=(1, 2)))
        return out

    return np.clip(total(log[:, first]) - total(log[:, ~first]), -700, 700)


def _odds(
    net: Net, heard: Heard, p: Array, joint: Joint, a: Assumptions, log_odds: Array, moves: tuple[Any, ...]
) -> Odds:
    firsts = p[:, net.first].sum(axis=1)
    edges = _edges(np.concatenate([p, firsts[:, None]], axis=1))
    rows = [
        PressingOdds(
            id=i,
            name=net.dossier.pressings[k].name or i,
            p=float(p[0, k]),
            low=edges[0][k],
            high=edges[1][k],
            first=bool(net.first[k]),
        )
        for k, i in enumerate(net.ids)
    ]
    notes = [
        RANGE,
        *((GENERAL,) if not net.dossier.record and net.dossier.id == ANY else ()),
        *(
            f"{words!r} is not among the things this dossier knows; it was left out of the odds."
            for _, words in heard.foreign
        ),
    ]
    most, its_id = _most(a, log_odds, firsts)
    return Odds(
        pressings=tuple(rows),
        p_first=float(firsts[0]),
        p_first_low=edges[0][-1],
        p_first_high=edges[1][-1],
        seller_knows=float(joint.now[:, KNOWS].sum()),
        moved_by=moves,
        most_sensitive=most,
        most_sensitive_id=its_id,
        assumes=tuple(dict.fromkeys(notes)),
    )


def _edges(p: Array) -> tuple[list[float], list[float]]:
    """The ends of the middle nine tenths of the draws, column by column; the answer itself always lies within."""
    at = np.sort(p, axis=0)
    cut = int(0.05 * len(at))
    return np.minimum(at[cut], p[0]).tolist(), np.maximum(at[len(at) - 1 - cut], p[0]).tolist()


def _spread(rows: Array) -> tuple[Array, Array]:
    """How far each set lies from the middle, and the size of that over all of them (endless where nothing moves)."""
    x = rows - rows.mean(axis=0)
    size = np.sqrt((x**2).sum(axis=0))
    return x, np.where(size > 1e-12, size, np.inf)


def _most(a: Assumptions, log_odds: Array, firsts: Array) -> tuple[str | None, str | None]:
    """The assumption that the odds follow most closely over the draws, all of which move at once: in words, and its id.

    Null where none of them matters: the chance is the same, to the whole per cent, whichever way they fall.
    """
    if len(log_odds) < 8 or np.ptp(log_odds) < 1e-6 or np.ptp(firsts) < SAME:
        return None, None
    x, size = a.kept(("spread",), None, lambda: _spread(a.rows[1:]))
    y = log_odds[1:] - log_odds[1:].mean()
    top = int(np.abs((y @ x) / size).argmax())
    lower = a.kept(("lower", top), None, lambda: a.rows[1:, top] <= np.median(a.rows[1:, top]))
    low, high = float(firsts[1:][lower].mean()), float(firsts[1:][~lower].mean())
    name = a.names[top]
    return (
        f"{a.what[name]} (in the lower half of its range the chance is {explain.percent(low)} on average, "
        f"in the upper half {explain.percent(high)})",
        name,
    )


def _worth(net: Net, known: Estimate, stake: Stake, draws: Array, offer: Offer) -> Worth:
    means = draws @ stake.worth
    doubt = float(np.average([known.doubt[i] for i in net.ids], weights=np.maximum(stake.p, 1e-9)))
    extra = float(offer.costs.total(offer.price) - offer.price) if offer.price is not None else 0.0
    notes = list(known.notes)
    if offer.price is None and (offer.costs.shipping or offer.costs.fees):
        extra = float(offer.costs.total(Decimal(0)))
    notes.append(CAUTION)
    return Worth(
        currency=known.currency,
        expected=rounded(stake.expected),
        low=rounded(float(means.min()) * (1 - doubt)),
        high=rounded(float(means.max()) * (1 + doubt)),
        by_pressing=dict(known.worth),
        costs=money(extra),
        notes=tuple(notes),
    )


def _without(offer: Offer, fault: str | None, lexicon: Lexicon) -> Judgement:
    """Without a dossier there are no odds; a price below or above all worths still settles the matter."""
    if fault is not None:
        return Judgement(why_no_odds=NO_DOSSIER, why_no_worth=fault)
    if offer.sold is not None and not offer.worth:
        return Judgement(why_no_odds=NO_DOSSIER, why_no_worth=SALES_OF_WHAT)
    if not offer.worth or offer.price is None or not (offer.worth_currency or offer.currency):
        return Judgement(why_no_odds=NO_DOSSIER)
    currency = offer.worth_currency or offer.currency
    low, high = min(offer.worth.values()), max(offer.worth.values())
    cost = offer.costs.total(offer.price)
    if cost >= high:
        do, why = "pass", f"Even the best case is worth no more to you than {currency} {high}."
    elif len(offer.worth) < 2:
        return Judgement(why_no_odds=NO_DOSSIER, why_no_worth="give the worth of the later pressings too")
    elif cost <= low:
        do, why = "buy", f"The price is no more than the worst case is worth to you, {currency} {low}."
    else:
        do, why = "ask", "The price lies between the worst and the best case, and nothing here says which it is."
    sure = money(offer.costs.price_for(low)) if len(offer.worth) > 1 else None
    advice = Advice(do=do, why=why, cautious_ceiling=sure, currency=currency)  # type: ignore[arg-type]
    return Judgement(why_no_odds=NO_DOSSIER, advice=advice)


def _year(date: str | None) -> int | None:
    return int(date[:4]) if date and date[:4].isdigit() else None


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


__all__ = ["Judgement", "judge", "offer_of"]
