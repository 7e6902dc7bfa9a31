"""Claims of a reply put right by what only a conversation shows: a measure is no code, a signature in pencil no mark of
the maker's, 'nothing else scratched' says nothing of how the letters were made, 'what I took for it' is not it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.model import Claim, Polarity, Side
from sayso.replies.layout import sentences
from sayso.replies.lean import clause
from sayso.replies.words import Forms, forms_of, pattern

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

_INCHES = re.compile(r"\s?(?:[\"″”]|'')")
_OPEN = re.compile(r"[\"“„]\s?$")
_OWN_SIDE = re.compile(r"[- ]([AB])(?:[- ]?\w{0,4})?$")
_DOUBT = re.compile(r"\s*(?:\?|…|\.\.\.)")
_OR = re.compile(r" (\w{1,5}) [A-Z]{2,6}(?!\w)")
_COMMA = "\u3001"
_OF_ITS_OWN = re.compile("[はがも]")
"""In Japanese: the particles of a clause that has a subject of its own."""


def mend(claims: Iterable[Claim], reply: str, offset: int, lexicon: Lexicon) -> list[Claim]:
    """The claims without those that are none, and with side, certainty, polarity and value put right. Pure."""
    forms = forms_of(lexicon)
    parts = sentences(reply, 0, len(reply))
    out = []
    for claim in claims:
        at = claim.start - offset
        a, b = next(((a, b) for a, b in parts if a <= at < b), (0, len(reply)))
        c, d = clause(reply[a:b], at - a)
        part = reply[a + c : a + d]
        if _is_none(claim, reply, offset, part, at - a - c, forms):
            continue
        out.append(_right(claim, reply, offset, (a, b), part, at - a - c, forms))
    return out + contrasts(out, reply, offset, lexicon)


def _is_none(claim: Claim, reply: str, offset: int, part: str, at: int, forms: Forms) -> bool:
    end = claim.end - offset
    if claim.feature == "deadwax.matrix" and _INCHES.match(reply, end):
        return not _OPEN.search(reply[max(0, claim.start - offset - 2) : claim.start - offset])
    if claim.feature == "deadwax.mastering_mark" and claim.value is None:
        return forms.first(("reply_written",), part) is not None
    if claim.feature == "deadwax.lettering":
        hit = forms.first(("reply_nothing",), part)
        return hit is not None and hit.start < at
    return False


def _right(claim: Claim, reply: str, offset: int, sentence: tuple[int, int], part: str, at: int, forms: Forms) -> Claim:
    changed: dict[str, object] = {}
    if claim.feature == "deadwax.matrix" and isinstance(claim.value, str):
        own = _OWN_SIDE.search(claim.value)
        if own is not None and claim.side == "both":
            side: Side = "a" if own.group(1) == "A" else "b"
            changed["side"] = side
        after = reply[claim.end - offset : sentence[1]]
        if claim.certainty == "certain" and (forms.starts("reply_unfinished", after) or _DOUBT.match(after)):
            changed["certainty"] = "hedged"
    answered = any(c.rule.startswith("answer:") for c in claim.cues)
    firm_no = answered and claim.polarity == "absent" and claim.certainty == "certain"
    if firm_no and forms.first(("reply_search", "reply_failed"), part):
        changed["certainty"] = "hedged"  # 'no other mark that I can find'
    mistaken = forms.first(("reply_mistaken",), part)
    taken = mistaken is not None and mistaken.end <= at + 2
    if taken and mistaken is not None and not forms.first(("reply_is",), part[mistaken.end : at]):
        changed |= {"polarity": "absent", "certainty": "certain"}
    if claim.attribution == "third_party" and _on_the_record(claim, reply, offset, forms):
        changed["attribution"] = "seller"
    if claim.feature == "deadwax.mastering_mark" and isinstance(claim.value, str):
        m = _OR.match(reply, claim.end - offset)
        if m is not None and forms.starts("question_or", m.group(1)):
            end = m.end()
            quote = reply[claim.start - offset : end]
            changed |= {"value": quote, "quote": quote, "end": end + offset, "certainty": "hedged"}
    if claim.feature == "inner.original" and claim.polarity == "present" and claim.value is None:
        a, b = sentence
        generic = [h for h in forms.find("reply_generic", reply[a:b]) if h.value == claim.feature]
        if generic and claim.certainty == "certain":
            changed |= _at(reply, offset, a, b) | {"polarity": "absent"}
    if claim.feature == "jacket.construction" and isinstance(claim.value, str):
        parts = {h.value for h in forms.find("reply_part", part)}
        if len(parts) == 1 and (where := parts.pop()) and where not in claim.value and not claim.value.endswith("fold"):
            changed["value"] = f"{claim.value} {where}"
    if claim.feature.endswith("_grade") and claim.value is not None:
        spoken = _spoken(forms, str(claim.value))
        changed |= {"value": spoken} if spoken else {}
    if claim.polarity == "present" and forms.starts("reply_not_after", reply[claim.end - offset :]):
        changed |= {"polarity": "absent"}
    if claim.polarity == "absent" and _apart(claim, reply, offset):
        present: Polarity = "present"
        changed |= {"polarity": present}
        if claim.value == "visual only":
            changed["value"] = "played"
    return claim.model_copy(update=changed) if changed else claim


def _on_the_record(claim: Claim, reply: str, offset: int, forms: Forms) -> bool:
    """Whether the one who 'says' is the record: 'left of where it says 4402'."""
    heard = [c for c in claim.cues if c.kind == "hearsay"]
    says = [(h.start, h.end) for h in forms.find("reply_itsays", reply)]
    return bool(heard) and all(any(a <= c.start - offset and c.end - offset <= b for a, b in says) for c in heard)


def _at(reply: str, offset: int, a: int, b: int) -> dict[str, object]:
    quote = reply[a:b].strip(" \n.!")
    start = offset + reply.index(quote, a)
    return {"start": start, "end": start + len(quote), "quote": quote}


def _spoken(forms: Forms, value: str) -> str | None:
    hits = [h for h in forms.find("reply_spoken", value) if h.start == 0 and h.end == len(value.rstrip())]
    return hits[0].value if hits else None


def _apart(claim: Claim, reply: str, offset: int) -> bool:
    """Whether the only negation stands in a later clause with a subject of its own ('played, and it has no skips')."""
    negative = [c for c in claim.cues if c.kind in ("negation", "search")]
    if not negative or any(c.start < claim.end for c in negative):
        return False
    between = reply[claim.end - offset : min(c.start for c in negative) - offset + 1]
    comma = between.rfind(_COMMA)
    return comma >= 0 and _OF_ITS_OWN.search(between[comma:]) is not None


def contrasts(claims: Sequence[Claim], reply: str, offset: int, lexicon: Lexicon) -> list[Claim]:
    """'The back is not laminated, the front yes'; 'side one is definite': what was said, of another part or side."""
    forms = forms_of(lexicon)
    sides = [(pattern(w.forms), w.value) for w in lexicon.words if w.kind == "side" and w.value in ("a", "b")]
    out: list[Claim] = []
    for a, b in sentences(reply, 0, len(reply)):
        sentence = reply[a:b]
        at = 0
        while at < len(sentence):
            c, d = clause(sentence, at)
            at = max(d, at + 1)
            words = sentence[c:d].strip(" ,;.!")
            side = next((value for shape, value in sides if shape.match(words)), None)
            m = _elided(forms).fullmatch(words)
            sure = side is not None and forms.first(("reply_sure",), words) is not None
            if not words or (m is None and not sure):
                continue
            if sure:
                before = [x for x in claims if x.start < offset + a and x.feature.startswith(("label.", "deadwax."))]
                polarity: Polarity = "present"
            else:
                before = [x for x in claims if offset + a <= x.start < offset + a + c]
                polarity = "absent" if m is not None and forms.starts("reply_no", m.group(2)) else "present"
            if not before or (before[-1].polarity == polarity and not sure):
                continue
            start = offset + a + c + sentence[c:d].index(words)
            made = {"polarity": polarity, "start": start, "end": start + len(words), "quote": words, "cues": ()}
            value = before[-1].value
            if value is not None and side is None and m is not None:
                where = next((h.value for h in forms.find("reply_part", m.group(1))), m.group(1).split()[-1])
                parts = {f" {h.value}" for h in forms.find("reply_part", str(value))}
                value = f"{next((str(value).removesuffix(x) for x in parts), value)} {where}"
            out.append(before[-1].model_copy(update={**made, "side": side, "value": value}))
    return out


@lru_cache(maxsize=8)
def _elided(forms: Forms) -> re.Pattern[str]:
    shape = forms.pattern("reply_elided")
    words = shape.pattern if shape is not None else "(?!)"
    return re.compile(rf"((?:\w+ ){{1,3}})({words})(?!\w)", re.IGNORECASE)
