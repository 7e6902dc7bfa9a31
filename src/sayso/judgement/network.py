"""The network: pressing × seller × where he looks × the variants of each part, enumerated exactly in log space.

    pressing ──▶ variant of each part ──▶ what the seller takes it for ──▶ what he says of each feature of the part
    seller ────▶ which places he looks at ───────────────────────────────▲

Features of one part hang on one variant and on one look at it, so that what is printed on one piece of paper is one
piece of evidence, and one mistake about the part explains all that is said of it. Whether a seller who knows the trade
speaks depends on what the sign does to the price (disclosure: Grossman 1981, Milgrom 1981; with sellers who do not
know: Dye 1985). Places that nobody looked at say nothing by their silence; two other marks in the same inch of wax show
that he has looked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.dossier import ABSENT, Dossier
from sayso.judgement.places import Looks, looks

Array = NDArray[np.float64]
KNOWS, LAYMAN = 0, 1
TINY = 1e-12
"""The chance of a statement that the model has no way to explain; keeps every sum finite."""
LOG_TINY = float(np.log(TINY))


class Kind(IntEnum):
    """What is said of one feature."""

    SILENT = 0
    FIRM = 1
    DENIED = 2
    HEDGED = 3
    DESCRIBED = 4
    HEARSAY = 5
    DEFERRED = 6
    UNKNOWN = 7
    FAILED = 8
    EVADED = 9
    IGNORED = 10
    """Something that says nothing on the pressing: a mark the dossier does not know, a deliberate blank."""


SPOKEN: frozenset[Kind] = frozenset(set(Kind) - {Kind.SILENT, Kind.IGNORED, Kind.EVADED})
"""Kinds that show that he has looked at the place."""


@dataclass(frozen=True)
class Said:
    """One statement. `values` are the dossier's values that fit; empty: any that is there (or, denied, none)."""

    kind: Kind
    values: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """One part, with the columns of its cells (variant by variant, feature by feature)."""

    name: str
    variants: tuple[str, ...]
    features: tuple[str, ...]
    uses: Array
    """Pressing × variant."""
    cells: NDArray[np.intp]
    """Variant × feature: index into the distinct feature-values, -1 where the variant shows nothing known."""
    zones: tuple[int, ...]
    """The place of each feature."""
    movable: bool
    """Jackets and inner sleeves: may come from another copy."""


@dataclass(frozen=True)
class Net:
    """A dossier made ready. `g` says what each feature-value does to the price: 1 the best sign, -1 the worst."""

    dossier: Dossier
    ids: tuple[str, ...]
    first: NDArray[np.bool_]
    copies: Array
    worth: Array
    parts: tuple[Part, ...]
    looks: Looks
    values: tuple[tuple[str, str], ...]
    """The distinct (feature, value)."""
    feature_of: NDArray[np.intp]
    features: tuple[str, ...]
    absent: NDArray[np.bool_]
    g: Array
    zone_of: tuple[int, ...]
    """The place of each feature."""
    tells: Mapping[str, bool] = field(default_factory=dict)
    """Whether a feature differs between the pressings at all."""
    columns: Mapping[str, Array] = field(default_factory=dict)
    """For each feature: the shares of its values, and last of nothing known (pressing × value)."""
    asked: NDArray[np.intp] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.intp))
    """Feature × answer: its distinct values, filled up with one past the last value."""
    to_nothing: Array = field(default_factory=lambda: np.zeros((0, 0)))
    """Value × value: 1 from each value to 'nothing there' of the same feature."""
    tellable: float = 1.0
    """How far anybody could tell a first pressing by the disc: 1 where a sign settles it, 0 where nothing differs."""

    @cached_property
    def cells_of(self) -> Mapping[str, list[int]]:
        """For each feature: the indices of its values."""
        return {f: np.flatnonzero(self.feature_of == i).tolist() for i, f in enumerate(self.features)}

    @cached_property
    def named(self) -> Mapping[str, list[tuple[str, bool]]]:
        """For each feature its values: the words, and whether they mean that nothing is there."""
        return {f: [(self.values[c][1], bool(self.absent[c])) for c in own] for f, own in self.cells_of.items()}

    @cached_property
    def says_reissue(self) -> NDArray[np.bool_]:
        """Which pressings say of themselves that they are reissues."""

        def says(uses: Mapping[str, Mapping[str, float]]) -> bool:
            shows = [
                self.dossier.parts[part][variant].get("edition.reissue", "no")
                for part, shares in uses.items()
                for variant, share in shares.items()
                if share > 0.5
            ]
            return any(v.casefold() not in ABSENT for v in shows)

        return np.array([says(p.uses) for p in self.dossier.pressings])

    def with_reference(self, reference: float) -> Net:
        """The same with good and bad news told apart at another worth than the average copy's."""
        from dataclasses import replace

        return replace(self, g=_goodness(self.parts, self.values, self.copies, self.worth, reference))


ZONES: Mapping[str, int] = {"wax": 0, "face": 1, "cover": 2, "words": 3}


def zone(feature: str) -> int:
    """The place where one looks for a feature: run-out, face of the disc, cover, or the words alone."""
    head = feature.partition(".")[0]
    place = {"deadwax": "wax", "label": "face", "disc": "face", "jacket": "cover", "inner": "cover"}.get(head, "words")
    return ZONES[place]


def build(dossier: Dossier, worth: Mapping[str, float] | None = None) -> Net:
    """The dossier as arrays. `worth` by pressing sets what is good news; without it a first pressing is.

    Pure. Pressings without a worth of their own count as the lowest one given.
    """
    ids = tuple(p.id for p in dossier.pressings)
    first = np.array([i in dossier.first for i in ids])
    copies = np.array([p.copies for p in dossier.pressings], dtype=float)
    copies = copies / copies.sum()
    money = first.astype(float)
    if worth:
        floor = min(worth.values())
        money = np.array([float(worth.get(i, floor)) for i in ids])
    values: dict[tuple[str, str], int] = {}
    features: dict[str, int] = {}
    parts: list[Part] = []
    for name, variants in dossier.parts.items():
        names = tuple(variants)
        shown = tuple(dict.fromkeys(f for v in variants.values() for f in v))
        if not shown:
            continue
        for f in shown:
            features.setdefault(f, len(features))
        cells = np.full((len(names), len(shown)), -1, dtype=np.intp)
        for i, v in enumerate(names):
            for j, f in enumerate(shown):
                if f in variants[v]:
                    cells[i, j] = values.setdefault((f, str(variants[v][f])), len(values))
        uses = np.array([[p.uses.get(name, {}).get(v, 0.0) for v in names] for p in dossier.pressings], dtype=float)
        bare = uses.sum(axis=1) <= 0  # nothing known of this part for the pressing: any variant
        uses[bare] = 1.0
        uses = uses / uses.sum(axis=1, keepdims=True)
        zones = tuple(zone(f) for f in shown)
        parts.append(Part(name, names, shown, uses, cells, zones, all(z == ZONES["cover"] for z in zones)))
    known = tuple(values)
    built = tuple(parts)
    feature_of = np.array([features[f] for f, _ in known], dtype=np.intp)
    absent = np.array([v.casefold() in ABSENT for _, v in known], dtype=bool)
    carriers = np.array([float(sum(f in p.features for p in built)) for f, _ in known])
    return Net(
        dossier=dossier,
        ids=ids,
        first=first,
        copies=copies,
        worth=money,
        parts=built,
        looks=looks(built, list(features), len(known), copies, carriers),
        values=known,
        feature_of=feature_of,
        features=tuple(features),
        absent=absent,
        g=_goodness(built, known, copies, money, None),
        zone_of=tuple(zone(f) for f in features),
        tells={f: any(f in p.features and _differs(p, f) for p in built) for f in features},
        columns={f: _column(p, j, feature_of == features[f]) for p in built for j, f in enumerate(p.features)},
        asked=_asked(feature_of, len(features)),
        to_nothing=((feature_of[:, None] == feature_of[None, :]) & absent[None, :]).astype(float),
        tellable=_tellable(built, copies, first),
    )


def _column(part: Part, j: int, own: NDArray[np.bool_]) -> Array:
    shown = part.cells[:, j][:, None] == np.append(np.flatnonzero(own), -1)[None, :]
    out: Array = part.uses @ shown.astype(float)
    return out


def _asked(feature_of: NDArray[np.intp], features: int) -> NDArray[np.intp]:
    widest = int(np.bincount(feature_of, minlength=features).max()) if len(feature_of) else 0
    out = np.full((features, widest), len(feature_of), dtype=np.intp)
    for i in range(features):
        own = np.flatnonzero(feature_of == i)
        out[i, : len(own)] = own
    return out


def _tellable(parts: Sequence[Part], copies: Array, first: NDArray[np.bool_]) -> float:
    """The largest total variation distance between first and other copies over the parts that stay with the disc."""
    if first.all() or not first.any():
        return 1.0
    best = 0.0
    for part in parts:
        if part.movable:
            continue
        shown: dict[tuple[int, ...], list[int]] = {}  # variants that look alike cannot be told apart
        for v, row in enumerate(part.cells.tolist()):
            shown.setdefault(tuple(row), []).append(v)
        one = np.average(part.uses[first], axis=0, weights=np.maximum(copies[first], TINY))
        other = np.average(part.uses[~first], axis=0, weights=np.maximum(copies[~first], TINY))
        apart = 0.5 * sum(abs(float(one[v].sum() - other[v].sum())) for v in shown.values())
        best = max(best, apart)
    return min(best, 1.0)


def _differs(part: Part, feature: str) -> bool:
    j = part.features.index(feature)
    shares = np.array([part.uses[:, part.cells[:, j] == c].sum(axis=1) for c in set(part.cells[:, j].tolist())])
    return bool(np.ptp(shares, axis=1).max() > 1e-9)


def _goodness(
    parts: Sequence[Part], values: Sequence[tuple[str, str]], copies: Array, worth: Array, reference: float | None
) -> Array:
    """What seeing each value does to the expected worth, against all that could be won or lost by knowing."""
    mean = float(copies @ worth) if reference is None else reference
    up, down = max(float(worth.max()) - mean, TINY), max(mean - float(worth.min()), TINY)
    out = np.zeros(len(values))
    for part in parts:
        for j in range(len(part.features)):
            for c in set(part.cells[:, j].tolist()) - {-1}:
                joint = copies * part.uses[:, part.cells[:, j] == c].sum(axis=1)
                if joint.sum() <= 0:
                    out[c] = -1.0
                    continue
                gain = float(joint @ worth / joint.sum()) - mean
                out[c] = gain / up if gain > 0 else gain / down
    return np.clip(out, -1.0, 1.0)


def speaks(net: Net, a: Assumptions) -> Array:
    """The chance that a seller who has looked says what he sees: set × seller × feature-value.

    For a value that is 'nothing there' it is the chance that he says so.
    """
    f = news(net.g, a)
    good = a["says.bad"][:, None] + (a["says.good"] - a["says.bad"])[:, None] * f
    deny = a["denies.bad"][:, None] + np.maximum(a["denies.good"] - a["denies.bad"], 0)[:, None] * f
    out = np.empty((len(f), 2, len(net.values)))
    out[:, KNOWS] = np.where(net.absent, deny, good)
    out[:, LAYMAN] = np.where(net.absent, a["denies.layman"][:, None], a["says.layman"][:, None])
    return out


def news(g: Array, a: Assumptions) -> Array:
    """How good the news is to a seller who knows: 0 to 1, a half for a sign that changes nothing. Set × value."""
    x: Array = 1.0 / (1.0 + np.exp(np.clip(-a["keen"][:, None] * g, -500, 500)))
    return x


_TRUE = (Kind.FIRM, Kind.HEDGED, Kind.DESCRIBED, Kind.HEARSAY)


def _manner(a: Assumptions) -> dict[Kind, Array]:
    """How a thing that is spoken of is put: kind → set × seller; the four add up to 1."""
    doubt = np.stack([a["doubt.knows"], a["doubt.layman"]], axis=1)
    hear = np.stack([a["hearsay"], a["hearsay"]], axis=1)
    rest = np.maximum(1 - doubt - hear, TINY)
    named = np.stack([1 - a["describes.knows"], a["naming.layman"]], axis=1)
    return {
        Kind.FIRM: rest * named,
        Kind.DESCRIBED: rest * (1 - named),
        Kind.HEDGED: doubt,
        Kind.HEARSAY: hear,
    }


def _false(a: Assumptions) -> dict[Kind, Array]:
    return {Kind.HEDGED: a["hedge.false"], Kind.HEARSAY: a["hearsay.false"], Kind.DESCRIBED: a["described.false"]}


@dataclass(frozen=True)
class Talk:
    """How sellers talk about one record, before anything is said: set × seller × feature-value."""

    sigma: Array
    free: Array
    """Neither points at pictures nor says that he cannot tell."""
    quiet: Array
    defer: Array
    unknown: Array
    search: Array
    missed: Array
    looks_for: Array
    cross: Array
    """Denies another mark than the one that is there, where the dossier knows of another."""
    news: Array
    silent: Array
    present: Array
    manner: Mapping[Kind, Array]
    log_silent: Array
    """The logarithms of `silent`: feature-value × (set, seller)."""
    log_firm: Array
    """In the same form, of what is firmly stated and is there."""


def talk(net: Net, a: Assumptions) -> Talk:
    """Worked out once for a dossier under a set of assumptions. Pure."""
    sigma = speaks(net, a)
    manner = _manner(a)
    wrong = _false(a)
    same = (net.feature_of[:, None] == net.feature_of[None, :]).astype(float)
    # A sign that is not there may be named with doubt; the mass comes out of silence.
    slip = np.sum([manner[k] * wrong[k][:, None] for k in wrong], axis=0)
    present = np.where(net.absent, 0.0, sigma)
    others = np.maximum(present @ same - present, 0)
    false = np.minimum(slip[:, :, None] * others, 0.5)
    point = np.stack([a["points.knows"], a["points.layman"]], axis=1)[:, :, None]
    f = news(net.g, a)
    less = a["points.bad"][:, None] + (1 - a["points.bad"])[:, None] * f
    defer = np.broadcast_to(point, sigma.shape).copy()
    defer[:, KNOWS] *= less
    unknown = np.broadcast_to(a["cannot_tell"][:, None, None], sigma.shape)
    free = 1 - defer - unknown
    quiet = np.maximum(1 - sigma - false, TINY)
    missed = np.stack([a["missed.knows"], a["missed.layman"]], axis=1)[:, :, None]
    looks_for = np.stack([a["search.knows"], a["search.layman"]], axis=1)[:, :, None]
    search = looks_for * np.where(net.absent, 1.0, missed)
    others_known = (~net.absent).astype(float) @ same - 1
    denied = a["denies.bad"][:, None] / np.maximum(others_known, 1)
    cross = np.where(~net.absent & (others_known > 0), denied, 0.0)[:, None, :]
    silent = free * quiet * (1 - search) * (1 - cross * np.maximum(others_known, 1))
    every = np.broadcast_to(cross, sigma.shape)
    silent = np.maximum(silent, TINY)
    firm = free * manner[Kind.FIRM][:, :, None] * sigma
    return Talk(
        sigma,
        free,
        quiet,
        defer,
        unknown,
        search,
        missed,
        looks_for,
        every,
        f,
        silent,
        present,
        manner,
        _flat(np.log(silent)),
        _flat(np.log(np.maximum(firm, TINY))),
    )


def _flat(x: Array) -> Array:
    """From set × seller × feature-value to feature-value × (set, seller)."""
    return np.ascontiguousarray(x.reshape(x.shape[0] * x.shape[1], x.shape[2]).T)


_TALKS: dict[tuple[int, int], tuple[Net, Assumptions, Talk]] = {}


def _talk(net: Net, a: Assumptions) -> Talk:
    """The same, kept for the next listing of the same record."""
    kept = _TALKS.get((id(net), id(a)))
    if kept is None or kept[0] is not net or kept[1] is not a:
        if len(_TALKS) >= 16:
            _TALKS.clear()
        kept = (net, a, talk(net, a))
        _TALKS[id(net), id(a)] = kept
    return kept[2]


def likelihoods(net: Net, said: Mapping[str, Said], a: Assumptions) -> Array:
    """P(what is said of the feature | what he takes it to be, seller, he has looked): set × seller × feature-value."""
    logs = log_likelihoods(net, said, a)[:-1]
    out: Array = np.exp(logs).T.reshape(len(a.rows), 2, len(logs))
    return out


def log_likelihoods(net: Net, said: Mapping[str, Said], a: Assumptions, steps: Array | None = None) -> Array:
    """Their logarithms: feature-value × (set, seller), and a last row of nil for what shows nothing known.

    With `steps` (step × feature) as many sets follow at the values of the assumptions themselves (row 0), in which only
    the features with a 1 are counted. Only of what is said of a feature is anything new to be worked out.
    """
    t = _talk(net, a)
    values, n = t.log_silent.shape
    logs = np.zeros((values + 1, n + (0 if steps is None else 2 * len(steps))))
    logs[:-1, :n] = t.log_silent
    firm: list[int] = []
    fitting: list[bool] = []
    for feature, one in said.items():  # what is firmly stated, all at once
        if one.kind is Kind.FIRM and feature in net.columns:
            col = net.cells_of[feature]
            firm += col
            fitting += fits(net, feature, one)
    if firm:
        logs[firm, :n] = np.where(np.array(fitting)[:, None], t.log_firm[firm], LOG_TINY)
    for feature, one in said.items():
        if one.kind not in (Kind.SILENT, Kind.FIRM) and feature in net.columns:
            told = np.log(np.maximum(_told(net, feature, one, t, a), TINY))
            logs[net.cells_of[feature], :n] = told.reshape(n, -1).T
    if steps is not None:
        counted = steps.T[net.feature_of]
        logs[:-1, n:] = (logs[:-1, None, :2] * counted[:, :, None]).reshape(values, 2 * len(steps))
    return logs


def _told(net: Net, feature: str, one: Said, t: Talk, a: Assumptions) -> Array:
    """The likelihood of what is said of one feature, otherwise than firmly: set × seller × its values."""
    col = net.cells_of[feature]
    s = (slice(None), slice(None), col)
    if one.kind is Kind.DEFERRED:
        return t.defer[s]
    if one.kind is Kind.UNKNOWN:
        return t.unknown[s]
    fit = np.array(fits(net, feature, one))
    if one.kind in _TRUE:
        wrong = _false(a)[one.kind]
        put = t.free[s] * t.manner[one.kind][:, :, None]
        rate = t.present[s].sum(axis=2, where=fit, keepdims=True) / max(int(fit.sum()), 1)
        return np.where(fit, put * t.sigma[s], put * (wrong[:, None, None] * rate))
    if one.kind is Kind.DENIED:
        other = t.free[s] * t.quiet[s] * (1 - t.search[s]) * t.cross[s]
        return np.where(net.absent[col], t.free[s] * t.sigma[s], np.where(fit, other, TINY))
    if one.kind is Kind.FAILED:
        out: Array = t.free[s] * t.quiet[s] * (t.looks_for * np.where(fit, 1.0, t.missed))
        return out
    if one.kind is Kind.EVADED:
        bad, good = a["evades.bad"][:, None], a["evades.good"][:, None]
        knows = bad + (good - bad) * t.news[:, col]
        lay = np.where(net.absent[col], 1.0, a["evades.layman"][:, None]) * 0.3
        return np.stack([knows, lay], axis=1)
    return np.ones_like(t.free[s])  # ignored


def fits(net: Net, feature: str, one: Said) -> list[bool]:
    """Which of the feature's values the words fit. Of a denial and a failed search: which they leave possible."""
    named, said = net.named[feature], one.values
    if one.kind in (Kind.DENIED, Kind.FAILED):
        return [gone or (bool(said) and value not in said) for value, gone in named]
    if said:
        return [value in said for value, _ in named]
    return [not gone for _, gone in named]


@dataclass(frozen=True)
class Outside:
    """Evidence beside the parts, as log-likelihoods: set × pressing × seller. `names` in the order of `terms`."""

    terms: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class Joint:
    """The joint, unnormalised, in logs: set × pressing × seller. The steps, if any, are the last sets.

    What follows is at row 0, for what an answer is worth.
    """

    log: Array
    like: Array
    """Look × variant × seller: how well what is said fits the variant, the best of each look put at 1."""
    viewed: Array
    """View × pressing × seller: the chance that just these places of the group were looked at, given the rest."""

    @cached_property
    def p(self) -> Array:
        """P(pressing, seller | all that is said): set × pressing × seller."""
        e = np.exp(self.log - self.log.max(axis=(1, 2), keepdims=True))
        out: Array = e / e.sum(axis=(1, 2), keepdims=True)
        return out

    @property
    def now(self) -> Array:
        """The same at row 0: pressing × seller."""
        out: Array = self.p[0]
        return out


def enumerate_all(
    net: Net,
    said: Mapping[str, Said],
    a: Assumptions,
    outside: Outside = Outside(),
    *,
    steps: tuple[Array, Array] | None = None,
    places: Collection[int] = (),
) -> Joint:
    """Everything at once, exactly.

    `steps` adds rows at the values of the assumptions themselves (row 0) in which not all of the evidence is let in:
    only the features (step × feature, 0 or 1) and the terms of `outside` (step × term) that have a 1. `places` are
    known to have been looked at.
    """
    n, more = len(a.rows), 0 if steps is None else len(steps[0])
    every = a.more(more) if more else a
    logs = log_likelihoods(net, said, a, steps[0] if steps is not None else None)
    prior = a.kept(("prior",), net, lambda: _prior(net, a))
    log = np.empty((n + more, len(net.ids), 2))
    log[:n] = prior
    for term in outside.terms.values():
        log[:n] += term
    log[n:] = prior[0]
    if steps is not None and outside.terms:
        log[n:] += np.tensordot(steps[1], np.stack([t[0] for t in outside.terms.values()]), 1)
    parts, like, viewed = _parts(net, said, every, logs, steps, frozenset(places))
    log += parts.reshape(len(net.ids), n + more, 2).transpose(1, 0, 2)
    return Joint(log, like, viewed)


def _parts(
    net: Net,
    said: Mapping[str, Said],
    a: Assumptions,
    logs: Array,
    steps: tuple[Array, Array] | None,
    sure: frozenset[int],
) -> tuple[Array, Array, Array]:
    """log P(said of the parts | pressing, seller), pressing × (set, seller); then `Joint.like` and `Joint.viewed`."""
    its, columns = net.looks, logs.shape[1]
    passed = [f for f, s in said.items() if s.kind is Kind.EVADED and f in net.columns]
    count, cells, views = its.live, its.cells, its.live_views
    if passed:  # that he passed it over is heard wherever he has looked
        count, views = len(its.uses), its.views
        asked = np.isin(net.feature_of, [net.features.index(f) for f in passed])
        cells = np.where(np.append(asked, False)[its.whole], its.whole, cells)
    value = np.zeros((count, its.width, columns))
    for shown in cells[:, :count]:
        value += logs[shown]
    if its.filled is not None:
        value += its.filled[:count, :, None]
    top = value.max(axis=1)
    value -= top[:, None]
    np.exp(value, out=value)
    # Σ_v uses · ((1 - e) L[v] + e Σ_r pool L[r]), where a jacket may be that of any copy
    slip = a.kept(("slip", count), net, lambda: _slip(net, a, count))
    mixed = its.uses[:count] @ value
    mixed *= (1 - slip)[:, None]
    mixed += (slip * (its.pool[:count, :, None] * value).sum(axis=1))[:, None]
    np.maximum(mixed, 1e-24, out=mixed)

    weight = a.kept(("views", sure), net, lambda: _view_weights(net, a, sure)) + its.made_of[:, :count] @ top
    weight += LOG_TINY * np.repeat(_missed(net, said, columns // 2, steps), 2, axis=1)
    out = np.zeros((len(net.ids), columns))
    viewed = np.empty((len(views), len(net.ids), 2))
    for _, own in its.groups:
        most = weight[own].max(axis=0)
        share = np.exp(weight[own] - most)
        total = np.zeros_like(out)
        for c in range(own.start, own.stop):
            rows = views[c]
            mine = share[c - own.start] * (_product(mixed[rows]) if rows is not None else 1.0)
            total += mine
            viewed[c] = mine[..., :2]
        viewed[own] /= total[:, :2]
        out += most + np.log(total)
    return out, value[..., :2], viewed


def _missed(net: Net, said: Mapping[str, Said], n: int, steps: tuple[Array, Array] | None) -> Array:
    """How often something is spoken of that was not looked at: view × set."""
    must = np.array([f in said and said[f].kind in SPOKEN for f in net.features], dtype=float)
    off = net.looks.unseen * must
    out = np.repeat(off.sum(axis=1, keepdims=True), n, axis=1)
    if steps is not None:
        out[:, n - len(steps[0]) :] = off @ steps[0].T
    return out


def _slip(net: Net, a: Assumptions, count: int) -> Array:
    """How often what he describes is any variant rather than that of the pressing: look × (set, seller)."""
    e = a.pair("misread.knows", "misread.layman")
    q = net.looks.movable[:count, None, None] * a["swapped"][None, :, None]
    out: Array = (1 - (1 - e) * (1 - q)).reshape(count, e.size)
    return out


def _view_weights(net: Net, a: Assumptions, sure: frozenset[int]) -> Array:
    """View × (set, seller), as logs."""
    out = np.zeros((len(net.looks.views), 2 * len(a.rows)))
    for places, own in net.looks.groups:
        out[own] = looked(places, a, sure & set(places)).reshape(out.shape[1], -1).T
    return out


def _prior(net: Net, a: Assumptions) -> Array:
    """Before a word is read: set × pressing × seller, as logs."""
    prior = np.log(np.maximum(net.copies, TINY))[None, :] + np.log(a["survival"])[:, None] * net.first[None, :]
    prior = prior - np.log(np.exp(prior).sum(axis=1, keepdims=True))
    knows = np.stack([np.log(np.maximum(a["knows"], TINY)), np.log(np.maximum(1 - a["knows"], TINY))], axis=1)
    out: Array = prior[:, :, None] + knows[:, None, :]
    return out


def looked(places: Sequence[int], a: Assumptions, sure: Collection[int] = ()) -> Array:
    """P(which of the places the seller looked at): set × seller × 2**places, as logs. `sure` are known."""
    out = np.zeros((len(a.rows), 2, 1))
    for place in places:
        name = next(k for k, v in ZONES.items() if v == place)
        p = np.stack([a[f"looks.{name}.knows"], a[f"looks.{name}.layman"]], axis=1)
        yes, no = np.log(np.maximum(p, TINY)), np.log(np.maximum(1 - p, TINY))
        if place in sure:
            no = no + LOG_TINY
        out = np.concatenate([out + no[:, :, None], out + yes[:, :, None]], axis=2)
    return out


def _product(x: Array) -> Array:
    """The product over the first axis, of numbers from 1e-24 to 1; a dozen of them cannot underflow."""
    out: Array = x[:12].prod(axis=0)
    for start in range(12, len(x), 12):
        out = np.maximum(out * x[start : start + 12].prod(axis=0), 1e-300)
    return out
