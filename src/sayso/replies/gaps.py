"""What a reply says only together with its question, where reading each sentence and each answer left a gap.

'Nothing else' denies every sign asked for; 'see picture 5' and 'tomorrow' put off what was asked; a number or an
address is the answer to the question that asks for it; and a promise or a joke claims nothing, whatever words it holds.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, cast

from sayso.model import Claim, Cue, Deferral, Listing, Polarity, Segment, Side
from sayso.replies.kinds import Kinds
from sayso.replies.layout import sentences
from sayso.replies.made import make
from sayso.replies.nouns import Asked, Passage
from sayso.replies.words import Forms, forms_of, pattern

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

LETTERING = "deadwax.lettering"
"""How the signs were made: an answer about any of them may say it."""
MOST = 14
"""An answer that is nothing but what was asked for has at most so many words."""
_CLAUSE = re.compile(r"[,;:()\u3001\u3002]|\s[-–]\s|\.(?=\s|$)|[!?]")
_STRUCTURE = frozenset({"quote", "number", "order"})


def without_idle(claims: Iterable[Claim], reply: str, offset: int, lexicon: Lexicon) -> list[Claim]:
    """The claims without those that are none: put off, part of a joke or a condition, or the echo of a question."""
    forms = forms_of(lexicon)
    parts = [(a, b, reply[a:b]) for a, b in sentences(reply, 0, len(reply))]
    out = []
    for claim in claims:
        at = claim.start - offset
        part = next(((a, text) for a, b, text in parts if a <= at < b), None)
        if part is None or not _idle(claim, part[1], at - part[0], forms):
            out.append(claim)
    return out


def _idle(claim: Claim, sentence: str, at: int, forms: Forms) -> bool:
    a, b = _clause(sentence, at)
    clause = sentence[a:b]
    if forms.starts("reply_if", clause) or forms.starts("reply_echo", clause):
        return True
    if forms.first(("reply_later",), clause) and claim.certainty != "unknown":
        return True
    if forms.first(("reply_brush",), clause):
        return claim.value is None or claim.polarity == "absent"
    # What the seller cannot tell is named, not claimed.
    ignorant = forms.first(("reply_ignorant",), clause) is not None
    return ignorant and claim.certainty == "certain" and claim.value is None and claim.polarity == "present"


def _long(text: str, at: int) -> int:
    a, b = _clause(text, at)
    return b - a


def _clause(text: str, at: int) -> tuple[int, int]:
    cuts = [0, *(m.end() for m in _CLAUSE.finditer(text)), len(text)]
    start = max(c for c in cuts if c <= at)
    return start, min((c for c in cuts if c > at), default=len(text))


def fill(
    listing: Listing,
    offset: int,
    passages: Sequence[Passage],
    asked: Sequence[Asked],
    claims: Sequence[Claim],
    lexicon: Lexicon,
    read_claims: Callable[..., Any] | None,
) -> tuple[list[Claim], list[Deferral]]:
    """Further claims and deferrals for features that were asked for and have none. Pure."""
    forms = forms_of(lexicon)
    questions = {q.n: q for q in asked}
    have = {c.feature for c in claims}
    sides = _sides(lexicon)
    out: list[Claim] = []
    put_off: list[Deferral] = []
    for p in passages:
        for n in p.questions:
            if n not in questions:
                continue
            q = questions[n]
            if LETTERING not in have and read_claims is not None and any(f.startswith("deadwax.") for f in q.features):
                out += _in_context(listing, offset, p, [LETTERING], lexicon, read_claims)
            if p.how == "follows" and p.manner == "answer":
                continue
            out += _disowned(q, p, offset, claims, forms)
            missing = [f for f in q.features if f not in have]
            if missing and read_claims is not None and p.how != "general" and p.manner in ("answer", "ignorance"):
                found = _in_context(listing, offset, p, missing, lexicon, read_claims)
                out += found
                missing = [f for f in missing if f not in {c.feature for c in found}]
            for feature in missing:
                made = _claim(feature, q, p, offset, forms, lexicon)
                if made is not None:
                    side = _side_in(made.quote, sides) if feature.startswith(("label.", "deadwax.")) else None
                    out.append(made.model_copy(update={"side": made.side or side}))
                elif (pointed := _put_off(feature, p, offset, forms)) is not None:
                    put_off.append(pointed)
            out += _same_on_the_other_side(q, p, offset, [*claims, *out], forms, sides)
    return out, put_off


def _in_context(
    listing: Listing, offset: int, p: Passage, missing: Sequence[str], lexicon: Lexicon, read_claims: Callable[..., Any]
) -> list[Claim]:
    """The passage read as if it named the part of the record that the question asks about."""
    zones = dict.fromkeys(lexicon.features[f].zone for f in missing if f in lexicon.features)
    forms = forms_of(lexicon)
    keys = {w.value: w.forms[0] for w in lexicon.words if w.kind == "reply_key"}
    out: list[Claim] = []
    nothing = forms.first(("reply_nothing",), p.quote) is not None
    for zone in zones:
        if zone not in keys or (missing == [LETTERING] and nothing):
            continue
        head = f"{keys[zone]}: "
        text = head + p.quote
        segments = (
            Segment(kind="question", start=0, end=len(head)),
            Segment(kind="reply", start=len(head), end=len(text)),
        )
        reading = read_claims(Listing(text=text, language=listing.language, segments=segments), lexicon)
        move = offset + p.start - len(head)
        for claim in reading.claims:
            at = claim.start - len(head)
            if claim.feature in missing and at >= 0 and not _idle(claim, p.quote, at, forms):
                out.append(_moved(claim, move))
    return out


def _moved(claim: Claim, by: int) -> Claim:
    cues = tuple(
        c.model_copy(update={"start": c.start + by, "end": c.end + by})
        for c in claim.cues
        if c.start + by >= 0 and c.start >= claim.start - 200
    )
    return claim.model_copy(update={"start": claim.start + by, "end": claim.end + by, "segment": "reply", "cues": cues})


def _open(lexicon: Lexicon) -> frozenset[str]:
    return frozenset(f for w in lexicon.words if w.kind == "reply_open" for f in w.forms)


def _signs(lexicon: Lexicon) -> frozenset[str]:
    """Features that one looks for, so that looking in vain says something of them."""
    return frozenset(f for w in lexicon.words if w.kind == "reply_sign" for f in w.forms)


def _named_open(lexicon: Lexicon) -> frozenset[str]:
    return frozenset(f for w in lexicon.words if w.kind == "reply_open_named" for f in w.forms)


def _names(feature: str, text: str, forms: Forms) -> bool:
    return any(h.value == feature for h in forms.find("reply_topic", text))


def _sides(lexicon: Lexicon) -> list[tuple[re.Pattern[str], Side]]:
    rows = [w for w in lexicon.words if w.kind == "side" and w.value in ("a", "b", "both")]
    return [(pattern(w.forms), cast(Side, w.value)) for w in rows]


def _side_in(text: str, sides: Sequence[tuple[re.Pattern[str], Side]]) -> Side | None:
    found = {side for shape, side in sides if shape.search(text)}
    return found.pop() if len(found) == 1 else "both" if {"a", "b"} <= found or "both" in found else None


def _same_on_the_other_side(
    q: Asked,
    p: Passage,
    offset: int,
    claims: Sequence[Claim],
    forms: Forms,
    sides: Sequence[tuple[re.Pattern[str], Side]],
) -> list[Claim]:
    """'PWB on side one, and the same on side two'."""
    hit = forms.first(("reply_same",), p.quote)
    if hit is None:
        return []
    a, b = _clause(p.quote, hit.start)
    side = _side_in(p.quote[a:b], sides)
    before = [
        c
        for c in claims
        if c.feature in q.features and offset + p.start <= c.start < offset + p.start + a and c.polarity == "present"
    ]
    if side is None or not before or before[-1].side == side:
        return []
    made = make(before[-1].feature, p, offset, hit.start, b, "present", before[-1].certainty, None, hit.rule, side)
    return [made.model_copy(update={"value": before[-1].value})]


def _disowned(q: Asked, p: Passage, offset: int, claims: Sequence[Claim], forms: Forms) -> list[Claim]:
    """'Strike that, I don't know': ignorance professed of what was said before."""
    if p.manner != "ignorance" or forms.first(("reply_retract",), p.quote) is None:
        return []
    said = [c for c in claims if c.feature in q.features and c.certainty != "unknown" and c.start < offset + p.start]
    return [
        make(f, p, offset, 0, len(p.quote), "present", "unknown", None, p.rule)
        for f in dict.fromkeys(c.feature for c in said)
    ]


def _bare(feature: str, q: Asked, p: Passage, offset: int, forms: Forms, lexicon: Lexicon) -> Claim | None:
    """A yes or no behind a 'sorry' or an 'I'm afraid', and the word that contradicts a question put in the negative."""
    kinds = Kinds(forms)
    lead = forms.starts("reply_lead", p.quote)
    rest = p.quote[lead.end :].lstrip(" ,.!:") if lead else p.quote
    counter = forms.starts("reply_counter", rest)
    row = lexicon.features.get(feature)
    end = len(p.quote)
    if counter is not None:
        return make(feature, p, offset, 0, end, "present", "certain", None, counter.rule)
    soft = _soft(feature, q, p, rest, offset, forms, kinds)
    if soft is not None:
        return soft
    no = forms.starts("reply_none", rest)
    if no is None and (lead is None or not kinds.polar(q.text) or len(re.findall(r"\w+", rest)) > 4):
        return None
    no = no or forms.starts("reply_no", rest)
    if no is not None:
        value = "visual only" if row is not None and row.manner else None
        return make(feature, p, offset, 0, end, "absent", "certain", value, no.rule)
    yes = forms.starts("reply_yes", rest)
    if yes is not None and row is not None and not row.reads:
        return make(feature, p, offset, 0, end, "present", "certain", None, yes.rule)
    return None


def _soft(feature: str, q: Asked, p: Passage, rest: str, offset: int, forms: Forms, kinds: Kinds) -> Claim | None:
    """'I think so', 'probably not', 'so I was told': a yes or no that is not firm, or not the seller's own."""
    if not kinds.polar(q.text):
        return None
    end = len(p.quote)
    no, yes = forms.starts("reply_maybe_not", rest), forms.starts("reply_maybe", rest)
    if no is not None and (yes is None or no.end >= yes.end):
        return make(feature, p, offset, 0, end, "absent", "hedged", None, no.rule)
    but = forms.first(("reply_but",), rest)
    stop = min(_clause(rest, 0)[1], but.start if but is not None else len(rest))
    if yes is not None and len(re.findall(r"\w+", rest[:stop])) <= 6:
        polarity: Polarity = "absent" if forms.first(("reply_no",), rest[yes.end : yes.end + 12]) else "present"
        return make(feature, p, offset, 0, end, polarity, "hedged", None, yes.rule)
    told = forms.first(("reply_told",), rest)
    if told is not None and len(re.findall(r"\w+", rest)) <= MOST:
        polarity = "absent" if forms.first(("reply_no", "question_not"), rest) else "present"
        made = make(feature, p, offset, 0, end, polarity, "certain", None, told.rule)
        return made.model_copy(update={"attribution": "third_party"})
    return None


_SPELT = re.compile(r"(?<!\w)(?:[A-Z][ .-]){2,}[A-Z](?!\w)")


def _claim(feature: str, q: Asked, p: Passage, offset: int, forms: Forms, lexicon: Lexicon) -> Claim | None:
    text = p.quote
    open_ = feature in _open(lexicon)
    hit = max(forms.find("reply_nothing", text), key=lambda h: _long(text, h.start), default=None)
    if hit is not None and feature.startswith(("deadwax.", "label.")) and feature != "deadwax.matrix":
        looked = forms.first(("reply_search",), text) is not None
        a, b = _clause(text, hit.start)
        return make(feature, p, offset, a, b, "absent", "hedged" if looked else "certain", None, hit.rule)
    failed = forms.first(("reply_failed",), text)
    if failed is not None and p.how != "general":
        row = lexicon.features.get(feature)
        a, b = _clause(text, failed.start)
        if feature in _signs(lexicon) and not forms.first(("reply_later",), text[a:b]):
            return make(feature, p, offset, a, b, "absent", "hedged", None, failed.rule)
        if row is not None and row.reads:
            return make(feature, p, offset, a, b, "present", "unknown", None, failed.rule)
    if p.manner == "ignorance" and len(p.questions) == 1 and p.how != "general":
        return make(feature, p, offset, 0, len(text), "present", "unknown", None, p.rule or "reply_ignorant")
    ignorant = forms.first(("reply_ignorant",), text)
    if ignorant is not None and len(p.questions) == 1 and p.how != "general":
        a, b = _clause(text, ignorant.start)
        return make(feature, p, offset, a, b, "present", "unknown", None, ignorant.rule)
    bare = _bare(feature, q, p, offset, forms, lexicon) if p.manner == "answer" else None
    if bare is not None:
        return bare
    spelt = _SPELT.search(text) if feature == "deadwax.mastering_mark" else None
    if spelt is not None:
        letters = re.sub(r"\W", "", spelt.group())
        return make(feature, p, offset, spelt.start(), spelt.end(), "present", "certain", letters, "letters spelt out")
    if feature == "terms.returns" and p.manner == "answer" and not forms.first(("reply_no",), text):
        from sayso.claims.measures import period_in

        period = period_in(text, 0, len(text), lexicon)
        if period is not None:
            return make(feature, p, offset, 0, len(text), "present", "certain", period[1].group(), "time to return")
    named = p.how != "general" and feature in _named_open(lexicon) and _names(feature, text, forms)
    if named and p.manner == "answer":
        a, b = _clause(text, next(h.start for h in forms.find("reply_topic", text) if h.value == feature))
        value = text[a:b].strip(" ,;:.!?")
        return make(feature, p, offset, a, b, "present", "certain", value, "open answer")
    if p.manner != "answer" or not open_ or p.how not in _STRUCTURE or len(re.findall(r"\w+", text)) > MOST:
        return None
    generic = [h for h in forms.find("reply_generic", text) if h.value == feature]
    if generic:
        return make(feature, p, offset, 0, len(text), "absent", "certain", None, generic[0].rule)
    if forms.first(("reply_yes", "reply_no", "reply_none", "reply_ignorant", "reply_pointer"), text):
        return None
    a, b = _clause(text, 0)
    if feature == "label.address" and not re.search(r"\d", text[a:b]) and not forms.first(("reply_topic",), text[a:b]):
        return None
    value = text[a:b].strip(" ,;:.!?")
    return make(feature, p, offset, a, a + len(text[a:b].rstrip(" ,;:.!?")), "present", "certain", value, "open answer")


def _put_off(feature: str, p: Passage, offset: int, forms: Forms) -> Deferral | None:
    """A deferral, where the words for later or for pictures meet this question and not all of them at once."""
    if p.manner not in ("evasion", "later") or p.how == "general":
        return None
    pictures = any(h.value == "terms.photos" for h in forms.find("reply_topic", p.quote))
    if p.manner == "evasion" and not pictures:
        return None
    start = offset + p.start
    cue = Cue(kind="deferral", rule=p.rule or p.manner, start=start, end=start + len(p.quote), quote=p.quote)
    return Deferral(feature=feature, quote=p.quote, start=start, end=start + len(p.quote), cues=(cue,))
