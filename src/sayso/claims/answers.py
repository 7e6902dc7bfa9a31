"""An answer read in the light of its question: the question names the thing, a bare word says how it is with it.

The same mechanism serves the reply to a message, a quoted question with its answer below, and the line 'Key: value'.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from sayso.claims.measures import period_in
from sayso.claims.tokens import fold
from sayso.lexicon.terms import Term
from sayso.model import Certainty, Polarity, Side

if TYPE_CHECKING:
    from sayso.claims.analysis import Analysis
    from sayso.claims.hits import Hit
    from sayso.lexicon import Lexicon

Manner = Literal["yes", "no", "both", "none", "ignorant", "likely", "unlikely", "not yet", "plain"]
_KINDS: dict[str, Manner] = {
    "reply_yes": "yes",
    "reply_no": "no",
    "reply_both": "both",
    "reply_none": "none",
    "reply_ignorant": "ignorant",
    "reply_maybe": "likely",
    "reply_maybe_not": "unlikely",
    "reply_failed": "unlikely",
    "reply_not_yet": "not yet",
    "reply_plain": "plain",
}
_LEAD = re.compile(r"[\s>*•\-]*(?:\(?\d{1,2}[.):]\s*|\(?[a-z]\)\s*)?")
_INITIALS = re.compile(r"(?<![\w-])[A-Z][A-Za-z]?[A-Z]{1,2}[a-z]?(?![\w-])")
_STOPS = re.compile(r"\s*(?:[.,;:!?)\n\u3002\u3001]|$|\s[-\u2013])")
MATRIX = "deadwax.matrix"
_BLANKS = re.compile(r"[ \t]+")
BARE = 3
"""An answer of at most so many words says of the numbers that there are none."""
_ENDS = re.compile(r"[.!?;\n。]|,(?=\s)|\s-\s")


@dataclass(frozen=True)
class Said:
    """What an answer says of one feature."""

    feature: str
    start: int
    end: int
    polarity: Polarity = "present"
    certainty: Certainty = "certain"
    side: Side | None = None
    value: str | int | None = None


@lru_cache(maxsize=8)
def _openers(lexicon: Lexicon) -> dict[str, tuple[tuple[str, Manner], ...]]:
    """The words that open an answer, the longest first, by their first letter."""
    rows = [(fold(f).lower(), _KINDS[w.kind]) for w in lexicon.words if w.kind in _KINDS for f in w.forms]
    out: dict[str, list[tuple[str, Manner]]] = {}
    for row in sorted(dict.fromkeys(rows), key=lambda r: -len(r[0])):
        out.setdefault(row[0][:1], []).append(row)
    return {first: tuple(rows) for first, rows in out.items()}


@lru_cache(maxsize=8)
def _alone(lexicon: Lexicon) -> frozenset[str]:
    """Words that are a yes only by themselves: 'it has', but not 'it has a warp'."""
    return frozenset(fold(f).lower() for w in lexicon.words if w.kind == "reply_alone" for f in w.forms)


def manner(answer: str, lexicon: Lexicon) -> tuple[Manner, int]:
    """How the answer opens, and the offset behind its opening word."""
    lead = _LEAD.match(answer)
    at = lead.end() if lead else 0
    wide = fold(answer[at:]).lower()
    low = _BLANKS.sub(" ", wide)
    for form, what in _openers(lexicon).get(low[:1], ()):
        if low.startswith(form) and not low[len(form) : len(form) + 1].isalnum():
            if form in _alone(lexicon) and not _STOPS.match(low, len(form)):
                continue
            return what, at + (len(form) if low == wide else _reached(wide, len(form)))
    return "plain", at


def _reached(wide: str, length: int) -> int:
    """The offset in a text behind so many characters of it, several blanks counted as one."""
    n = 0
    while length and n < len(wide):
        if not (wide[n] in " \t" and n and wide[n - 1] in " \t"):
            length -= 1
        n += 1
    return n


def named(analysis: Analysis, start: int, end: int) -> dict[str, Term]:
    """The features that the words name, each with the term (and value) that names it."""
    out: dict[str, Term] = {}
    for h in analysis.all_of("term"):
        if not isinstance(h.row, Term) or h.row.kind == "carrier" or _in_a_carrier(analysis, h):
            continue
        if start <= analysis.toks[h.i][0] and analysis.toks[h.j - 1][1] <= end:
            old = out.get(h.row.feature)
            if old is None or (old.value is None and h.row.value is not None):
                out[h.row.feature] = h.row
    if any(f.startswith("deadwax.") for f in out):  # 'carries the run-out a K, and is it stamped?' asks for no fault
        out.pop("condition.defects", None)
    if "inner.original" in out:  # 'is the inner sleeve the original one?' does not ask for the pressing
        out.pop("edition.original", None)
    return out


def _in_a_carrier(analysis: Analysis, h: Hit) -> bool:
    """Whether longer words take the term's meaning from it ('weighed down')."""
    assert isinstance(h.row, Term)
    return any(
        isinstance(o.row, Term) and o.row.kind == "carrier" and o.row.feature == h.row.feature and o.j >= h.j
        for o in analysis.of("term", h.i - 4, h.i + 1)
        if (o.i, o.j) != (h.i, h.j)
    )


def answer_of(
    analysis: Analysis,
    start: int,
    end: int,
    features: tuple[str, ...],
    topics: dict[str, Term],
    lexicon: Lexicon,
    *,
    choice: bool = False,
    offered: bool = False,
    soft: bool = False,
) -> Iterator[Said]:
    """What `text[start:end]` says of each feature it answers, where the words alone do not say it.

    An answer that is no firm one ('I think so', 'not that I know') counts where `soft` is asked for.
    """
    text = analysis.text[start:end]
    how, behind = manner(text, lexicon)
    lead = _LEAD.match(text)
    begin = start + (lead.end() if lead else 0)
    stop = _ENDS.search(text, max(behind, begin - start))
    close = start + (stop.start() if stop else len(text.rstrip()))
    if close <= begin:
        close = start + len(text.rstrip())
    side = _side(analysis, begin, end)
    if soft and how in ("plain", "ignorant"):
        turned = _after_contrast(analysis, begin, start + len(text), lexicon)
        how = turned or how
    for feature in features:
        row = lexicon.features.get(feature)
        topic = topics.get(feature)
        value = topic.value if topic else None
        sided = feature.split(".")[0] in ("label", "deadwax")
        either = choice and (offered or (row is not None and row.reads and not sided))
        if how in ("likely", "unlikely"):  # without `soft`, what it is, the reader of replies says
            if soft and not (either or (row and row.reads and value is None)):
                polarity: Polarity = "present" if how == "likely" else "absent"
                yield Said(feature, begin, close, polarity, "hedged", side if sided else None, value)
            continue
        if how == "not yet":
            if row and row.manner:
                yield Said(feature, begin, close, polarity="absent", value="visual only")
            else:
                yield Said(feature, begin, close, certainty="unknown")
            continue
        period = (
            period_in(text, 0, len(text), lexicon)
            if soft and feature == "terms.returns" and how in ("plain", "yes")
            else None
        )
        if period is not None:
            yield Said(feature, begin, close, value=period[0])
        elif how == "ignorant" or (soft and how == "plain" and _cannot_say(analysis, begin, start + len(text))):
            yield Said(feature, begin, close, certainty="unknown")
        elif how in ("no", "none") and feature == MATRIX and len(text[: close - start].split()) > BARE:
            continue  # 'no other mark' denies no number
        elif how in ("no", "none") and topic is not None and topic.kind == "mention" and row and row.reads:
            continue  # 'could it be weighed down?'
        elif how in ("no", "none") and not either:
            told = "visual only" if row and row.manner else value
            yield Said(feature, begin, close, polarity="absent", value=told)
        elif how == "yes" and not either:
            if row and row.reads and value is None:
                continue
            yield Said(feature, begin, close, side=side if sided else None, value=value)
        elif how == "both" and sided:
            yield Said(feature, begin, close, side="both", value=value)
        elif side in ("a", "b") and sided and feature.endswith("groove"):
            yield Said(feature, begin, close, side=side, value=value)
            other: Side = "b" if side == "a" else "a"
            yield Said(feature, begin, close, polarity="absent", side=other, value=value)
        elif soft and feature == "deadwax.lettering" and value is not None and how == "plain" and not either:
            m = _INITIALS.search(fold(text))
            if m:  # 'Is anything scratched in? - PBK, on side A.'
                yield Said(feature, start + m.start(), start + m.end(), side=side, value=value)
        elif feature == "deadwax.mastering_mark":
            m = _INITIALS.search(fold(text))
            if m:
                yield Said(feature, start + m.start(), start + m.end(), side=side, value=m.group())


def _after_contrast(analysis: Analysis, start: int, end: int, lexicon: Lexicon) -> Manner | None:
    """What an answer comes to behind its 'but' ('I would not swear to it, but I think so')."""
    contrast = analysis.index.small["contrast"]
    for n in range(analysis.token(start) + 1, analysis.token(end - 1)):
        if analysis.words[n] in contrast and analysis.toks[n][0] < end:
            how, _ = manner(analysis.text[analysis.toks[n][1] : end].lstrip(), lexicon)
            return how if how in ("likely", "unlikely") else None
    return None


def _cannot_say(analysis: Analysis, start: int, end: int) -> bool:
    """Whether the first sentence of an answer says that it is not known ('there is something but I cannot read it')."""
    stop = min(end, analysis.sentence(start)[1])
    return any(getattr(h.row, "kind", "") == "unknown" for h in analysis.within("cue", start, stop))


def _side(analysis: Analysis, start: int, end: int) -> Side | None:
    for h in analysis.all_of("side"):
        if start <= analysis.toks[h.i][0] < end:
            return h.row.value  # type: ignore[union-attr,return-value]
    return None
