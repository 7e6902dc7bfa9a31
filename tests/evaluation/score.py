"""How well audits agree with an annotated corpus.

The rules are those of the annotation guide: claims are matched one to one, in order, by feature, polarity and (strict)
certainty where the quotes overlap; a further mention of what the gold already says is neither a hit nor an error.
"""

from __future__ import annotations

import html
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Record = Mapping[str, Any]
Pairs = list[tuple[Record, Record]]
SHARED_WORDS = 0.6
"""Quotes overlap where the smaller shares at least this part of its words with the other."""
ASKED = 5
"""So many of the first questions are looked at."""


def fold(text: object) -> str:
    """The words alone: markup, entities, case and punctuation are folded away."""
    plain = html.unescape(re.sub(r"<[^>]*>", " ", str(text)))
    return re.sub(r"[\W_]+", " ", plain.casefold()).strip()


def overlap(one: object, other: object) -> bool:
    """Whether one quote holds the other, or they share most of their words."""
    a, b = fold(one), fold(other)
    if not a or not b:
        return False
    if a in b or b in a:
        return True
    words, others = set(a.split()), set(b.split())
    return len(words & others) / min(len(words), len(others)) >= SHARED_WORDS


def _certainty(claim: Record) -> str:
    return claim.get("certainty") or "certain"


def match(gold: Sequence[Record], seen: Sequence[Record], *, strict: bool) -> Pairs:
    """Greedy pairs, each gold claim taking the first free claim that fits."""
    free = list(seen)
    pairs: Pairs = []
    for wanted in gold:
        for i, claim in enumerate(free):
            same = claim["feature"] == wanted["feature"] and claim["polarity"] == wanted["polarity"]
            if same and strict:
                same = _certainty(claim) == _certainty(wanted)
            if same and overlap(claim.get("quote", ""), wanted["quote"]):
                pairs.append((wanted, claim))
                del free[i]
                break
    return pairs


def value_agrees(gold: Record, seen: Record) -> bool | None:
    """Whether the values agree, one holding the other; null where the gold has none."""
    if gold.get("value") in (None, ""):
        return None
    a, b = fold(gold["value"]), fold("" if seen.get("value") is None else seen["value"])
    return a == b or (bool(b) and (a in b or b in a))


def _repeats(claim: Record, gold: Iterable[Record]) -> bool:
    key = (claim["feature"], claim["polarity"], _certainty(claim))
    for wanted in gold:
        if (wanted["feature"], wanted["polarity"], _certainty(wanted)) != key:
            continue
        if wanted.get("value") in (None, "") or claim.get("value") in (None, ""):
            return True
        a, b = fold(wanted["value"]), fold(claim["value"])
        if a in b or b in a:
            return True
    return False


@dataclass
class Reading:
    """One listing: its gold beside what was read."""

    gold: Record
    seen: list[Record]
    strict: Pairs
    loose: Pairs
    trapped: list[Record]
    states: list[tuple[str, str, str]]
    """Wrong states: feature, truth, told."""

    @property
    def id(self) -> str:
        return str(self.gold["id"])

    @property
    def missing(self) -> list[Record]:
        got = {id(g) for g, _ in self.strict}
        return [g for g in self.gold["claims"] if id(g) not in got]

    @property
    def extra(self) -> list[Record]:
        got = {id(s) for _, s in self.strict}
        return [s for s in self.seen if id(s) not in got]


@dataclass
class Score:
    """The figures of a corpus."""

    n: Counter[str] = field(default_factory=Counter)
    per: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    confusion: Counter[tuple[str, str]] = field(default_factory=Counter)
    readings: list[Reading] = field(default_factory=list)

    def figures(self) -> dict[str, float]:
        n = self.n
        strict_p, strict_r = _ratio(n["strict"], n["seen"]), _ratio(n["strict"], n["gold"])
        loose_p, loose_r = _ratio(n["loose"], n["seen"]), _ratio(n["loose"], n["gold"])
        return {
            "listings": n["listings"],
            "without_audit": n["without_audit"],
            "coverage_accuracy": _ratio(n["cell_ok"], n["cells"]),
            "spoken_accuracy": _ratio(n["spoken_ok"], n["spoken"]),
            "claim_precision": strict_p,
            "claim_recall": strict_r,
            "claim_f1": _ratio(2 * strict_p * strict_r, strict_p + strict_r),
            "claim_f1_ignoring_certainty": _ratio(2 * loose_p * loose_r, loose_p + loose_r),
            "value_accuracy": _ratio(n["value_ok"], n["valued"]),
            "false_stated": _ratio(n["false_stated"], n["cells"]),
            "missed_silence": _ratio(n["missed_silence"], n["cells"]),
            "false_silence": _ratio(n["false_silence"], n["cells"]),
            "must_ask_recall_at_5": _ratio(n["must_hit"], n["must"]),
            "first_question_right": _ratio(n["first_hit"], n["first"]),
            "traps": n["traps"],
            "trapped": n["trapped"],
            "perfect_listings": _ratio(n["perfect"], n["listings"]),
        }


def _ratio(a: float, b: float) -> float:
    return a / b if b else 0.0


def read_one(gold: Record, audit: Record) -> Reading:
    """One listing's gold beside its audit."""
    claims = [c for c in audit.get("claims", ()) if c["feature"] in gold["coverage"]]
    strict, loose = match(gold["claims"], claims, strict=True), match(gold["claims"], claims, strict=False)
    hit = {id(s) for _, s in (*strict, *loose)}
    seen = [c for c in claims if id(c) in hit or not _repeats(c, gold["claims"])]
    trapped = [
        trap
        for trap in gold.get("traps", ())
        if any(
            c["feature"] == trap["feature"] and id(c) not in hit and overlap(c.get("quote", ""), trap["quote"])
            for c in seen
        )
    ]
    told = {f["feature"]: f["state"] for f in audit.get("findings", ())}
    states = [(f, truth, told.get(f, "silent")) for f, truth in gold["coverage"].items()]
    return Reading(gold, seen, strict, loose, trapped, [s for s in states if s[1] != s[2]])


def score(gold: Iterable[Record], audits: Mapping[str, Record]) -> Score:
    """The figures of `audits`, by the id of the listing, against `gold`. A listing without an audit is all silent."""
    out = Score()
    for row in gold:
        _count(out, row, audits.get(row["id"]))
    return out


def _count(out: Score, gold: Record, audit: Record | None) -> None:
    n, per = out.n, out.per
    reading = read_one(gold, audit or {})
    out.readings.append(reading)
    n["listings"] += 1
    n["without_audit"] += audit is None
    n["traps"] += len(gold.get("traps", ()))
    n["trapped"] += len(reading.trapped)
    n["gold"] += len(gold["claims"])
    n["seen"] += len(reading.seen)
    n["strict"] += len(reading.strict)
    n["loose"] += len(reading.loose)
    n["perfect"] += not reading.states
    for claim in gold["claims"]:
        per[claim["feature"]]["gold"] += 1
    for claim in reading.seen:
        per[claim["feature"]]["seen"] += 1
    for wanted, claim in reading.strict:
        per[wanted["feature"]]["hit"] += 1
        agrees = value_agrees(wanted, claim)
        if agrees is not None:
            n["valued"] += 1
            n["value_ok"] += agrees
    wrong = {feature: told for feature, _, told in reading.states}
    for feature, truth in gold["coverage"].items():
        told = wrong.get(feature, truth)
        out.confusion[truth, told] += 1
        if told != truth:
            per[feature]["cell_bad"] += 1
        n["cells"] += 1
        n["cell_ok"] += told == truth
        n["spoken"] += truth != "silent"
        n["spoken_ok"] += truth != "silent" and told == truth
        n["false_stated"] += told == "stated" != truth
        n["missed_silence"] += truth == "silent" != told
        n["false_silence"] += told == "silent" != truth
    if must := gold.get("must_ask"):
        questions = (audit or {}).get("questions", [])[:ASKED]
        asked = [f for q in questions for f in q.get("features", ())]
        n["must"] += len(must)
        n["must_hit"] += sum(f in asked for f in must)
        n["first"] += 1
        n["first_hit"] += bool(asked) and must[0] in questions[0]["features"]
