"""Evidence beside the record's features: who sells, the adjectives, dates, the price; as log-likelihoods."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.hear import Heard
from sayso.judgement.network import KNOWS, LAYMAN, TINY, Net, Outside

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Asked:
    """The money as the odds see it, all in the currency of the worths. `bid` and `bidders` of an auction."""

    price: float | None = None
    bid: float | None = None
    bidders: int | None = None
    worth: Mapping[str, float] | None = None
    seen: bool = False
    """The bidders could see what the buyer has not looked at yet (pictures that the seller points at)."""


def evidence(net: Net, heard: Heard, asked: Asked, a: Assumptions, not_before: int | None = None) -> Outside:
    """The terms, by name: seller, word, year, price, bids, floor. Pure.

    `not_before` is the year that the hard bounds prove: pressings that were over by then are out of the question.
    """
    shape = (len(a.rows), len(net.ids), 2)
    manner = (heard.grade, heard.number, heard.layman_words, heard.trade_words)
    style = a.kept(("style", manner), None, lambda: _style(heard, a))
    terms: dict[str, Array] = {"seller": np.broadcast_to(style[:, None, :], shape)}
    terms["word"] = a.kept(("word", heard.edition), net, lambda: _as_far_as_told(net, _word(net, heard, a)))
    if heard.years:
        terms["year"] = _years(net, heard.years, a)
    if heard.bought:
        terms["bought"] = _bought(net, heard.bought, a)
    if not_before is not None:
        gone = np.array([bool(p.years) and max(p.years) < not_before for p in net.dossier.pressings])
        if gone.any():
            terms["floor"] = np.broadcast_to(np.where(gone, np.log(TINY), 0.0)[None, :, None], shape)
    if asked.price and asked.worth:
        terms["price"] = _as_far_as_told(net, _price(net, asked.price, asked.worth, a))
    if asked.bid and asked.worth and asked.seen and (asked.bidders or 0) >= 2:
        terms["bids"] = _bids(net, asked.bid, asked.worth, a)
    return Outside(terms)


def _as_far_as_told(net: Net, term: Array) -> Array:
    """What a seller calls it and asks for it tells no more than he can tell himself from the object."""
    if net.tellable >= 1:
        return term
    p = np.exp(term)
    blind = (p * net.copies[None, :, None]).sum(axis=1, keepdims=True)
    out: Array = np.log(net.tellable * p + (1 - net.tellable) * blind)
    return out


def _bought(net: Net, year: int, a: Assumptions) -> Array:
    """Bought in a year in which a pressing was not made yet: only if the memory is wrong."""
    late = np.array([bool(p.years) and min(p.years) > year for p in net.dossier.pressings])
    p = np.where(late[None, :], np.log(np.maximum(a["bought.wrong"], TINY))[:, None], 0.0)
    return np.broadcast_to(p[:, :, None], (len(a.rows), len(net.ids), 2))


def _pair(knows: Array, layman: Array) -> Array:
    out: Array = np.log(np.maximum(np.stack([knows, layman], axis=1), TINY))
    return out


def _style(heard: Heard, a: Assumptions) -> Array:
    def seen(flag: bool, name: str) -> Array:
        k, u = a[f"{name}.knows"], a[f"{name}.layman"]
        return _pair(k, u) if flag else _pair(1 - k, 1 - u)

    out = seen(heard.grade, "style.grade") + seen(heard.number, "style.number")
    one = np.ones(len(a.rows))
    if heard.layman_words:
        out = out + _pair(a["style.layman_words"], one)
    if heard.trade_words:
        out = out + _pair(one, a["style.trade_words"])
    return out


def _word(net: Net, heard: Heard, a: Assumptions) -> Array:
    first, later = net.first[None, :, None], ~net.first[None, :, None]

    def table(for_first: tuple[str, str], for_later: tuple[str, str]) -> Array:
        f = np.stack([a[for_first[0]], a[for_first[1]]], axis=1)[:, None, :]
        x = np.stack([a[for_later[0]], a[for_later[1]]], axis=1)[:, None, :]
        out: Array = first * f + later * x
        return out

    claims = table(("word.first.knows", "word.first.layman"), ("word.later.knows", "word.later.layman"))
    owns = table(("owns.wrongly", "owns.wrongly"), ("owns.later", "owns.later"))
    denies = table(("denies.later", "denies.later"), ("denies.later.wrongly", "denies.later.wrongly"))
    says_so = net.says_reissue
    if says_so.any():  # it is printed on the copy, so that fewer deny it
        bold = np.stack([a["denies.reissue.wrongly"]] * 2, axis=1)[:, None, :]
        denies = np.where(says_so[None, :, None], bold, denies)
    if heard.edition is None:
        p = 1 - claims - owns - denies
    else:
        which, firm = heard.edition
        p = {"first": claims, "later": owns, "not later": denies}[which]
        if not firm:  # said with doubt or on hearsay: as likely of any pressing for half of such words
            p = 0.5 * p + 0.5 * p.mean(axis=1, keepdims=True)
    return np.log(np.maximum(p, TINY))


def _years(net: Net, years: tuple[int, ...], a: Assumptions) -> Array:
    wrong = a["year.wrong"][:, None]
    out = np.zeros((len(a.rows), len(net.ids)))
    for year in years[:1]:
        for i, p in enumerate(net.dossier.pressings):
            if not p.years:
                continue
            low, high = min(p.years), max(p.years)
            right = 1 / (high - low + 1) if low <= year <= high else 0.0
            out[:, i] += np.log((1 - wrong[:, 0]) * right + wrong[:, 0] * 0.05)
    return np.broadcast_to(out[:, :, None], (len(a.rows), len(net.ids), 2))


def _normal(x: Array, spread: Array) -> Array:
    out: Array = np.exp(-0.5 * (x / spread) ** 2) / spread
    return out


def _price(net: Net, price: float, worth: Mapping[str, float], a: Assumptions) -> Array:
    """A seller who knows asks about what the copy is worth, or hopes for the price of the best; a layman, anything."""
    money = np.maximum(np.array([worth.get(i, min(worth.values())) for i in net.ids], dtype=float), 1e-9)
    spread = a["price.spread"][:, None]
    off = np.log(price) - np.log(money)[None, :]
    best = np.log(price) - np.log(money.max())
    middle = np.log(price) - np.log(np.exp(np.log(money) @ net.copies))
    broad = _normal(np.array(middle), 1.5 * np.ones(1))[0]
    hopeful, careless = a["price.hopeful"][:, None], a["price.careless"][:, None]
    fair = np.maximum(1 - hopeful - careless, 0.0)
    knows = fair * _normal(off, spread) + hopeful * _normal(np.array(best), spread) + careless * broad
    out = np.empty((len(a.rows), len(net.ids), 2))
    out[:, :, KNOWS] = np.log(np.maximum(knows, TINY))
    out[:, :, LAYMAN] = np.log(max(broad, TINY))
    return out


def _bids(net: Net, bid: float, worth: Mapping[str, float], a: Assumptions) -> Array:
    """The second-highest bidder thinks it worth this much, and has seen the pictures. Low bids say nothing."""
    from math import erf, sqrt

    money = np.maximum(np.array([worth.get(i, min(worth.values())) for i in net.ids], dtype=float), 1e-9)
    z = (np.log(bid) - np.log(money))[None, :] / a["bids.spread"][:, None]
    above = 0.5 * (1 - np.vectorize(erf)(z / sqrt(2)))
    p = np.log(0.1 + 0.9 * above)  # one auction in ten runs away whatever is in the pictures
    return np.broadcast_to(p[:, :, None], (len(a.rows), len(net.ids), 2))
