"""Whether stated odds are kept: simulated sellers and copies, with every assumption drawn anew within its range.

Run: python tests/benchmarks/judgement_calibration.py [N]     (10,000 sellers by default; about a minute)

Prints the reliability of the stated chance of a first pressing, and its Brier score beside two other ways to judge: a
keyword rule ('says original or first, or names the mark') and the same network deaf to silence.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Any

import numpy as np

from sayso.judgement import assume
from sayso.judgement.dossier import take
from sayso.judgement.hear import Heard
from sayso.judgement.network import KNOWS, Kind, build, enumerate_all
from sayso.judgement.outside import Asked, evidence
from sayso.judgement.simulate import brier, draw_copies, reliability
from sayso.lexicon import load_lexicon

MARK = "deadwax.plant_mark"
DOSSIER: dict[str, Any] = {
    "parts": {
        "label": {
            "old": {"label.design": "green and gold", "label.address": "4 Tenter Row"},
            "new": {"label.design": "white", "label.address": "900 Corn Quay"},
        },
        "plant": {"works": {MARK: "thistle"}, "weak": {MARK: "none"}, "other": {MARK: "none"}},
        "metal": {"one": {"deadwax.matrix": "MF31-A/MF31-B", "deadwax.mastering_mark": "OLW"}},
        "jacket": {"old": {"jacket.construction": "flip-back"}, "new": {"jacket.construction": "plain"}},
    },
    "pressings": [
        {
            "id": "first",
            "copies": 800,
            "uses": {
                "label": {"old": 1.0},
                "plant": {"works": 0.97, "weak": 0.03},
                "metal": {"one": 1.0},
                "jacket": {"old": 0.9, "new": 0.1},
            },
        },
        {
            "id": "later",
            "copies": 1200,
            "uses": {
                "label": {"old": 0.5, "new": 0.5},
                "plant": {"other": 1.0},
                "metal": {"one": 1.0},
                "jacket": {"old": 0.4, "new": 0.6},
            },
        },
    ],
    "counts_as_first": ["first"],
}


def main(n: int) -> None:
    """Draws, judges, prints."""
    rng = np.random.default_rng(2024)
    known = load_lexicon(user=False).assumptions
    stated_in = assume.draw(known, spread=False)
    ranges = assume.sample(known, max(n // 20, 1), rng)
    net = build(take(DOSSIER))
    stated, deaf, keyword, true, experts, priors = [], [], [], [], [], []
    for batch in range(len(ranges.rows)):
        world = ranges.only(ranges.rows[batch : batch + 1])
        for copy in draw_copies(net, world, 20, rng):
            first = bool(net.first[copy.pressing])
            who = "knows" if copy.knows else "layman"
            says = rng.random() < world.at(f"word.{'first' if first else 'later'}.{who}")
            heard = Heard(
                said=copy.said,
                edition=("first", True) if says else None,
                grade=bool(rng.random() < world.at(f"style.grade.{who}")),
                number=bool(rng.random() < world.at(f"style.number.{who}")),
                trade_words=bool(rng.random() < (0.5 if copy.knows else 0.5 * world.at("style.trade_words"))),
                layman_words=bool(rng.random() < (0.5 * world.at("style.layman_words") if copy.knows else 0.5)),
            )
            told = enumerate_all(net, heard.said, stated_in, evidence(net, heard, Asked(), stated_in)).p[0]
            stated.append(float(told[net.first].sum()))
            experts.append((float(told[:, KNOWS].sum()), copy.knows))
            # Deaf to silence: only what is said is let in.
            spoken = np.array([[float(f in copy.said) for f in net.features]])
            outside = evidence(net, replace(heard), Asked(), stated_in)
            only = (spoken, np.ones((1, len(outside.terms))))
            plain = enumerate_all(net, heard.said, stated_in, outside, steps=only).p[-1]
            deaf.append(float(plain[net.first].sum()))
            named = copy.said.get(MARK)
            keyword.append(0.9 if says or (named is not None and named.kind is Kind.FIRM) else 0.3)
            true.append(first)
            priors.append(0.4)
    print(f"{len(true)} sellers, {sum(true)} first pressings; {sum(k for _, k in experts)} sellers know the trade")
    print("\nstated   came true   sellers   sampling error")
    worst = 0.0
    for mean, share, count in reliability(stated, true):
        error = (max(mean * (1 - mean), 1e-4) / count) ** 0.5
        worst = max(worst, abs(mean - share) - 2 * error)
        print(f"{mean:6.3f}   {share:9.3f}   {count:7d}   {error:.3f}")
    print(f"\nfarthest off, beyond two sampling errors: {max(worst, 0):.3f}")
    print("\nBrier score (less is better)")
    for name, values in (
        ("the odds", stated),
        ("deaf to silence", deaf),
        ("keyword rule, 'says original' or names the mark", keyword),
        ("base rate", priors),
    ):
        print(f"  {brier(values, true):.4f}  {name}")
    print(f"  {brier([x for x, _ in experts], [y for _, y in experts]):.4f}  (who knows the trade)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
