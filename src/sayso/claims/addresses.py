"""Addresses that no list holds: a house number and a street, said to be on the label or on the jacket."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.claims.index import CLASS
from sayso.lexicon.terms import Term

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon

_SHORTENED = 5
"""No shortened noun for a street is longer, its full stop counted ('Blvd.')."""
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
    capital = "|".join(re.escape(n.capitalize()) for n in nouns)
    named = rf"(?P<named>(?:{name} ){{1,3}}?(?:{capital})\b\.?)"
    return re.compile(rf"(?<![\w-])(?:{first}|{last}|{named})")


@lru_cache(maxsize=8)
def _towns(lexicon: Lexicon) -> tuple[re.Pattern[str], frozenset[str]]:
    """Names with capitals before 'address', or before the name of a state; and words with a capital that are none."""
    of = {k: sorted({f for w in lexicon.words if w.kind == k for f in w.forms}, key=len, reverse=True) for k in _KINDS}
    noun = "|".join(re.escape(n) for n in of["address_word"])
    state = "|".join(re.escape(n) for n in of["state_name"])
    name = r"[A-Z][\w'’-]+\.?"
    before = rf"((?:{name},? (?:\d{{1,2}} )?){{1,4}})(?:{noun})\b"
    within = rf"((?:{name} ){{0,2}}{name},? (?:{state})(?!\w))"
    return re.compile(rf"(?<![\w-])(?:{before}|{within})"), frozenset(w.lower() for w in of["no_town"])


_KINDS = ("address_word", "state_name", "no_town")


def read_towns(draft: Draft) -> None:
    """'London address', 'label says New York, U.S.A.': a town that no list holds, on the label or the jacket."""
    form, no_town = _towns(draft.lexicon)
    for m in form.finditer(draft.a.folded):
        start, end = m.span(1) if m.group(1) else m.span(2)
        words = draft.a.folded[start:end].split()
        while words and words[0].strip(".,").lower() in no_town:
            start += len(words.pop(0)) + 1
        i, j = draft.a.token(start), draft.a.token(m.end() - 1) + 1
        own = draft.a.of("possessive", i - 2, i) or draft.a.of("address_apart", i - 1, i)
        if (
            not words
            or own
            or any(
                c.feature.endswith(".address") and c.value is not None for c in draft.claims.touching(start, m.end())
            )
        ):
            continue
        part, _ = draft.a.carrier(m.start(), m.end())
        if m.group(2) and part != "label":
            continue
        feature = _PLACES.get(part or "label") if part != "disc" else "label.address"
        if feature is None or any(w in no_town for w in draft.a.words[i:j]):
            continue
        draft.drop([c for c in draft.claims.touching(start, m.end()) if c.feature.endswith(".address")])
        said = draft.a.assertion(start, m.end())
        draft.add(feature, start, m.end(), said, said.polarity, " ".join(words).rstrip(","), None, rule="town")


def read_addresses(draft: Draft) -> None:
    """Addresses of the label or the jacket, where no term of the lexicon holds them already."""
    text = draft.a.folded
    for m in _streets(draft.lexicon).finditer(text):
        i, j = draft.a.token(m.start()), draft.a.token(m.end() - 1) + 1
        if any(isinstance(h.row, Term) and h.row.kind == "address" and h.j > i for h in draft.a.of("term", i - 4, j)):
            continue
        part, _ = draft.a.carrier(m.start(), m.end())
        feature = _PLACES.get(part or "")
        if feature is None or (m.group("named") and not _of_an_address(draft, m.start())):
            continue
        bare = [c for c in draft.claims.touching(m.start(), m.end()) if c.feature == feature and c.value is None]
        draft.drop([c for c in bare if c.start >= m.start() and c.end <= m.end()])
        # The full stop of 'St.' is its own; that of 'Street.' ends the sentence.
        end = m.end() - (text[m.end() - 1] == "." and len(text[m.start() : m.end()].split()[-1]) > _SHORTENED)
        said = draft.a.assertion(m.start(), end)
        draft.add(feature, m.start(), end, said, said.polarity, draft.a.text[m.start() : end], None, rule="street")


def _of_an_address(draft: Draft, at: int) -> bool:
    """Whether the sentence speaks of an address: a street without a number may be anything's name."""
    a, b = draft.a.sentence(at)
    if draft.a.within("address_word", a, b):
        return True
    i = draft.a.token(at)  # 'the back of the sleeve gives "Vellacourt House, Leeds"'
    gives = [h for h in draft.a.of(_GIVES, i - 4, i) if all(not w.isalnum() for w in draft.a.words[h.j : i])]
    return any(p.j <= h.i and h.i - p.j <= _SAID for h in gives for p, _ in draft.parts(a, at, "label", "jacket"))


_GIVES = f"{CLASS}print says"
"""What print does that gives an address."""
_SAID = 4
"""Tokens between the label or the jacket and the verb for what it says."""
