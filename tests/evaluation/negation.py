"""Assertion status beside other tools, on the same rows, in one run.

Rows: the public NegEx test kit (Chapman et al. 2001; github.com/chapmanbe/negex, GeneralNegEx, Apache-2.0) and
one-liners of this genre, as JSON Lines of {id, text, start, end, gold}; they lie outside the project and are read where
present. Tools: `sayso.assess`; negspaCy (termset 'en') and medspaCy's ConText with their own rules on spaCy's tokenizer
and sentencizer; a window of six words. The tools come with the extra `bench` (medspaCy wants Python 3.12 beside this
spaCy; on 3.11 install it with `pip install --no-deps`). Nothing is tuned on the kit; it shows sanity. Words of the
clinic that the kit needs and no record listing has are in clinical.toml, which is used here alone.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

HERE = Path(__file__).parent
KIT = HERE.parents[2] / "shared" / "corpus" / "negation"
Row = Mapping[str, Any]
Judge = Callable[[Row], str]
NEGATIVE = re.compile(
    r"\b(?:no|not|without|never|none|nor|neither|denies|denied|absence|cannot)\b|n't\b", re.IGNORECASE
)


def rows(path: Path) -> list[Row]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]


def window(row: Row, words: int = 6) -> str:
    """Negated where a negative word stands among the six words before: what the simplest program would do."""
    before = " ".join(row["text"][: row["start"]].split()[-words:])
    return "negated" if NEGATIVE.search(before) else "affirmed"


def ours(clinical: bool) -> Judge:
    from sayso import assess
    from sayso.lexicon import load_lexicon

    lexicon = load_lexicon([HERE / "clinical.toml"] if clinical else [])
    return lambda row: str(assess(row["text"], row["start"], row["end"], lexicon=lexicon).status)


def _marked(nlp: Any, row: Row) -> Any:
    """The row's text with its phrase as the only entity, before the negation component runs."""
    doc = nlp.make_doc(row["text"])
    span = doc.char_span(row["start"], row["end"], label="THING", alignment_mode="expand")
    doc.set_ents([span])
    for _, component in nlp.pipeline:
        doc = component(doc)
    return doc.ents[0]


def negspacy() -> Judge:
    import spacy
    from negspacy.negation import Negex  # noqa: F401  (registers the component)
    from negspacy.termsets import termset

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    nlp.add_pipe("negex", config={"neg_termset": termset("en").get_patterns()})
    return lambda row: "negated" if _marked(nlp, row)._.negex else "affirmed"


def medspacy() -> Judge:
    import spacy
    from medspacy.context import ConText  # noqa: F401  (registers the component)

    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    nlp.add_pipe("medspacy_context")

    def judge(row: Row) -> str:
        entity = _marked(nlp, row)
        if entity._.is_negated:
            return "negated"
        return "possible" if entity._.is_uncertain or entity._.is_hypothetical else "affirmed"

    return judge


def f1(pairs: Sequence[tuple[str, str]], positive: str = "negated") -> tuple[float, float, float]:
    """Precision, recall and F1 of `positive` over (gold, told) pairs."""
    counts = Counter((gold == positive, told == positive) for gold, told in pairs)
    hit, false, missed = counts[True, True], counts[False, True], counts[True, False]
    precision, recall = hit / (hit + false or 1), hit / (hit + missed or 1)
    return precision, recall, 2 * precision * recall / (precision + recall or 1)


def _tools(clinical: bool) -> Iterator[tuple[str, Judge | str]]:
    for name, make in (
        ("sayso.assess", partial(ours, clinical)),
        ("negspaCy", negspacy),
        ("medspaCy ConText", medspacy),
        ("six-word window", lambda: window),
    ):
        try:
            yield name, make()
        except ImportError as error:
            yield name, f"not installed ({error.name})"


def report(kit: str | None = None, *, wrong: bool = False) -> Iterator[str]:
    for path, clinical in (
        (Path(kit) if kit else KIT / "negex-kit.jsonl", True),
        (KIT / "listing-cases.jsonl", False),
    ):
        if not path.exists():
            yield f"{path.name}: not here; pass its path with --kit" if clinical else f"{path.name}: not here"
            continue
        yield from _compare(path.name, rows(path), clinical, wrong)
        yield ""


def _compare(name: str, cases: Sequence[Row], clinical: bool, wrong: bool) -> Iterator[str]:
    yield f"{name}: {len(cases)} rows, {dict(Counter(r['gold'] for r in cases))}"
    yield f"{'':20}{'negated: P':>12}{'R':>8}{'F1':>8}{'all right':>14}{'seconds':>10}"
    for tool, judge in _tools(clinical):
        if isinstance(judge, str):
            yield f"{tool:20}  {judge}"
            continue
        begun = perf_counter()
        told = [judge(row) for row in cases]
        seconds = perf_counter() - begun
        pairs = [(str(row["gold"]), t) for row, t in zip(cases, told, strict=True)]
        precision, recall, f = f1(pairs)
        right = sum(gold == t for gold, t in pairs)
        yield f"{tool:20}{precision:12.3f}{recall:8.3f}{f:8.3f}{right:8} of {len(cases)}{seconds:10.2f}"
        if wrong and tool.startswith("sayso"):
            for row, (gold, t) in zip(cases, pairs, strict=True):
                if gold != t:
                    before, after = row["text"][: row["start"]], row["text"][row["end"] :]
                    phrase = row["text"][row["start"] : row["end"]]
                    yield f"    {row['id']}: is {gold}, told {t}: …{before[-70:]}[{phrase}]{after[:50]}…"
