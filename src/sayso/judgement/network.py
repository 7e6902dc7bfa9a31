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
from functools import cached_property, partial, reduce

import numpy as np
from numpy.typing import NDArray

from sayso.judgement.assume import Assumptions
from sayso.judgement.dossier import ABSENT, Dossier

Array = NDArray[np.float64]
KNOWS, LAYMAN = 0, 1
TINY = 1e-12
"""The chance of a statement that the model has no way to explain; keeps every sum finite."""


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
class Group:
    """Parts that share places, in arrays of one size; independent of other groups given pressing and seller.

    Arrays run over part × variant × feature; what a part lacks is filled up with a value of which nothing can be said
    and with variants that nothing uses.
    """

    members: tuple[int, ...]
    places: tuple[int, ...]
    cells: NDArray[np.intp]
    """Part × variant × feature: index into the feature-values, or one past the last."""
    features: NDArray[np.intp]
    """Part × feature: index into the features, or one past the last."""
    on: NDArray[np.bool_]
    """Configuration × part × feature: whether the place is looked at."""
    uses: Array
    """Part × pressing × variant."""
    pool: Array
    """Part × variant: the shares over all copies."""
    movable: Array
    """Part: 1 for jackets and inner sleeves."""
    filled: Array
    """Part × variant: 0, or a log-weight of never for what only fills up."""
    onto: Array
    """Configuration × feature-value × (part, variant): 1 where the variant shows the value in a place looked at."""


@dataclass(frozen=True)
class Net:
    """A dossier made ready. `g` says what each feature-value does to the price: 1 the best sign, -1 the worst."""

    dossier: Dossier
    ids: tuple[str, ...]
    first: NDArray[np.bool_]
    copies: Array
    worth: Array
    parts: tuple[Part, ...]
    groups: tuple[Group, ...]
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
    columns: Mapping[str, tuple[NDArray[np.intp], Array]] = field(default_factory=dict)
    """For each feature: its distinct values, and which variant of its part shows which (variant × value)."""
    asked: NDArray[np.intp] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.intp))
    """Feature × answer: its distinct values, filled up with one past the last value."""
    to_nothing: Array = field(default_factory=lambda: np.zeros((0, 0)))
    """Value × value: 1 from each value to 'nothing there' of the same feature."""
    carriers: Array = field(default_factory=lambda: np.ones(0))
    """For each value: how many parts carry its feature."""
    tellable: float = 1.0
    """How far anybody could tell a first pressing by the disc: 1 where a sign settles it, 0 where nothing differs."""

    @cached_property
    def cells_of(self) -> Mapping[str, list[int]]:
        """For each feature: the indices of its values."""
        return {f: np.flatnonzero(self.feature_of == i).tolist() for i, f in enumerate(self.features)}

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
    return Net(
        dossier=dossier,
        ids=ids,
        first=first,
        copies=copies,
        worth=money,
        parts=built,
        groups=tuple(_packed(built, g, list(features), len(known), copies) for g in _groups(built)),
        values=known,
        feature_of=feature_of,
        features=tuple(features),
        absent=absent,
        g=_goodness(built, known, copies, money, None),
        zone_of=tuple(zone(f) for f in features),
        tells={f: any(f in p.features and _differs(p, f) for p in built) for f in features},
        columns={f: _column(p, j) for p in built for j, f in enumerate(p.features)},
        asked=_asked(feature_of, len(features)),
        to_nothing=((feature_of[:, None] == feature_of[None, :]) & absent[None, :]).astype(float),
        carriers=np.array([float(sum(f in p.features for p in built)) for f, _ in known]),
        tellable=_tellable(built, copies, first),
    )


def _column(part: Part, j: int) -> tuple[NDArray[np.intp], Array]:
    cells = np.array([c for c in dict.fromkeys(part.cells[:, j].tolist()) if c >= 0], dtype=np.intp)
    return cells, (part.cells[:, j][:, None] == cells[None, :]).astype(float)


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


def _groups(parts: Sequence[Part]) -> tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]:
    """Parts joined by the places they share."""
    left = {i: set(p.zones) for i, p in enumerate(parts)}
    out: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    while left:
        start, places = next(iter(left.items()))
        mine = {start}
        grown = True
        while grown:
            more = {i for i, z in left.items() if i not in mine and z & places}
            grown = bool(more)
            mine |= more
            places = places.union(*(left[i] for i in more)) if more else places
        out.append((tuple(sorted(mine)), tuple(sorted(places))))
        for i in mine:
            del left[i]
    return tuple(out)


def _packed(
    parts: Sequence[Part],
    group: tuple[tuple[int, ...], tuple[int, ...]],
    features: Sequence[str],
    values: int,
    copies: Array,
) -> Group:
    members, places = group
    mine = [parts[m] for m in members]
    wide, deep = max(len(p.variants) for p in mine), max(len(p.features) for p in mine)
    cells = np.full((len(mine), wide, deep), values, dtype=np.intp)
    index = np.full((len(mine), deep), len(features), dtype=np.intp)
    on = np.zeros((2 ** len(places), len(mine), deep), dtype=bool)
    uses = np.zeros((len(mine), len(copies), wide))
    filled = np.full((len(mine), wide), -1e9)
    for i, p in enumerate(mine):
        v, f = len(p.variants), len(p.features)
        cells[i, :v, :f] = np.where(p.cells >= 0, p.cells, values)
        index[i, :f] = [features.index(x) for x in p.features]
        for j, z in enumerate(p.zones):
            on[:, i, j] = [bool(c >> places.index(z) & 1) for c in range(2 ** len(places))]
        uses[i, :, :v] = p.uses
        filled[i, :v] = 0.0
    movable = np.array([float(p.movable) for p in mine])
    onto = np.zeros((len(on), values + 1, len(mine), wide))
    for c, i, v, j in np.ndindex(len(on), len(mine), wide, deep):
        onto[c, cells[i, v, j], i, v] += on[c, i, j]
    flat = onto[:, :values].reshape(len(on), values, -1)
    return Group(members, places, cells, index, on, uses, copies @ uses, movable, filled, flat)


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
        np.maximum(silent, TINY),
        present,
        manner,
    )


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
    columns, told = _told(net, said, a)
    out = _talk(net, a).silent.copy()
    out[:, :, columns] = told
    return out


def log_likelihoods(net: Net, said: Mapping[str, Said], a: Assumptions) -> tuple[Array, Array]:
    """The same for the values of the assumptions themselves (row 0), and the logarithm of all of it.

    Only of what is said of a feature is anything new to be worked out.
    """
    columns, told = _told(net, said, a)
    silent = _talk(net, a).silent
    logs: Array = a.kept(("log silent",), net, lambda: np.log(silent)).copy()
    logs[:, :, columns] = np.log(told)
    first = silent[:1].copy()
    first[:, :, columns] = told[:1]
    return first, logs


def _told(net: Net, said: Mapping[str, Said], a: Assumptions) -> tuple[list[int], Array]:
    """The values of the features that are spoken of, and the likelihoods of what is said: set × seller × value."""
    t = _talk(net, a)
    wrong = _false(a)
    columns: list[int] = []
    told = [np.empty((*t.silent.shape[:2], 0))]
    firm: list[bool] = []
    for feature, one in said.items():  # what is firmly stated, all at once
        if one.kind is Kind.FIRM and feature in net.columns:
            columns += net.cells_of[feature]
            firm += [_fits(net, c, one) for c in net.cells_of[feature]]
    if firm:
        s = (slice(None), slice(None), columns.copy())
        told.append(np.where(firm, t.free[s] * t.manner[Kind.FIRM][:, :, None] * t.sigma[s], TINY))
    for feature, one in said.items():
        if one.kind in (Kind.SILENT, Kind.FIRM) or feature not in net.columns:
            continue
        col = net.cells_of[feature]
        s = (slice(None), slice(None), col)
        fits = np.array([_fits(net, c, one) for c in col])
        if one.kind is Kind.IGNORED:
            out = np.ones_like(t.free[s])
        elif one.kind in _TRUE:
            put = t.free[s] * t.manner[one.kind][:, :, None]
            if one.kind in wrong:
                rate = t.present[s].sum(axis=2, where=fits, keepdims=True) / max(int(fits.sum()), 1)
                slipped = put * (wrong[one.kind][:, None, None] * rate)
            else:
                slipped = np.full_like(put, TINY)
            out = np.where(fits, put * t.sigma[s], slipped)
        elif one.kind is Kind.DENIED:
            other = t.free[s] * t.quiet[s] * (1 - t.search[s]) * t.cross[s]
            out = np.where(net.absent[col], t.free[s] * t.sigma[s], np.where(fits, other, TINY))
        elif one.kind is Kind.DEFERRED:
            out = t.defer[s]
        elif one.kind is Kind.UNKNOWN:
            out = t.unknown[s]
        elif one.kind is Kind.FAILED:
            out = t.free[s] * t.quiet[s] * (t.looks_for * np.where(fits, 1.0, t.missed))
        elif one.kind is Kind.EVADED:
            bad, good = a["evades.bad"][:, None], a["evades.good"][:, None]
            knows = bad + (good - bad) * t.news[:, col]
            lay = np.where(net.absent[col], 1.0, a["evades.layman"][:, None]) * 0.3
            out = np.stack([knows, lay], axis=1)
        else:
            continue
        columns += col
        told.append(out)
    return columns, np.maximum(np.concatenate(told, axis=2), TINY)


def _fits(net: Net, cell: int, one: Said) -> bool:
    """Whether the words fit this value. Of a denial and a failed search: whether they leave it possible."""
    value, gone = net.values[cell][1], bool(net.absent[cell])
    if one.kind in (Kind.DENIED, Kind.FAILED):
        return gone or (bool(one.values) and value not in one.values)
    if one.values:
        return value in one.values
    return not gone


@dataclass(frozen=True)
class Outside:
    """Evidence beside the parts, as log-likelihoods: set × pressing × seller. `names` in the order of `terms`."""

    terms: Mapping[str, Array] = field(default_factory=dict)


@dataclass(frozen=True)
class Joint:
    """The joint, unnormalised. `log`: set × pressing × seller; `groups[i]`: the same × configuration of places."""

    log: Array
    groups: tuple[Array, ...]
    looks: tuple[Array, ...]
    """For each group: the log-weights of its configurations of places looked at, set × seller × configuration."""
    cell: Array
    variants: tuple[Array, ...] = ()
    """For each group, at row 0: as `variant_logs`."""

    @property
    def p(self) -> Array:
        """P(pressing, seller | all that is said): set × pressing × seller."""
        x = self.log - self.log.max(axis=(1, 2), keepdims=True)
        e = np.exp(x)
        out: Array = e / e.sum(axis=(1, 2), keepdims=True)
        return out


def enumerate_all(
    net: Net,
    said: Mapping[str, Said],
    a: Assumptions,
    outside: Outside = Outside(),
    *,
    heard: Array | None = None,
    use: Array | None = None,
    cell: Array | None = None,
    logs: Array | None = None,
    places: Collection[int] = (),
) -> Joint:
    """Everything at once, exactly.

    `heard` (set × feature, 0 or 1) leaves out what is not yet counted; `use` (set × term) the same for the terms of
    `outside`; `cell` are the likelihoods where they are known already, `logs` their logarithms. `places` are known to
    have been looked at.
    """
    n = len(a.rows)
    if cell is None:
        cell = likelihoods(net, said, a)
    if logs is None:
        logs = np.log(cell)
    if heard is not None:
        part = _part(heard)  # before it everything counts
        logs = logs.copy()
        logs[part:] *= heard[part:, None, net.feature_of]
    log: Array = a.kept(("prior",), net, lambda: _prior(net, a))
    for i, term in enumerate(outside.terms.values()):
        if use is not None:
            part = _part(use)
            term = np.concatenate([term[:part], term[part:] * use[part:, i, None, None]])
        log = log + term
    spoken = {f: s.kind is not Kind.EVADED for f, s in said.items() if s.kind in SPOKEN or s.kind is Kind.EVADED}
    misread = a.pair("misread.knows", "misread.layman")
    groups, looks, variants = [], [], []
    for group in net.groups:
        sure = frozenset(places) & set(group.places)
        weight = a.kept(("looked", group.places, sure), None, partial(looked, group.places, a, sure))
        variant = variant_logs(net, group, logs, spoken, heard)
        factor = _factor(group, a, variant, misread)
        variants.append(variant[:1])
        groups.append(factor)
        looks.append(weight)
        both = factor + weight[:, None]
        top = both.max(axis=3, keepdims=True)
        log = log + top[..., 0] + np.log(np.exp(both - top).sum(axis=3))
    return Joint(np.broadcast_to(log, (n, len(net.ids), 2)), tuple(groups), tuple(looks), cell, tuple(variants))


def _part(counts: Array) -> int:
    """The first row in which anything is left out."""
    out = np.flatnonzero(~counts.all(axis=1))
    return int(out[0]) if len(out) else len(counts)


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
            no = no + np.log(TINY)
        out = np.concatenate([out + no[:, :, None], out + yes[:, :, None]], axis=2)
    return out


def _factor(group: Group, a: Assumptions, variant: Array, misread: Array) -> Array:
    """log P(all that is said of the group's parts | pressing, seller, places looked at)."""
    n, configs, parts = len(a.rows), variant.shape[2], variant.shape[3]
    top = reduce(np.maximum, [variant[..., v] for v in range(variant.shape[4])])[..., None]
    value = np.exp(variant - top)
    by_part = np.moveaxis(value, 3, 0).reshape(parts, n * 2 * configs, -1)
    # Σ_v uses · ((1 - e) L[v] + e Σ_r pool L[r])
    mean = (by_part @ group.pool[:, :, None]).reshape(parts, n, 2, configs, 1)
    true = (by_part @ group.uses.swapaxes(1, 2)).reshape(parts, n, 2, configs, -1)
    if group.movable.any():
        q = group.movable[:, None] * a["swapped"][None, :]
        q = q[:, :, None, None, None]
        true = (1 - q) * true + q * mean
    e = misread[None, :, :, None, None]
    mixed = np.log(_product(np.maximum((1 - e) * true + e * mean, 1e-24)))
    out: Array = (mixed + top[..., 0].sum(axis=3)[..., None]).transpose(0, 3, 1, 2)
    return out


def _product(x: Array) -> Array:
    """The product over the first axis, of numbers from 1e-24 to 1; a dozen of them cannot underflow."""
    out: Array = x[:12].prod(axis=0)
    for start in range(12, len(x), 12):
        out = np.maximum(out * x[start : start + 12].prod(axis=0), 1e-300)
    return out


def shares(group: Group, a: Assumptions) -> Array:
    """The shares of the variants by pressing, swapped jackets allowed for: part × pressing × variant (row 0)."""
    q = (group.movable * a.at("swapped"))[:, None, None]
    out: Array = (1 - q) * group.uses + q * group.pool[:, None, :]
    return out


def variant_logs(net: Net, group: Group, logs: Array, spoken: Mapping[str, bool], heard: Array | None) -> Array:
    """log P(what is said of a part | the variant he takes it for): set × seller × configuration × part × variant.

    `spoken` holds the features that are spoken of, which he must have looked at, and (false) those he was asked about
    and passed over, which tell whether he has looked or not.
    """
    n = len(logs)
    must = np.array([*(spoken.get(f) is True for f in net.features), False])
    passed = [f for f, looked_at in spoken.items() if not looked_at and f in net.columns]
    counted = np.ones((n, len(net.features) + 1))
    if heard is not None:
        counted[:, :-1] = heard
    out = np.empty((n, 2, len(group.on), *group.cells.shape[:2]))
    flat = logs.reshape(n * 2, -1)
    for c, on in enumerate(group.on):
        onto = group.onto[c]
        if passed:  # heard wherever he has looked
            asked = np.isin(net.feature_of, [net.features.index(f) for f in passed])
            onto = np.where(asked[:, None], group.onto[-1], onto)
        out[:, :, c] = (flat @ onto).reshape(n, 2, *group.cells.shape[:2])
        unseen = must[group.features] & ~on
        if unseen.any():
            gone = (counted[:, group.features] * unseen).sum(axis=2)  # set × part
            out[:, :, c] += (np.log(TINY) * gone)[:, None, :, None]
    return out + group.filled
