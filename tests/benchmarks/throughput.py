"""Listings a second on one core, first pass over texts never seen: this program beside the tools it is built on.

Run: python tests/benchmarks/throughput.py [--texts 300] [--rounds 3]

Everything runs in one process in turn, each round over new texts, so that a busy machine slows all alike and no cache
helps anybody. All matchers get the same terms (those of the lexicon). The two toolkits are optional; they cannot be
installed together by pip as their requirements on spaCy exclude each other:

    pip install negspacy && pip install --no-deps medspacy && pip install pyrush pysbd jsonschema

- spaCy: blank English, tokenizer + sentencizer + PhraseMatcher. The claims stage should reach half of its rate, the
  whole audit a third; neither is reached yet (see 'Speed' in DEVELOPERS.md).
- negspaCy: the same and negation of each term (polarity alone).
- medspaCy: target matcher and ConText on spaCy's own tokenizer, not its sentence splitter. The audit should be three
  times as fast.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from throughput_listings import listings

from sayso.intake import read_record
from sayso.lexicon import Lexicon, load_lexicon
from sayso.model import Listing

Run = Callable[[list[Listing]], object]


def terms(lexicon: Lexicon) -> list[str]:
    return sorted({form for term in lexicon.terms for form in term.forms})


def spacy_only(forms: list[str]) -> Run:
    import spacy
    from spacy.matcher import PhraseMatcher

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    matcher.add("TERM", list(nlp.tokenizer.pipe(forms)))
    return lambda texts: [matcher(doc) for doc in nlp.pipe(t.text for t in texts)]


def negspacy_run(forms: list[str]) -> Run:
    import spacy
    from negspacy.negation import Negex  # noqa: F401

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    ruler: Any = nlp.add_pipe("entity_ruler", config={"phrase_matcher_attr": "LOWER"})
    ruler.add_patterns([{"label": "TERM", "pattern": form} for form in forms])
    nlp.add_pipe("negex", config={"ent_types": ["TERM"]})
    return lambda texts: [[e._.negex for e in doc.ents] for doc in nlp.pipe(t.text for t in texts)]


def medspacy_run(forms: list[str]) -> Run:
    import spacy
    from medspacy.context import ConText  # noqa: F401
    from medspacy.target_matcher import TargetMatcher, TargetRule  # noqa: F401

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    matcher: Any = nlp.add_pipe("medspacy_target_matcher")
    matcher.add([TargetRule(form, "TERM") for form in forms])
    nlp.add_pipe("medspacy_context")
    return lambda texts: [[e._.is_negated for e in doc.ents] for doc in nlp.pipe(t.text for t in texts)]


def claims_run(lexicon: Lexicon) -> Run:
    from sayso.claims import read_claims

    return lambda texts: [read_claims(t, lexicon) for t in texts]


def audit_run(lexicon: Lexicon) -> Run:
    from sayso.engine import audit_listing

    return lambda texts: [audit_listing(t, lexicon) for t in texts]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--texts", type=int, default=300)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--lexicon", type=Path, action="append", default=[])
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    lexicon = load_lexicon(options.lexicon)
    forms = terms(lexicon)
    makers: dict[str, Callable[[], Run]] = {
        "spaCy tokenizer + sentencizer + PhraseMatcher": lambda: spacy_only(forms),
        "sayso, claims stage": lambda: claims_run(lexicon),
        "sayso, whole audit": lambda: audit_run(lexicon),
        "negspaCy (polarity alone)": lambda: negspacy_run(forms),
        "medspaCy target matcher + ConText": lambda: medspacy_run(forms),
    }
    runs: dict[str, Run] = {}
    warm = [read_record(r) for r in listings(5, start=10_000_000)]
    for name, make in makers.items():
        try:
            runs[name] = make()
            runs[name](warm)
        except ImportError as error:
            print(f"left out: {name} ({error})", file=sys.stderr)
    rates: dict[str, list[float]] = {name: [] for name in runs}
    # Each tool gets its own texts in each round: the vocabulary they share is that of the language, as in use.
    start = 0
    for _ in range(options.rounds):
        for name, run in runs.items():
            texts = [read_record(r) for r in listings(options.texts, start=start)]
            start += options.texts
            began = time.perf_counter()
            run(texts)
            rates[name].append(options.texts / (time.perf_counter() - began))
    size = statistics.mean(len(r["title"]) + len(r["text"]) for r in listings(50))
    print(f"{len(forms):,} terms; texts of {size:,.0f} characters; {options.rounds} rounds of {options.texts}; medians")
    bare = statistics.median(rates["spaCy tokenizer + sentencizer + PhraseMatcher"])
    for name, found in rates.items():
        rate = statistics.median(found)
        print(f"  {name:<48}{rate:8.0f} a second  {rate / bare:6.2f} of spaCy  ({min(found):.0f} to {max(found):.0f})")
    return 0


if __name__ == "__main__":
    sys.exit(main())
