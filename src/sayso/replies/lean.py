"""Words that mean something only because a question asked for it: 'a solid old lump' is a weight where that was asked.

The words are rows of kind `reply_value` in `lexicon/cues/replies_values.toml`; signs in the run-out and colours on the
label are those of the reader of listings. Nothing here is read where the question did not ask for that feature.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.model import Certainty, Claim, Polarity, Side
from sayso.replies.layout import sentences, words_of
from sayso.replies.made import make
from sayso.replies.nouns import Asked, Passage
from sayso.replies.topics import common_words
from sayso.replies.words import Forms, forms_of, pattern

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

SEVERAL = frozenset({"condition.defects", "deadwax.lettering", "jacket.construction"})
"""Features of which one answer can say more than one thing."""
_CLAUSE = re.compile(r"[,;:()\u3001\u3002]|\s[-\u2013]\s|\.(?=\s|$)|[!?]|\n")
_NEAR = 4
"""A 'no' or 'not' reaches so many words on."""
_LONE = re.compile(r"(?<![\w/-])(?:\d{1,2}|[A-Z]{1,3}|\d[A-Z]{1,2})(?![\w/-])")
_PAIR = re.compile(
    r"([ -]?)([Aa])([ -]?[A-Z0-9]{0,4})\s*(?:and|&|/|,|und|et|e|y|en)\s*[-\u2013 ]?"
    r"([Bb](?:[ -]?[A-Z0-9]{1,4})?)(?![\w-])"
)
_PART = re.compile(r"(?<![\w-])(?:[A-Z]{1,4}[ -]?)?\d{2,6}(?:[ -]?[A-Z])?(?!\w)")


@dataclass(frozen=True)
class _Row:
    feature: str
    value: str | None
    polarity: Polarity
    rule: str
    shape: re.Pattern[str]


@lru_cache(maxsize=8)
def _rows(lexicon: Lexicon) -> tuple[_Row, ...]:
    """The rows: 'feature', 'feature=value', or '-feature' where the words say that it is not there."""
    out = []
    for w in lexicon.words:
        if w.kind == "reply_value" and w.value:
            name, _, value = w.value.lstrip("-").partition("=")
            polarity: Polarity = "absent" if w.value.startswith("-") else "present"
            out.append(_Row(name, value or None, polarity, w.id, pattern(w.forms)))
        elif w.kind in ("picture", "colour"):
            feature = "deadwax.plant_mark" if w.kind == "picture" else "label.design"
            out.append(_Row(feature, "", "present", w.id, pattern(w.forms)))
    return tuple(out)


@lru_cache(maxsize=8)
def _hedges(lexicon: Lexicon) -> re.Pattern[str]:
    return pattern([f for c in lexicon.cues if c.kind == "hedge" for f in c.forms if f[:1].isalnum()])


def doubtful(text: str, lexicon: Lexicon) -> bool:
    """Whether words of doubt stand in the clause, or a question mark behind it."""
    return _hedges(lexicon).search(text) is not None or text.rstrip().endswith("?")


def unread(text: str, lexicon: Lexicon) -> bool:
    """Whether the seller says of what he describes that he cannot tell what it is."""
    return forms_of(lexicon).first(("reply_ignorant", "reply_unsure", "reply_maybe"), text) is not None


def clause(text: str, at: int) -> tuple[int, int]:
    """The clause of `text` that holds the offset."""
    cuts = [0, *(m.end() for m in _CLAUSE.finditer(text)), len(text)]
    start = max(c for c in cuts if c <= at)
    return start, min((c for c in cuts if c > at), default=len(text))


@lru_cache(maxsize=8)
def _ends(lexicon: Lexicon) -> re.Pattern[str]:
    return pattern([f for c in lexicon.cues if c.kind == "end" for f in c.forms])


def denied(text: str, a: int, at: int, forms: Forms, lexicon: Lexicon) -> int | None:
    """Where a 'no' or 'not' stands in `text[a:]` that reaches the words at `at`; null where none does."""
    ends = _ends(lexicon)
    before = [h for h in forms.find("question_not", text[a:at]) if not ends.search(text[a + h.end : at])]
    near = [h.start + a for h in before if len(words_of(text[h.end + a : at])) <= _NEAR]
    return min(near, default=None)


def lean(
    asked: Sequence[Asked], passages: Sequence[Passage], claims: Sequence[Claim], offset: int, lexicon: Lexicon
) -> list[Claim]:
    """Further claims of what was asked, by words that only the question gives a meaning. Pure."""
    forms = forms_of(lexicon)
    questions = {q.n: _widened(q, asked) for q in asked}
    out: list[Claim] = []
    for p in passages:
        for n in p.questions:
            if n not in questions or p.how == "general":
                continue
            for claim in _of_passage(questions[n], p, [*claims, *out], offset, forms, lexicon):
                out.append(claim)
    return out


def _widened(q: Asked, asked: Sequence[Asked]) -> Asked:
    """How the signs were made is also said where another question asked for the signs."""
    lettering = "deadwax.lettering"
    wanted = any(lettering in o.features for o in asked) and any(f.startswith("deadwax.") for f in q.features)
    return q.model_copy(update={"features": (*q.features, lettering)}) if wanted and lettering not in q.features else q


def _of_passage(
    q: Asked, p: Passage, claims: Sequence[Claim], offset: int, forms: Forms, lexicon: Lexicon
) -> Iterator[Claim]:
    have = {c.feature for c in claims if p.start <= c.start - offset < p.end}
    everywhere = {c.feature for c in claims}
    if p.manner == "answer":
        yield from _either(q, p, claims, offset, forms, lexicon)
        yield from _lone(q, p, everywhere, offset, forms)
    if "deadwax.matrix" in q.features:
        yield from _second_code(p, claims, offset)
    told: set[tuple[str, str | None]] = set()
    for row in _rows(lexicon):
        several = row.feature in SEVERAL
        if row.feature not in q.features or (row.feature in (have if several else everywhere) and not several):
            continue
        for m in row.shape.finditer(p.quote):
            value = m.group() if row.value == "" else row.value
            a, b = clause(p.quote, m.start())
            part = p.quote[a:b]
            if row.value == "" and forms.starts("reply_named", p.quote[m.end() :]):
                continue
            if forms.first(("reply_later", "reply_brush", "reply_ignorant"), part) or forms.starts("reply_if", part):
                continue
            if forms.starts("reply_echo", part) or _claimed(claims, row.feature, offset + p.start, a, b, m, value):
                continue
            if (row.feature, value) in told or (told and not several and any(f == row.feature for f, _ in told)):
                continue
            if _elsewhere(p.quote, m.start(), forms):
                continue
            at = denied(p.quote, a, m.start(), forms, lexicon) if row.polarity == "present" else None
            if at is not None and row.feature.startswith("terms.") and forms.first(("reply_when",), p.quote[a:at]):
                at = None  # 'if you don't like it send it back' takes it back
            after = row.polarity == "present" and (
                forms.starts("reply_not_after", p.quote[m.end() :]) or _denied_behind(p.quote[m.end() : b], forms)
            )
            polarity: Polarity = "absent" if at is not None or after else row.polarity
            if polarity == "absent" and (feature := lexicon.features.get(row.feature)) and feature.manner:
                value = "visual only"
            told.add((row.feature, value))
            certainty: Certainty = "hedged" if _hedges(lexicon).search(part) else "certain"
            start = m.start() if at is None else at
            yield make(row.feature, p, offset, start, m.end(), polarity, certainty, value, row.rule)


def _elsewhere(text: str, at: int, forms: Forms) -> bool:
    """Whether the words are said of another copy, earlier named in the sentence."""
    a = max((x for x, y in sentences(text, 0, len(text)) if x <= at < y), default=0)
    return forms.first(("reply_other_copy",), text[a:at]) is not None


def _denied_behind(rest: str, forms: Forms) -> bool:
    """'Gespielt habe ich sie nicht': the denial ends the clause, or stands within a few words of the verb."""
    hit = forms.first(("reply_not_behind",), rest)
    if hit is None:
        return False
    return len(words_of(rest[: hit.start])) <= (6 if rest[hit.start : hit.end].isascii() else 8)


def _claimed(
    claims: Sequence[Claim], feature: str, move: int, a: int, b: int, m: re.Match[str], value: str | None
) -> bool:
    """Whether these words are read already, or the same is said elsewhere in the clause."""
    for c in claims:
        if c.feature != feature:
            continue
        if c.start < move + m.end() and move + m.start() < c.end:
            return True
        if (feature not in SEVERAL and move + a <= c.start < move + b) or (value is not None and str(c.value) == value):
            return True
    return False


def _either(
    q: Asked, p: Passage, claims: Sequence[Claim], offset: int, forms: Forms, lexicon: Lexicon
) -> Iterator[Claim]:
    """'Scratched or stamped?' 'Both.' says each; an alternative that the answer repeats is chosen."""
    feature = q.features[0]
    alone = len(q.features) == 1 or (len(q.features) == 2 and q.features[1] == "deadwax.lettering")
    if not alone or forms.first(("question_or",), q.text) is None:
        return
    if feature.startswith("deadwax.") and feature not in SEVERAL:
        return  # 'letters or signs' are no alternatives
    values = [(r.value, r.rule) for r in _rows(lexicon) if r.feature == feature and r.value and r.shape.search(q.text)]
    both = forms.starts("reply_both", p.quote)
    if both is not None and len(dict(values)) > 1:
        for value, rule in dict(values).items():
            if not any(c.feature == feature and c.value == value for c in claims):
                yield make(feature, p, offset, both.start, both.end, "present", "certain", value, rule)
        return
    # Where the words for the values are known, they decide; 'any cut or hole in the cover' offers no choice of a cover.
    known = any(r.feature == feature and r.value != "" for r in _rows(lexicon))
    if known or any(c.feature == feature and c.polarity == "present" for c in claims):
        return
    sides = [set(_words(x)) for x in re.split(_alternatives(forms, q.text), q.text)]
    for n, own in enumerate(sides):
        others: set[str] = set().union(*(s for i, s in enumerate(sides) if i != n))
        for w in words_of(p.quote):
            if w.fold in own - others and len(w.fold) > 2 and w.fold not in common_words():
                a, _ = clause(p.quote, w.start)
                if denied(p.quote, a, w.start, forms, lexicon) is None:
                    value = p.quote[w.start : w.end]
                    yield make(feature, p, offset, a, w.end, "present", "certain", value, "alternative of the question")
                    return


def _words(text: str) -> list[str]:
    return [w.fold for w in words_of(text)]


def _alternatives(forms: Forms, text: str) -> str:
    return "|".join(sorted({rf"\b{re.escape(text[h.start : h.end])}\b" for h in forms.find("question_or", text)}))


def _lone(q: Asked, p: Passage, have: set[str], offset: int, forms: Forms) -> Iterator[Claim]:
    """'Lone letters or numbers?' 'Yes, a 3 on one side.'"""
    feature = "deadwax.stamper_code"
    yes = forms.starts("reply_yes", p.quote)
    if feature not in q.features or feature in have or yes is None:
        return
    code = next((m for m in _LONE.finditer(p.quote, yes.end) if m.group() not in ("A", "I")), None)
    if code is not None:
        doubt = forms.first(("reply_ignorant", "reply_unsure"), p.quote) is not None
        certainty: Certainty = "hedged" if doubt else "certain"
        yield make(feature, p, offset, 0, len(p.quote), "present", certainty, code.group(), yes.rule)


def _second_code(p: Passage, claims: Sequence[Claim], offset: int) -> Iterator[Claim]:
    """'LP-1041-A and -B': the number of the other side, of which only the end is written."""
    for c in claims:
        at = c.start - offset - p.start
        if c.feature != "deadwax.matrix" or not c.value or not 0 <= at < len(p.quote):
            continue
        m = _PAIR.search(p.quote, max(at, at + len(c.quote) - 8))
        if m is None or m.start() > at + len(c.quote):
            continue
        stem = p.quote[at : m.start()]
        value = f"{stem}{m.group(1)}{m.group(4)}"
        if len(stem) > 2 and not any(c.value == value for c in claims):
            yield make("deadwax.matrix", p, offset, at, m.end(), "present", c.certainty, value, "the other side", "b")
            return


def unfinished(
    asked: Sequence[Asked], passages: Sequence[Passage], claims: Sequence[Claim], offset: int, lexicon: Lexicon
) -> list[Claim]:
    """Numbers read in part, where the numbers were asked for. Pure."""
    wanted = {q.n for q in asked if "deadwax.matrix" in q.features}
    met = [p for p in passages if wanted & set(p.questions)]
    return [c for p in met for c in _unfinished(p, claims, offset, forms_of(lexicon))]


def _unfinished(p: Passage, claims: Sequence[Claim], offset: int, forms: Forms) -> Iterator[Claim]:
    """'Its 4402 B something': a number read in part."""
    for m in _PART.finditer(p.quote):
        start, end = offset + p.start + m.start(), offset + p.start + m.end()
        rest = forms.starts("reply_unfinished", p.quote[m.end() :])
        if rest is None or any(c.feature == "deadwax.matrix" and c.start < end and start < c.end for c in claims):
            continue
        last = m.group().upper()[-1]
        side: Side | None = "a" if last == "A" else "b" if last == "B" else None
        to = m.end() + rest.end
        yield make("deadwax.matrix", p, offset, m.start(), to, "present", "hedged", m.group(), rest.rule, side)


def only_one_side(claims: Sequence[Claim], reply: str, offset: int, lexicon: Lexicon) -> list[Claim]:
    """The claims, where 'but only on side B' gives a ring its side and denies it of the other side. Pure."""
    forms = forms_of(lexicon)
    sides = [(pattern(w.forms), w.value) for w in lexicon.words if w.kind == "side" and w.value in ("a", "b")]
    parts = sentences(reply, 0, len(reply))
    out: list[Claim] = []
    for c in claims:
        at = c.start - offset
        a, b = next(((a, b) for a, b in parts if a <= at < b), (0, 0))
        hit = forms.first(("reply_only",), reply[a:b])
        if c.feature != "label.deep_groove" or c.polarity == "absent" or hit is None:
            out.append(c)
            continue
        start = a + hit.start
        end = min(clause(reply, start)[1], b)
        quote = reply[start:end].rstrip(" .,;!")
        named = {value for shape, value in sides if shape.search(quote)}
        if len(named) != 1:
            out.append(c)
            continue
        side: Side = "a" if named == {"a"} else "b"
        other: Side = "b" if side == "a" else "a"
        out.append(c.model_copy(update={"side": side}))
        if not any(o.feature == c.feature and o.side in (other, "both") and o is not c for o in claims):
            made = {"start": offset + start, "end": offset + start + len(quote), "quote": quote, "side": other}
            out.append(c.model_copy(update={**made, "polarity": "absent"}))
    return out
