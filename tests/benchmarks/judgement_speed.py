"""How long one judgement takes, warm: twelve pressings, thirty features, odds with their range, every question valued.

Run: python tests/benchmarks/judgement_speed.py [--profile]
"""

from __future__ import annotations

import sys
import time
from decimal import Decimal

import numpy as np

from sayso.judgement import Offer, judge
from sayso.judgement.hear import Heard
from sayso.judgement.network import Kind, Said
from sayso.lexicon import load_lexicon
from sayso.lexicon.labels import Label
from sayso.model import Listing

PLACES = ("label", "deadwax", "jacket", "disc")


def dossier(pressings: int = 12, parts: int = 12, features: int = 30, variants: int = 4, seed: int = 0) -> Label:
    """A random dossier of the given size."""
    rng = np.random.default_rng(seed)
    by_part: dict[str, list[str]] = {f"p{i}": [] for i in range(parts)}
    for n in range(features):
        by_part[f"p{n % parts}"].append(f"{PLACES[n % parts % 4]}.f{n}")
    shown = {
        part: {f"v{v}": {f: "none" if v == 0 else f"{f} {v}" for f in names} for v in range(variants)}
        for part, names in by_part.items()
    }

    def shares() -> dict[str, float]:
        x = rng.dirichlet(np.ones(variants))
        return {f"v{v}": float(x[v]) for v in range(variants)}

    rows = [
        {"id": f"k{k}", "years": (1960 + k, 1961 + k), "copies": 100.0 + k, "uses": {p: shares() for p in shown}}
        for k in range(pressings)
    ]
    return Label.model_validate(
        {"name": "Benchmark", "number": "1", "parts": shown, "pressings": rows, "counts_as_first": ["k0"]}
    )


def main() -> None:
    """Prints milliseconds of processor time: the best, median and ninth decile of 500 runs.

    The machine may be shared: a busy neighbour on the same core slows the median, not the best.
    """
    lexicon = load_lexicon(user=False)
    label = dossier()
    features = [f for variants in label.parts.values() for f in variants["v1"]]
    heard = Heard(said={f: Said(Kind.FIRM, (f"{f} 1",)) for f in features[:8]})
    offer = Offer(Decimal(100), "USD", worth={f"k{k}": Decimal(300 - 20 * k) for k in range(12)})
    listing = Listing(text="")

    def once() -> None:
        found = judge((), (), listing, label, offer, lexicon, heard=heard)
        assert found.odds is not None
        assert len(found.values) == 30

    for _ in range(10):
        once()
    taken = []
    for _ in range(500):
        start = time.process_time()
        once()
        taken.append(1000 * (time.process_time() - start))
    print(
        f"one judgement (processor): best {min(taken):.2f} ms, median {np.median(taken):.2f} ms, "
        f"ninth decile {np.quantile(taken, 0.9):.2f} ms; bound 5 ms"
    )
    if "--profile" in sys.argv:
        import cProfile
        import pstats

        with cProfile.Profile() as profile:
            for _ in range(50):
                once()
        pstats.Stats(profile).sort_stats("cumulative").print_stats(40)


if __name__ == "__main__":
    main()
