"""One toolkit in a process of its own, for throughput.py. It imports nothing of this project: it may run in an
environment that this project cannot be installed in.

It reads one JSON value a line: first the terms, then again and again a list of texts; it answers each with the seconds
that its work took (after the terms: with the version of spaCy).
"""

from __future__ import annotations

import json
import sys
import time
import warnings
from collections.abc import Callable
from typing import Any

Run = Callable[[list[str]], object]


def bare(forms: list[str]) -> Run:
    import spacy
    from spacy.matcher import PhraseMatcher

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    matcher.add("TERM", list(nlp.tokenizer.pipe(forms)))
    return lambda texts: [matcher(doc) for doc in nlp.pipe(texts)]


def negspacy(forms: list[str]) -> Run:
    import spacy
    from negspacy.negation import Negex  # noqa: F401

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    ruler: Any = nlp.add_pipe("entity_ruler", config={"phrase_matcher_attr": "LOWER"})
    ruler.add_patterns([{"label": "TERM", "pattern": form} for form in forms])
    nlp.add_pipe("negex", config={"ent_types": ["TERM"]})
    return lambda texts: [[e._.negex for e in doc.ents] for doc in nlp.pipe(texts)]


def medspacy(forms: list[str]) -> Run:
    import spacy
    from medspacy.context import ConText  # noqa: F401
    from medspacy.target_matcher import TargetMatcher, TargetRule  # noqa: F401

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    matcher: Any = nlp.add_pipe("medspacy_target_matcher")
    matcher.add([TargetRule(form, "TERM") for form in forms])
    nlp.add_pipe("medspacy_context")
    return lambda texts: [[e._.is_negated for e in doc.ents] for doc in nlp.pipe(texts)]


def main() -> int:
    warnings.simplefilter("ignore")
    answers, sys.stdout = sys.stdout, sys.stderr  # toolkits print as they are loaded
    make = {"bare": bare, "negspacy": negspacy, "medspacy": medspacy}[sys.argv[1]]
    run = make(json.loads(sys.stdin.readline()))
    import spacy

    print(json.dumps(spacy.__version__), file=answers, flush=True)
    for line in sys.stdin:
        texts = json.loads(line)
        began = time.perf_counter()
        run(texts)
        print(json.dumps(time.perf_counter() - began), file=answers, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
