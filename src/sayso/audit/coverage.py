"""What this buyer needs to know, given what is claimed; and the silences that tell something.

Needs are data (`lexicon/profiles/`): the profiles that fit the listing are laid over one another, feature by feature.
A label's dossier goes further: the sign that decides there is decisive, and metalwork and plant signs that do not
decide there only support.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from sayso.model import Claim, Finding, Segment, State

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.profiles import Need as NeedRow
    from sayso.lexicon.profiles import Profile
    from sayso.lexicon.terms import Feature

SPOKEN: frozenset[str] = frozenset({"stated", "denied", "hedged", "unknown", "conflicting"})
FIRM: frozenset[str] = frozenset({"stated", "denied", "conflicting"})


@dataclass(frozen=True)
class Standing:
    """How a feature stands before anybody asks why it matters: its state and the claims behind it."""

    state: State = "silent"
    claims: tuple[int, ...] = ()


@dataclass(frozen=True)
class Coverage:
    """The findings, how soon to ask for each feature (0: not at all), and what the silence tells."""

    findings: tuple[Finding, ...]
    ask: Mapping[str, float]
    profiles: tuple[str, ...]
    silence: tuple[str, ...]
    bare: frozenset[str] = field(default_factory=frozenset)
    """Features that are mentioned without the value that was to be known."""
    hidden: frozenset[str] = field(default_factory=frozenset)
    """Features that nobody can look at on such a copy."""


SILENT = Standing()


def cover(
    standing: Mapping[str, Standing],
    claims: Sequence[Claim],
    lexicon: Lexicon,
    *,
    segments: Sequence[Segment] = (),
    decides: Mapping[str, str] | None = None,
    tells: Mapping[str, str] | Sequence[tuple[str, str]] = (),
    suppose: Sequence[str] | None = None,
) -> Coverage:
    """One finding for each audited feature, with the need and a plain reason.

    `decides` maps the features that settle the pressing, by the dossier of this record, to what they show; `tells`
    those that tell a first pressing of this label to what is known of it; `suppose` names the profiles to go by
    instead of those that fit. Pure.
    """
    decides = decides or {}
    fitting = [
        p
        for p in lexicon.profiles.values()
        if (p.id in suppose or not p.when if suppose is not None else _fits(p, standing, claims, segments))
    ]
    needs = _needs(tuple(p.id for p in fitting), lexicon)
    features = lexicon.features
    bare = frozenset(
        f for f, now in standing.items() if now.claims and f in features and features[f].reads and _is_bare(now, claims)
    )
    findings: list[Finding] = []
    ask: dict[str, float] = {}
    told = tuple(sorted(dict(tells).items())) if any(_sign(f, n.need) for f, n in needs.items()) else ()
    for feature, finding, weight, clash in _silent(needs, tuple(sorted(decides.items())), told, lexicon):
        now = standing.get(feature)
        state = now.state if now else "silent"
        if now is not None and (state != "silent" or now.claims):
            finding = Finding(feature=feature, state=state, need=finding.need, claims=now.claims, why=finding.why)
        findings.append(finding)
        opened = lexicon.openness.get("bare" if feature in bare and state == "stated" else state)
        if opened is not None:
            ask[feature] = weight * opened.factor + opened.plus + (clash if state == "conflicting" else 0)
    return Coverage(
        findings=tuple(findings),
        ask=ask,
        profiles=tuple(p.id for p in fitting),
        silence=_silence(findings, claims, lexicon, frozenset(f for f, _ in told), frozenset(decides)),
        bare=bare,
        hidden=frozenset(f for f, row in needs.items() if row.hidden),
    )


def speaker(profiles: Iterable[str], lexicon: Lexicon) -> str:
    """Of the profiles that fit, the id of the one that gives the answer its words."""
    return max(profiles, key=lambda p: lexicon.profiles[p].speaks, default="any")


def _fits(
    profile: Profile, standing: Mapping[str, Standing], claims: Sequence[Claim], segments: Sequence[Segment]
) -> bool:
    def holds(test: str) -> bool:
        return _holds(test, standing, claims, segments)

    return (not profile.when or any(map(holds, profile.when))) and not any(map(holds, profile.unless))


def _holds(test: str, standing: Mapping[str, Standing], claims: Sequence[Claim], segments: Sequence[Segment]) -> bool:
    if ">=" in test:
        feature, _, least = test.partition(">=")
        said = [_number(c.value) for c in claims if c.feature == feature and c.polarity == "present"]
        return bool(said) and all(n is not None and n >= int(least) for n in said)
    if "~" in test:
        feature, _, wanted = test.partition("~")
        return any(
            c.feature == feature
            and c.polarity == "present"
            and c.value is not None
            and _holds_word(str(c.value).casefold(), wanted)
            for c in claims
        )
    if "=" in test:
        feature, _, states = test.partition("=")
        return standing.get(feature, SILENT).state in states.split("|")
    if test == "lot":
        return is_lot(claims, segments)
    return False


def _number(value: object) -> int | None:
    """The number with which a value begins ('1970s'); null where it begins with none."""
    m = re.match(r"\d+", str(value))
    return int(m[0]) if m else None


def is_lot(claims: Sequence[Claim], segments: Sequence[Segment]) -> bool:
    """Whether several records are offered together."""
    items = {s.item for s in segments if s.item is not None} | {c.item for c in claims if c.item is not None}
    return len(items) > 1


def _holds_word(value: str, wanted: str) -> bool:
    """Whether `wanted` stands in `value` as a whole word or number ('7' in '7 inch', not in '78')."""
    at = value.find(wanted)
    while at >= 0:
        before, after = value[at - 1 : at], value[at + len(wanted) : at + len(wanted) + 1]
        if not (before.isdigit() or after.isdigit() or before.isalpha() or (after.isalpha() and wanted[-1].isalpha())):
            return True
        at = value.find(wanted, at + 1)
    return False


class _Kept:
    """What follows from the data alone, worked out once for each lexicon."""

    def __init__(self) -> None:
        self.needs: dict[tuple[str, ...], Needs] = {}
        self.silent: dict[tuple[int, Decides, Decides], tuple[tuple[str, Finding, float, int], ...]] = {}


Needs = dict[str, "NeedRow"]
Decides = tuple[tuple[str, str], ...]
_KEPT: WeakKeyDictionary[Lexicon, _Kept] = WeakKeyDictionary()


def _kept(lexicon: Lexicon) -> _Kept:
    kept = _KEPT.get(lexicon)
    if kept is None:
        kept = _KEPT[lexicon] = _Kept()
    return kept


def _needs(profiles: tuple[str, ...], lexicon: Lexicon) -> Needs:
    """The needs of the profiles that fit, laid over one another."""
    kept = _kept(lexicon).needs
    if profiles not in kept:
        kept[profiles] = {row.feature: row for p in profiles for row in lexicon.needs if row.profile == p}
    return kept[profiles]


def _sign(feature: str, need: str) -> bool:
    """Whether a sign of the pressing is what this buyer needs: then what is known of the label says which."""
    return need == "decisive" and feature.startswith(("deadwax.", "label."))


def _silent(
    needs: Needs, decides: Decides, told: Decides, lexicon: Lexicon
) -> tuple[tuple[str, Finding, float, int], ...]:
    """For each audited feature the finding of a listing that does not mention it, its `ask` and `clash`."""
    kept = _kept(lexicon).silent
    key = (id(needs), decides, told)  # `needs` lives as long as the lexicon does
    if key not in kept:
        kept[key] = tuple(
            _one(f, needs.get(f.id), dict(decides), dict(told), lexicon) for f in lexicon.features.values() if f.audited
        )
    return kept[key]


def _one(
    feature: Feature, row: NeedRow | None, decides: Mapping[str, str], told: Mapping[str, str], lexicon: Lexicon
) -> tuple[str, Finding, float, int]:
    need, why, weight, clash = (row.need, row.why, float(row.ask), row.clash) if row else ("none", "", 0.0, 0)
    if row is not None and row.hidden:
        return feature.id, Finding(feature=feature.id, state="silent", need=need, why=why), 0.0, clash
    if feature.id in decides:
        shown = decides[feature.id]
        key = "why.decides" if shown not in ("", "none") else "why.decides_none"
        need, why = "decisive", lexicon.phrases[key].format(value=shown)
        weight = max(weight, 90.0) + 25.0
    elif feature.id in told:
        need, why = "decisive", lexicon.phrases["why.tells"].format(what=told[feature.id].rstrip("."))
        weight = max(weight, 85.0) + 10.0
    elif (decides or told) and need == "decisive":
        need = "supporting"
    return feature.id, Finding(feature=feature.id, state="silent", need=need, why=why), weight, clash


def _borne(feature: str, lexicon: Lexicon, known: frozenset[str]) -> bool:
    """Whether a seller can be held to his silence on it: what only some labels bear must be known of this one."""
    return feature in known or not lexicon.features[feature].some


def _is_bare(now: Standing, claims: Sequence[Claim]) -> bool:
    """Whether a feature is said to be there while none of the claims gives what it reads."""
    said = [claims[i] for i in now.claims if claims[i].polarity == "present"]
    return bool(said) and all(c.value in (None, "") for c in said)


def _silence(
    findings: Sequence[Finding],
    claims: Sequence[Claim],
    lexicon: Lexicon,
    told: frozenset[str],
    decides: frozenset[str] = frozenset(),
) -> tuple[str, ...]:
    """Selective silence: the neighbours of a decisive sign are described and the sign itself is not.

    `told` are the signs that tell a first pressing of this label: on paper as well as in the wax; `decides` those that
    settle it for this record.
    """
    zone = {f.feature: lexicon.features[f.feature].zone for f in findings}

    def names(features: Sequence[str]) -> str:
        words = [lexicon.features[f].name for f in features]
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"

    wax = [f for f in findings if zone[f.feature] == "dead wax"]
    described = [f.feature for f in wax if f.state in FIRM]
    silent = [f.feature for f in wax if f.state == "silent" and f.need == "decisive"]
    telling = [f for f in silent if not lexicon.features[f].always and _borne(f, lexicon, told | decides)]
    silent = [f for f in silent if lexicon.features[f].always or f in telling]
    # A seller who wonders what he sees has looked as well, but cannot be expected to name what is missing.
    knows = not any(f.state in ("hedged", "unknown") for f in wax)
    if described and silent and knows:
        key, what = ("silence.selective", telling) if telling else ("silence.withheld", silent)
        return (lexicon.phrases[key].format(described=names(described), silent=names(what)),)
    spoken = [f.feature for f in findings if f.feature.startswith("label.") and f.state in FIRM]
    printed = [f.feature for f in findings if f.feature in told and f.state == "silent" and zone[f.feature] == "label"]
    if spoken and printed:
        return (lexicon.phrases["silence.printed"].format(described=names(spoken), silent=names(printed)),)
    if len(spoken) >= 2 and silent and not any(f.state in SPOKEN or f.state == "deferred" for f in wax):
        return (lexicon.phrases["silence.label_only"].format(described=names(spoken)),)
    return ()
