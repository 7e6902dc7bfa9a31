"""Things said without naming them again: 'Later copies have a bell; this one does not', 'Deep groove? Who knows'."""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.analysis import Assertion
from sayso.claims.hits import CLASS, WIDEST, Hit, begins
from sayso.lexicon.terms import Term, Word
from sayso.model import Certainty, Cue, Polarity, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_ANSWER = re.compile(r"[\s\"')]*(?=\S)")
_SHORT = re.compile(r"[^(;:\n]{0,26}\?")
_MOST, _NEAR, _OPENING, _JOINED = 28, 9, 5, 12
"""Tokens between a thing and the words that say how it is with it (nearer where they say that it is not known), and
how far into a sentence such words still speak of the sentence before (further where only a semicolon is between)."""

_SIDE_NAMED = 8
"""So much later they may stand in a sentence that names a side before them, or that answers a question."""


def asked(draft: Draft, start: int, end: int, said: Assertion) -> Assertion | None:
    """How a term in a question is meant: as the seller answers it himself; null where nobody answers a real question.

    A question mark after a fact ('mono?') is a hedge, which the cues have found; it stays.
    """
    from sayso.claims.answers import manner

    a, b = draft.a.sentence(start)
    last = b
    while last > a and draft.a.folded[last - 1].isspace():
        last -= 1
    first = draft.a.token(a)
    if draft.a.words[first + 1 : first + 2] == [":"]:  # 'Re: is the sleeve laminated?'
        first += 2
    real = bool(draft.a.of("inversion", first, first + 1)) and draft.a.token(start) > first
    if not draft.a.folded.endswith("?", a, last) or (not real and not _SHORT.fullmatch(draft.a.folded, end, last)):
        return said
    if re.fullmatch(r"\s*[:=.]*\s*\?+", draft.a.folded[end:last]) and ":" in draft.a.folded[end:b]:
        return replace(said, polarity="present", certainty="unknown", status="possible")
    lead = _ANSWER.match(draft.a.folded, b)
    at = lead.end() if lead else b
    rest = draft.a.folded[at : at + 60]
    how, behind = manner(rest, draft.lexicon)
    if how == "plain" and _not_known_next(draft, b):
        how = "ignorant"
    cues = tuple(c for c in said.cues if c.start < end)
    if how == "plain" and _picture_answers(draft, at):
        return replace(said, deferred=True)
    apart = "\n\n" in draft.a.folded[b:at] and draft.a.segment(start).kind != "title"  # 'Re: Horseshoe?'
    if apart or (how != "plain" and not _is_answer(draft, at + behind)):
        how = "plain"
    choice = bool(draft.a.within("question_or", a, b))
    if choice and how == "plain" and _chosen(draft, start, at):
        return None  # 'Mono or stereo? Mono.'
    if how in ("no", "none"):
        return replace(said, polarity="absent", certainty="certain", status="negated", cues=cues)
    if how in ("yes", "both") and not choice:
        return replace(said, polarity="present", certainty="certain", status="affirmed", cues=cues)
    if how in ("ignorant", "not yet"):
        return replace(said, polarity="present", certainty="unknown", status="possible", cues=cues)
    if how in ("likely", "unlikely") and not choice:
        polarity: Polarity = "present" if how == "likely" else "absent"
        return replace(said, polarity=polarity, certainty="hedged", status="possible", cues=cues)
    if choice and how in ("yes", "both"):
        return None
    if how == "plain" and draft.a.folded.startswith("¿", a) and draft.a.segment(start).kind == "reply":
        return None
    titled = draft.a.segment(start).kind == "title"
    return None if titled and how == "plain" and real else said


def _chosen(draft: Draft, start: int, at: int) -> bool:
    """Whether what stands behind a question names the thing again that it gave the choice of."""
    asked_for = {h.row.feature for h in draft.a.within("term", start, start + 1) if isinstance(h.row, Term)}
    i = draft.a.token(at)
    told = {h.row.feature for h in draft.a.of("term", i, i + 2) if isinstance(h.row, Term) and h.row.value is not None}
    return bool(asked_for & told)


def _picture_answers(draft: Draft, at: int) -> bool:
    """Whether the sentence behind a question only points to a picture ('Photo 3 will tell you.')."""
    start = draft.a.token(at)
    if start >= len(draft.a.toks):
        return False
    x, y = draft.a.sentence(draft.a.toks[start][0])
    cues = draft.a.within("cue", x, y)
    terms = [h for h in draft.a.within("term", x, y) if getattr(h.row, "feature", "") != "terms.photos"]
    return not terms and any(getattr(h.row, "kind", "") == "deferral" for h in cues)


def _not_known_next(draft: Draft, b: int) -> bool:
    """Whether the sentence behind a question says in a few words that it is not known ('Mystère pour moi.')."""
    start = draft.a.token(b)
    if start >= len(draft.a.toks):
        return False
    x, y = draft.a.sentence(draft.a.toks[start][0])
    few = draft.a.token(y - 1) - start <= _OPENING + 3
    return few and any(getattr(h.row, "kind", "") == "unknown" for h in draft.a.within("cue", x, y))


def _is_answer(draft: Draft, at: int) -> bool:
    """Whether the opening word stands for an answer and not for the first word of the next thing ('No writing')."""
    i = draft.a.token(at)
    if i >= len(draft.a.words) or "\n" in draft.a.folded[at : draft.a.toks[i][0]]:
        return True
    return not draft.a.words[i].isalnum() or not draft.a.of("term", i, i + 2)


_MEANT = 4
"""So many words may stand in 'not understood' before the ones that mean 'not known'."""


def read_proforms(draft: Draft) -> None:
    """Every 'it is there', 'this one does not', 'never found it', as a claim of the thing it stands for."""
    for hit in draft.a.of("proform", 0, draft.everything):
        if any(o.i > hit.i and o.j > hit.j for o in draft.a.of("proform", hit.i + 1, hit.j)):
            continue  # '; nothing' in '; nothing side B'
        at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
        if not draft.claiming(at) or _governs(draft, hit) or draft.a.of("open_end", hit.j, hit.j + 1):
            continue
        if any(
            hit.j <= o.j and getattr(o.row, "value", "") == "elsewhere" != getattr(hit.row, "value", "")
            for o in draft.a.of("proform", hit.i - 4, hit.i + 1)
        ):
            continue  # 'the other has none'
        if any(o.i <= hit.i and hit.j <= o.j for o in draft.a.of("not_understood", hit.i - _MEANT, hit.i + 1)):
            continue  # 'a boat, no idea what that means': what is not known is the meaning
        thing = _antecedent(draft, hit)
        if thing is not None and not _of_the_kind(draft, thing) and not _says_how_it_is(draft, hit, thing):
            for each in _meant(draft, hit, thing):
                _stand_in(draft, hit, each, at, to)


_RING = f"{CLASS}ring"
_GROOVE = "label.deep_groove"


def read_named_again(draft: Draft) -> None:
    """'A gully runs round the label of side one, the second side hasn't got the gully': the layman's word once more."""
    for c in [c for c in draft.claims if c.feature == _GROOVE and c.polarity == "present"]:
        rings = draft.a.within(_RING, c.start, c.end)
        words = {draft.a.words[n] for h in rings for n in (h.i, h.j - 1)}
        behind = draft.a.token(c.end)
        _, near = draft.a.sentence(min(draft.a.sentence(c.start)[1], len(draft.a.text) - 1))
        for h in draft.a.of(_RING, behind, behind + _MOST) if words else ():
            at, to = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
            led = any(o.j in (h.i, h.j - 1) for o in draft.a.of("named_again", h.i - 2, h.j))
            if draft.a.words[h.j - 1] not in words or not led or not draft.claiming(at) or at >= near:
                continue
            if draft.a.within(f"{CLASS}letter in a ring", *draft.a.sentence(at)):
                continue
            if any(o.feature == _GROOVE for o in draft.claims.touching(at, to)) or draft.item(at) != draft.item(
                c.start
            ):
                continue
            said = draft.a.assertion(at, to)
            side = draft.side(at, to)
            if said.about == "this_copy" and not said.deferred and (said.polarity == "absent" or (side and c.side)):
                draft.add(_GROOVE, at, to, said, said.polarity, c.value, None, side=side, rule="named again")


_ASIDE = re.compile(r"\W*(?:(?:and|what|how|about|for|on|und|auf|et|sur|en|op|e|sul|y|the) ){0,3}$", re.I)


_ANSWERED: dict[str, tuple[Polarity, Certainty]] = {
    "yes": ("present", "certain"),
    "no": ("absent", "certain"),
    "none": ("absent", "certain"),
    "ignorant": ("present", "unknown"),
    "likely": ("present", "hedged"),
    "unlikely": ("absent", "hedged"),
}
"""What an answer to a question about one side comes to."""


def read_side_questions(draft: Draft) -> None:
    """'Groove on A? Yes. On B? No.': a question that names only the side asks for what the one before asked."""
    from sayso.claims.answers import manner

    for hit in draft.a.of("side", 0, draft.everything):
        at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
        side = getattr(hit.row, "value", None)
        if side not in ("a", "b") or draft.a.folded[to : to + 1] != "?" or not draft.claiming(at):
            continue
        a, b = draft.a.sentence(at)
        if not _ASIDE.match(draft.a.folded[a:at]):
            continue
        asked_for = next((h for h in reversed(draft.terms) if h.j <= hit.i and _findable(draft, h)), None)
        if asked_for is None or hit.i - asked_for.j > _MOST:
            continue
        start = draft.a.toks[asked_for.i][0]
        if not draft.a.folded[: draft.a.sentence(start)[1]].rstrip().endswith("?"):
            continue
        how, _ = manner(draft.a.folded[b : b + 60].lstrip(), draft.lexicon)
        row, meant = asked_for.row, _ANSWERED.get(how)
        if isinstance(row, Term) and meant is not None:
            polarity, sure = meant
            said = replace(draft.a.assertion(at, to), polarity=polarity, certainty=sure, about="this_copy", cues=())
            draft.add(row.feature, at, to, said, polarity, row.value, None, side=side, rule="side question")


def _governs(draft: Draft, hit: Hit) -> bool:
    """Whether the words behind name the thing ('haven't looked for the bell'): then they are a cue and no stand-in."""
    _, b = draft.a.sentence(draft.a.toks[hit.i][0])
    stop = min(draft.a.token(max(b - 1, 0)) + 1, hit.j + 9, len(draft.a.toks))
    for n in range(hit.j, stop):
        if draft.a.toks[n][0] >= b:
            return False
        if draft.a.words[n] in (",", ";", ".", ":", "-", "("):
            return False
        if any(isinstance(h.row, Term) and h.row.kind != "carrier" for h in draft.a.of("term", n, n + 1)):
            return True
    return False


def _of_the_kind(draft: Draft, thing: Hit) -> bool:
    """'Demo copies normally have a suffix but this hasn't': what it lacks is not that it is a demo."""
    if not getattr(thing.row, "feature", "").startswith("edition."):
        return False
    said = draft.a.assertion(draft.a.toks[thing.i][0], draft.a.toks[thing.j - 1][1])
    return said.about != "this_copy"  # 'Were it a club edition the number would begin with a C, and it does not'


def _says_how_it_is(draft: Draft, hit: Hit, thing: Hit) -> bool:
    """'Spine, alas, unreadable': that it cannot be read is how it is with a spine, and known."""
    unread = draft.a.of(f"{CLASS}cannot be read", hit.i, hit.j)
    return bool(unread) and getattr(thing.row, "feature", "") == "jacket.spine"


def _antecedent(draft: Draft, hit: Hit) -> Hit | None:
    """The last thing named before, in this sentence or, where this one hardly begins before, in the one before."""
    at = draft.a.toks[hit.i][0]
    a, _ = draft.a.sentence(at)
    unknown = getattr(hit.row, "value", "") == "unknown"
    first = draft.a.token(a)
    low, high = (bisect_left(draft.terms, n, key=begins) for n in (hit.i - _MOST - WIDEST, hit.i))
    thing = next((h for h in reversed(draft.terms[low:high]) if h.j <= hit.i and _findable(draft, h)), None)
    if thing is None or hit.i - thing.j > (_NEAR if unknown else _MOST):
        return None
    if thing.i >= first:
        return thing
    start = draft.a.toks[thing.i][0]
    # 'On side 1 I looked twice and there is no sign of it.'
    opening = _JOINED if draft.a.folded[:a].endswith(";") else _OPENING
    opening += _SIDE_NAMED * bool(draft.a.of("side", first, hit.i))
    # 'Barcode? A bidder asked and no, there is none.'
    if a and draft.a.words[hit.i - 1] == "," and draft.a.folded[:a].rstrip().endswith("?"):
        opening += _SIDE_NAMED
    if a == 0 or draft.a.segment(start).kind == "title" or hit.i - first > opening:
        return None
    if any(first <= h.i < hit.i for h in draft.terms) or _has_a_subject(draft, first, hit):
        return None
    before, end = draft.a.sentence(a - 1)
    if start < before or "\n\n" in draft.a.folded[end - 1 : a + 1]:
        return None
    return thing if not unknown or draft.a.folded[before:end].rstrip().endswith("?") else None


def _has_a_subject(draft: Draft, first: int, hit: Hit) -> bool:
    """'The letters you mention aren't there': a noun that no list holds is what is denied, not the thing before."""
    a = draft.a
    if a.words[hit.i] in a.index.small["subject"]:  # '… and it isn't there'
        return False
    named = any(h.i + 1 < hit.i for h in a.of(f"{CLASS}definite", first, hit.i))
    return named and not any(a.of(kind, first, hit.i) for kind in ("side", "part", "this_copy"))


def _findable(draft: Draft, h: Hit) -> bool:
    if not isinstance(h.row, Term):
        return False
    feature = draft.lexicon.features.get(h.row.feature)
    return feature is not None and feature.findable


def _meant(draft: Draft, hit: Hit, thing: Hit) -> list[Hit]:
    """The thing, and the one named with it where the words speak of both ('the stamp and the bell … both are gone')."""
    both = {h.j for h in draft.a.of("side", hit.i - 1, hit.i + 1) if getattr(h.row, "value", "") == "both"}
    if hit.i not in both and hit.i + 1 not in both:
        return [thing]
    low = bisect_left(draft.terms, thing.i - _NEAR, key=begins)
    other = [
        h
        for h in draft.terms[low : bisect_left(draft.terms, thing.i, key=begins)]
        if _findable(draft, h) and isinstance(h.row, Term) and h.j <= thing.i and h.row.feature != thing.row.feature  # type: ignore[union-attr]
    ]
    return (
        [*other[-1:], thing]
        if draft.claims.touching(draft.a.toks[thing.i][0], draft.a.toks[thing.j - 1][1])
        else [thing]
    )


def _stand_in(draft: Draft, hit: Hit, thing: Hit, at: int, to: int) -> None:
    row = thing.row
    assert isinstance(row, Term)
    how = getattr(hit.row, "value", "")
    start, end = draft.a.toks[thing.i][0], draft.a.toks[thing.j - 1][1]
    a, _ = draft.a.sentence(at)
    own = Cue(kind="proform", rule=getattr(hit.row, "id", ""), start=at, end=to, quote=draft.a.text[at:to])
    here = start >= a
    asking = draft.a.folded[end : end + 3].lstrip().startswith("?")
    if not here:  # 'Is the key there? I looked twice and it isn't.'
        asking = asking or draft.a.folded[: draft.a.sentence(start)[1]].rstrip().endswith("?")
    if any(c.feature == row.feature and start < c.start <= at and to <= c.end for c in draft.claims.touching(at, to)):
        return  # 'Bell: A yes / B can't make it out' has been read side by side
    side = _side(draft, hit, at, to)
    if side == "both" and how == "absent":
        side = _turned_over(draft, start, a, at) or side
    sign = not draft.a.text[start].isalnum()  # the quotation of a lone sign begins a word before it
    old = [c for c in draft.claims.touching(start, end) if (sign or c.start == start) and c.feature == row.feature]
    if side in ("a", "b"):  # 'kettle on B, A has none'
        old = [c for c in old if c.side in (None, side) and not (c.side is None and c.certainty == "certain")]
    elsewhere = how == "elsewhere"  # 'one label has a ring, its twin doesn't': what the first has stays
    if elsewhere and here:
        if not old:
            return
    elif any(q.kind != "term" and q.start < to and at < q.end for c in old for q in c.cues):
        if how == "unknown" or not here:
            return
        draft.drop(old)
    elif old and here and how != "present":
        draft.drop([c for c in old if how != "search" or c.certainty == "certain"])
    elif (old and here and any(c.certainty != "certain" for c in old)) or (old and asking):
        draft.drop(old)
    elif old and here:
        return
    said = draft.a.assertion(at, to)
    if said.about != "this_copy":
        if here and said.about == "other_copy" and _in_one_breath(draft, thing, hit):
            return  # 'Unless we say so the numbers are not checked'
        said = replace(said, about="this_copy")
    polarity: Polarity = "absent" if how in ("absent", "search", "elsewhere") else "present"
    if polarity == "absent" and side in ("a", "b"):  # 'acorn in the wax, none on side 2': it is on the other
        for c in draft.claims.touching(start, end):
            if c.feature == row.feature and c.polarity == "present" and c.side is None:
                draft.claims.amend(c, side="b" if side == "a" else "a")
    certainty = "unknown" if how == "unknown" else "hedged" if how == "search" else said.certainty
    if certainty == "unknown" and how != "unknown":
        certainty = "certain"
    said = replace(said, certainty=certainty, deferred=False, cues=(own, *said.cues))
    left = start if here else _clause(draft, a, at)
    draft.add(row.feature, left, to, said, polarity, row.value, None, side=side, rule="proform")


def _in_one_breath(draft: Draft, thing: Hit, hit: Hit) -> bool:
    """Whether the stand-in is said of the thing itself, with no turn to the copy on offer between."""
    between = draft.a.words[thing.j : hit.i]
    return all(map(str.isalpha, between)) and not draft.a.of("this_copy", thing.j, hit.j + 1)


def _side(draft: Draft, hit: Hit, at: int, to: int) -> Side | None:
    """The side of which the stand-in speaks: named beside it, or by its bare letter before it."""
    if hit.i:
        a, b = draft.a.toks[hit.i - 1]
        letter = draft.a.folded[a:b]
        if letter in ("A", "B"):
            return "a" if letter == "A" else "b"
    for s in draft.a.of("side", hit.j, hit.j + 2):
        if isinstance(s.row, Word) and (s.i == hit.j or draft.a.of("upon", hit.j, s.i)):
            return s.row.value  # type: ignore[return-value] # 'not that I can see on 2'
    for s in draft.a.of("side", hit.i - 4, hit.j):
        if s.j >= hit.i and isinstance(s.row, Word):
            return s.row.value  # type: ignore[return-value] # '… and side 2 has none'
    a, _ = draft.a.sentence(at)
    named = [s for s in draft.a.within("side_in_turn", a, at) if s.j - s.i > 1]
    if (
        named
        and isinstance(named[-1].row, Word)
        and any(c.side in ("a", "b") for c in draft.claims.begun(max(a - 120, 0), at))
    ):
        return named[-1].row.value  # type: ignore[return-value] # 'Acorn on side two; I went over the first in vain'
    return draft.side(at, to)


def _turned_over(draft: Draft, start: int, a: int, at: int) -> Side | None:
    """'Side one has the stamp and the bell. Flip it over and both are gone': the other side, and both things."""
    told = {c.side for c in draft.claims.touching(start, start + 1) if c.polarity == "present"}
    other: Side | None = "b" if told == {"a"} else "a" if told == {"b"} else None
    return other if other and draft.a.within("turned_over", a, at) else None


def _clause(draft: Draft, a: int, at: int) -> int:
    """The start of the clause that leads to the offset."""
    left = max(draft.a.folded.rfind(c, a, at) + 1 for c in ",;:(") or a
    left = max(left, a)
    while left < at and not draft.a.folded[left].isalnum():
        left += 1
    return left
