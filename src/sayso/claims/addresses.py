"""Addresses that no list holds: a house number and a street, said to be on the label or on the jacket."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.lexicon.terms import Term

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon

_PLACES = {"label": "label.address", "jacket": "jacket.address"}


@lru_cache(maxsize=8)
def _streets(lexicon: Lexicon) -> re.Pattern[str]:
    """A house number before capitalised words that end in a noun for a street, or the other way round ('Rue X 14')."""
    nouns = sorted({f for w in lexicon.words if w.kind == "street" for f in w.forms}, key=len, reverse=True)
    noun = "|".join(re.escape(n) for n in nouns)
    ending = "|".join(re.escape(f) for w in lexicon.words if w.kind == "street_ending" for f in w.forms)
    name = r"[A-Z][\w.'’-]*"
    first = rf"\d{{1,5}}[a-z]?,? (?:{name} ){{0,3}}?(?:{name}) (?i:{noun})\b\.?"
    last = rf"(?:(?i:{noun}) (?:{name} ?){{1,3}},? ?\d{{1,4}}|{name}(?:{ending}) \d{{1,4}})\b"
    return re.compile(rf"(?<![\w-])(?:{first}|{last})")


def read_addresses(draft: Draft) -> None:
    """Addresses of the label or the jacket, where no term of the lexicon holds them already."""
    text = draft.a.folded
    for m in _streets(draft.lexicon).finditer(text):
        i, j = draft.a.token(m.start()), draft.a.token(m.end() - 1) + 1
        if any(isinstance(h.row, Term) and h.row.kind == "address" for h in draft.a.of("term", i - 4, j)):
            continue
        part, _ = draft.a.carrier(m.start(), m.end())
        feature = _PLACES.get(part or "")
        if feature is None:
            continue
        said = draft.a.assertion(m.start(), m.end())
        value = draft.a.text[m.start() : m.end()]
        draft.add(feature, m.start(), m.end(), said, said.polarity, value, None, rule="street")
