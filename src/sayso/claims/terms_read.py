"""Terms of the lexicon in a listing → claims."""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from sayso.claims.analysis import NEGATIVE, PLAIN, Assertion
from sayso.claims.draft import JACKET, SIDED
from sayso.claims.ellipsis import asked
from sayso.claims.hits import WIDEST, begins
from sayso.claims.index import CLASS, Hit
from sayso.claims.measures import period_in
from sayso.claims.shapes import parts_of, shape_of
from sayso.claims.sided import How, each_side, how_sure, sided_values
from sayso.lexicon.terms import Term, Word
from sayso.model import Claim, Polarity, Side

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon

_VALUE = re.compile(r"[ \t]*(?::|\.{2,}[ \t]*:?)[ \t]*([^\n]{1,40})(?=\n|$)")


_POST_CODE = f"{CLASS}post code"
_WHAT_IS_THERE = f"{CLASS}what is there"
_BY_THE_WAY = frozenset({"deadwax.lettering", "condition.defects"})
"""What is only said by the way in 'what is scratched in there'."""
_INSCRIBED = 4
"""Tokens between figures and the pencil that they were written with."""
_OF_CARD = f"{CLASS}of paper or card"
"""Words for what has an edge of its own besides the disc."""
_COUNTRYS_ORIGINAL = "an original of a country"
_NO_CLAIM = frozenset({"topic", "mention", "under", "carrier"})
"""Terms of these kinds claim nothing by themselves."""


@lru_cache(maxsize=16)
def _values(lexicon: Lexicon, kind: str) -> frozenset[str]:
    """The words of one kind: values of faults that are only heard, languages that put their adjectives last."""
    return frozenset(f for w in lexicon.words if w.kind == kind for f in w.forms)


def read_terms(draft: Draft) -> None:
    """Every term that counts here, as a claim."""
    draft.terms = _terms(draft)
    for hit in draft.terms:
        _term(draft, hit)
    draft.drop([c for c in draft.claims if c.feature == _FAULTS and _told_otherwise(draft, c)])
    draft.drop([c for c in draft.claims if c.feature == "terms.returns" and _only_exchanged(draft, c)])
    plays = [c for c in draft.claims if c.feature == "condition.play_tested"]
    if any(c.polarity == "absent" for c in plays):  # 'I have no player, so no idea how it sounds'
        draft.drop([c for c in plays if c.certainty == "unknown"])


def _only_exchanged(draft: Draft, told: Claim) -> bool:
    """'Exchange possible, no refund': what may be exchanged may not be sent back for its price."""
    a, b = draft.a.sentence(told.start)
    if told.polarity != "present" or not draft.a.within(f"{CLASS}exchange alone", told.start, told.end):
        return False
    return any(c.feature == told.feature and c.polarity == "absent" for c in draft.claims.begun(a, b))


_FAULTS = "condition.defects"
_HARMED = ":it is harmed"
"""Ends the rule of the shape that reads 'it is scratched'."""


def _told_otherwise(draft: Draft, fault: Claim) -> bool:
    """'A circular dent pressed into the label': a fault's word among words that together tell of another thing."""
    if fault.cues[0].rule.endswith(_HARMED) and any(
        c.feature == "deadwax.lettering" for c in draft.claims.touching(fault.start, fault.end)
    ):
        return True  # 'A1 and B1 in the wax; they are not scratched'
    return any(
        c.feature.startswith(("label.", "deadwax.", "disc."))
        and c.cues[0].rule.startswith("shape:")
        and c.start <= fault.start
        and fault.end <= c.end
        and c.end - c.start > fault.end - fault.start
        for c in draft.claims.touching(fault.start, fault.end)
    )


def _terms(draft: Draft) -> list[Hit]:
    """The terms, each feature's longest where they overlap, without those whose neighbours cancel them."""
    analysis = draft.a
    terms = analysis.all_of("term")
    features = [h.row.feature for h in terms if isinstance(h.row, Term)]
    toks, folded = analysis.toks, analysis.folded
    out: list[Hit] = []
    for n, h in enumerate(terms):
        row = h.row
        assert isinstance(row, Term)
        feature, i, j = features[n], h.i, h.j
        if _in_longer(terms, features, n) or any(
            o.i < i < o.j < j and isinstance(o.row, Term) and o.row.feature == feature for o in out[-4:]
        ):
            continue
        if _runs_into_a_key(draft, h):
            continue
        if row.not_before or row.not_after or row.only_before or row.only_after:
            start, end = toks[i][0], toks[j - 1][1]
            after = folded[end : end + 40].lower().replace("  ", " ").lstrip(' "')
            before = folded[max(0, start - 40) : start].lower().replace("  ", " ").rstrip(' "')
            if before.endswith(".."):  # 'Inner ........ plain'
                before = before.rstrip(". ") + ":"
            if any(after.startswith(w) and _ends_there(after, w) for w in row.not_before):
                continue
            if any(before.endswith((w, f"{w}-")) for w in row.not_after):
                continue
            if row.only_before and not after.startswith(row.only_before):
                continue
            if row.only_after and not before.endswith(row.only_after):
                continue
        if row.exact and any(
            within(folded, toks[i][0], toks[j - 1][1]) for within in (_within_a_code, _among_capitals)
        ):
            continue
        if row.exact and feature == "format.channels" and _in_the_wax(draft, h):
            continue
        if (
            row.exact
            and feature == "edition.reissue"
            and _SIDE_OF_A_CODE.search(folded, max(toks[i][0] - _CODE, 0), toks[i][0])
        ):
            continue
        if feature == "label.deep_groove" and j - i == 1 and _a_number(draft, h):
            continue
        if feature == "format.size" and analysis.words[j - 1] == '"' and _closes_a_quotation(draft, h):
            continue
        if draft.a.tongue and _otherwise_meant(draft, h, feature):
            continue
        if row.apart_from and any(
            draft.a.within(CLASS + name, *draft.a.sentence(toks[i][0])) for name in row.apart_from
        ):
            continue
        if row.kind == "under" and not _under(draft, h, feature):
            continue
        if row.kind == "again" and not _denied_in_part(draft, h, feature):
            continue
        if "deadwax" in row.needs and not draft.near_wax(h):
            continue
        if row.kind == "address" and "label" in row.needs and not draft.on_label(h):
            continue
        if feature == "edition.original" and (_of_the_packing(draft, h) if draft.a.tongue else _of_an_inner(draft, h)):
            continue
        if feature in ("edition.original", "edition.first_pressing") and _in_words_on_the_inner(draft, h):
            continue
        if feature == "edition.country" and _where_the_paper_was_made(draft, h):
            continue
        if "outside the title" in row.needs and draft.a.segment(toks[i][0]).kind == "title":
            continue
        out.append(h)
    return _without_overruled(draft, _without_alternatives(draft, out))


def _ends_there(text: str, word: str) -> bool:
    """Whether a word with which the text begins ends there ('s' in "DG's", not in 'dg s1'; 'of the 19' in '… 1978')."""
    behind = text[len(word) : len(word) + 1]
    return not (behind.isalpha() or (behind.isdigit() and word[-1:].isalpha()))


_KEY_LINE = re.compile(r"[ \t]*[^\n:.]{1,40}:(?=\s)")


def _runs_into_a_key(draft: Draft, h: Hit) -> bool:
    """'Barcode: no / Cover: single': words on both sides of a line break, the latter a key of its own."""
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    at = draft.a.folded.find("\n", start, end)
    return at >= 0 and _KEY_LINE.match(draft.a.folded, at + 1) is not None


_BETWEEN_KEYS = frozenset({"/", "|", "&"})
_KEY_ENDS = re.compile(r"[^\n:.]{0,16}?(?::|\.{2,}|\s\.(?=\s)|=)")
"""What stands behind the words of a key that names alternatives."""


def _without_alternatives(draft: Draft, found: list[Hit]) -> list[Hit]:
    """Without the words of a key that names what its value chooses from ('Mono/stereo: Mono')."""
    from sayso.claims.answers import manner

    words, small = draft.a.words, draft.a.index.small
    gone: set[tuple[int, int]] = set()
    for h, o in pairwise(found):
        if o.i - h.j != 1 or not (words[h.j] in _BETWEEN_KEYS or words[h.j] in small["list_or"]):
            continue
        start, end = draft.a.toks[h.i][0], draft.a.toks[o.j - 1][1]
        line, stop = draft.a.line(start)
        if (
            not draft.a.folded[line:start].strip(" \t*•-")
            and _alternatives(h, o)
            and _KEY_ENDS.match(draft.a.folded, end)
        ):
            opens = _KEY_ENDS.match(draft.a.folded, end)
            value = draft.a.folded[opens.end() : stop].strip(" .-") if opens else ""
            if value and manner(value, draft.lexicon)[0] == "plain":  # 'Cut-out / notch: none' denies both
                gone |= {(h.i, h.j), (o.i, o.j)}
    return [h for h in found if (h.i, h.j) not in gone] if gone else found


def _alternatives(one: Hit, other: Hit) -> bool:
    """Whether a copy is one of two: two values of a feature, or two kinds of edition."""
    a, b = one.row, other.row
    if not isinstance(a, Term) or not isinstance(b, Term):
        return False
    if a.feature == b.feature:
        return a.value != b.value
    return a.feature.startswith("edition.") and b.feature.startswith("edition.")


def _without_overruled(draft: Draft, found: list[Hit]) -> list[Hit]:
    """Without the bare names of things whose value stands beside them, in 'a plain white paper inner' the inner.

    Only where the value denies what the bare name would claim: one phrase does not say both.
    """
    under = [h for h in found if isinstance(h.row, Term) and h.row.kind == "under"]
    if not under:
        return found
    named = {(h.i, h.j, h.row.feature) for h in found if isinstance(h.row, Term) and h.row.kind == "topic"}

    def overruled(h: Hit) -> bool:
        row = h.row
        if not isinstance(row, Term) or row.kind != "plain" or row.value is not None:
            return False
        return (h.i, h.j, row.feature) in named and any(
            isinstance(u.row, Term)
            and u.row.feature == row.feature
            and u.row.polarity != row.polarity
            and min(abs(u.i - h.j), abs(h.i - u.j)) <= 3
            for u in under
        )

    return [h for h in found if not overruled(h)]


def _otherwise_meant(draft: Draft, h: Hit, feature: str) -> bool:
    """'Eine Welle im Auslauf' is no warp; 'chiffres au crayon' are none of the run-out."""
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    a, b = draft.a.sentence(start)
    if feature == "deadwax.plant_mark" and h.j - h.i == 1:
        # Italian 'ancora' is 'still' wherever nothing is said of the run-out.
        return draft.a.words[h.i] in draft.a.index.small["seldom_a_mark"] and not draft.parts(a, b, "deadwax")
    if feature == "condition.defects" and h.j - h.i == 1:
        marks = [o for o in draft.a.of("term", h.i, h.i + 1) if isinstance(o.row, Term)]
        marked = any(o.row.feature == "deadwax.plant_mark" for o in marks if isinstance(o.row, Term))
        return marked and draft.a.carrier(start, end)[0] == "deadwax"
    if feature == "deadwax.matrix" and draft.a.within(f"{CLASS}inscription", a, b):
        # 'Quelques chiffres griffonnés au crayon près du trou'
        return bool(draft.a.of(f"{CLASS}inscription", h.j, h.j + _INSCRIBED)) or not draft.parts(a, b, "deadwax")
    if (
        feature == "condition.defects"
        and draft.a.segment(start).kind == "title"
        and not draft.a.index.capital_nouns(draft.a.tongue)
    ):
        word = draft.a.text[start:end]
        return word.istitle() and len(word) > 3 and not draft.parts(a, b, "jacket", "disc")  # 'Polvo y Sal'
    return False


def _in_words_on_the_inner(draft: Draft, h: Hit) -> bool:
    """'The inner does not look like the original one': the word is in what is said of the sleeve inside."""
    return any(
        isinstance(o.row, Term) and o.row.feature == "inner.original" and o.j >= h.j and o.row.kind not in _NO_CLAIM
        for o in draft.a.of("term", h.i - 8, h.i)
    )


def _where_the_paper_was_made(draft: Draft, h: Hit) -> bool:
    """'The sleeve was printed in England': said of the sleeve, not of the record."""
    a, small = draft.a, draft.a.index.small
    begin = a.token(a.sentence(a.toks[h.i][0])[0])
    made = a.of(f"{CLASS}made of paper", h.i, h.i + 1)
    if not made:
        return False
    n = h.i
    while n > begin and (a.words[n - 1] in small["finite"] or bool(a.of("linking", n - 1, n))):
        n -= 1
    return any(p.j == n and getattr(p.row, "value", "") in ("jacket", "inner") for p in a.of("part", n - 3, n))


def _of_the_packing(draft: Draft, h: Hit) -> bool:
    """'Orig. bedrukte binnenhoes', 'pochette d'origine': the adjective belongs to the sleeve beside it."""
    words = draft.a.words
    for p in draft.a.of("part", h.i - 3, h.j + _ADJECTIVES + 1):
        if not isinstance(p.row, Word) or p.row.value not in ("inner", "jacket"):
            continue
        between = words[h.j : p.i] if p.i >= h.j else words[p.j : h.i]
        if p.i >= h.j and len(between) <= _ADJECTIVES and all(w.isalpha() or w == "." for w in between):
            behind = between[1:] if between[:1] == ["."] else between
            return not draft.a.of("joiner", h.j, p.i) and all(w.isalpha() for w in behind)
        closed = h.j >= len(words) or not words[h.j][:1].isalnum()
        if p.j == h.i and (
            closed or draft.a.tongue in _values(draft.lexicon, "adjective_behind")
        ):  # 'Lochcover original.'
            return True
        linking = {n for o in draft.a.of("linking", p.j, h.i) for n in range(o.i, o.j)}
        if 0 < len(between) <= _PREDICATE and p.j < h.i and all(n in linking for n in range(p.j, h.i)):
            return True  # 'binnenhoes is de originele'
    return False


def _of_an_inner(draft: Draft, h: Hit) -> bool:
    """'Original cream-coloured company sleeve', 'Inner: original': said of the sleeve inside, not of the pressing."""
    key = draft.a.key(draft.a.toks[h.i][0])
    if key is not None and draft.parts(*key, "inner", "jacket"):
        return True
    around = draft.a.of("term", h.i - _PREDICATE - 1, h.i + 1)
    if any(
        o.i <= h.i
        and h.j <= o.j
        and isinstance(o.row, Term)
        and o.row.feature == "inner.original"
        and (o.row.kind != "under" or _under(draft, o, "inner.original") or _sleeve_named(draft, h))
        for o in around
    ):
        return True  # 'the inner is the original one'
    for o in draft.a.of("term", h.j, h.j + _BEFORE_AN_INNER + 1):
        if not isinstance(o.row, Term) or o.row.feature != "inner.original" or o.row.kind in ("topic", "under"):
            continue
        return _adjectives(draft, h.j, o.i)
    return _of_a_jacket(draft, h)


def _of_a_jacket(draft: Draft, h: Hit) -> bool:
    """'Original flipback laminated cover': the adjectives lead from the word to the jacket, which alone is original."""
    part = next(iter(draft.a.of("part", h.j, h.j + _BEFORE_AN_INNER + 1)), None)
    return (
        part is not None
        and part.i > h.j
        and getattr(part.row, "value", "") == "jacket"
        and not draft.a.of(f"{CLASS}pressing noun", h.j, part.i)  # 'Original Dutch press sleeve EX'
        and not any(
            isinstance(o.row, Term) and o.row.feature.startswith("edition.") for o in draft.a.of("term", h.j, part.i)
        )
        and _adjectives(draft, h.j, part.i)
    )


def _adjectives(draft: Draft, i: int, j: int) -> bool:
    """Whether nothing but adjectives can stand in tokens [i, j): no verb, no sign, no small word, no part."""
    a = draft.a
    if any(not a.words[n].isalpha() and a.words[n] != "-" for n in range(i, j)) or a.of("part", i, j):
        return False
    if any(a.words[o.i - 1] != "-" for o in a.of("linking", i, j)):  # 'cream-coloured'
        return False
    return not any(a.words[o.i] != "-" for o in a.of("joiner", i, j))


def _sleeve_named(draft: Draft, h: Hit) -> bool:
    """'In a brown sleeve, not original': the sleeve is named before."""
    start = draft.a.toks[h.i][0]
    return bool(draft.parts(draft.a.sentence(start)[0], start, "inner", "jacket"))


_BEFORE_AN_INNER = 5
"""So many adjectives may stand between 'original' and the inner sleeve."""
_ADJECTIVES = 2
"""So many words may stand between 'original' and its noun."""
_PREDICATE = 3
"""So many words may stand between a noun and 'original' said of it."""


def _closes_a_quotation(draft: Draft, h: Hit) -> bool:
    """'"Hallam St., Chicago 10"': the sign behind the figure is no inch."""
    a, _ = draft.a.sentence(draft.a.toks[h.i][0])
    signs = [n for n in range(draft.a.token(a), h.i) if draft.a.words[n] == '"']
    inches = sum(bool(n) and draft.a.words[n - 1].isdigit() for n in signs)
    return (len(signs) - inches) % 2 == 1


def _a_number(draft: Draft, h: Hit) -> bool:
    """'DG 104': capitals with a figure behind them are a catalogue number."""
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    return draft.a.text[start:end].isupper() and bool(re.match(r"[ -]?\d{2}", draft.a.folded[end : end + 4]))


def _in_the_wax(draft: Draft, h: Hit) -> bool:
    """'ST in the trail-off': letters that are found there, whatever they are short for elsewhere."""
    inside = draft.a.index.small["inside"]
    near = draft.a.of("part", h.j, h.j + _ON_PAPER)
    return any(w in inside for w in draft.a.words[h.j : h.j + 1]) and any(
        getattr(p.row, "value", "") == "deadwax" for p in near[:1]
    )


def _within_a_code(text: str, start: int, end: int) -> bool:
    """Whether capitals are a part of a number: the 'RE' of 'SG-1204-B-RE-2'."""
    if "-" not in (text[start - 1 : start], text[end : end + 1]):
        return False
    before, after = _CODE_BEFORE.search(text, max(start - _CODE, 0), start), _CODE_AFTER.match(text, end)
    return any(c.isdigit() for m in (before, after) if m for c in m.group())


_SPACED = re.compile(r"(?<![\w-])[A-Z](?: [A-Z]){2,3}(?![\w-])")
"""Capitals set apart by blanks, as one reads initials out."""
_SPACED_WIDTH = 7


def _among_capitals(text: str, start: int, end: int) -> bool:
    """Whether a lone capital is one of several set apart by blanks: the 'K' of 'H K L'."""
    if end - start > 1:
        return False
    found = _SPACED.finditer(text, max(start - _SPACED_WIDTH + 1, 0), start + _SPACED_WIDTH)
    return any(m.start() <= start < m.end() for m in found)


_CODE = 30
_SIDE_OF_A_CODE = re.compile(r"\d[ -]?[AB](?:[ -]?\d{1,2})?[ -]$")
"""What stands before the 'RE' of 'SG 1204 B RE', which is no reissue."""
_CODE_BEFORE = re.compile(r"(?:[A-Za-z0-9]+-)+$")
_CODE_AFTER = re.compile(r"(?:-[A-Za-z0-9]{1,12}){1,4}")


def _in_longer(terms: list[Hit], features: list[str], n: int) -> bool:
    """Whether a longer term of the same feature covers this one; those that begin together come longest first."""
    i, j = terms[n].i, terms[n].j
    k = n - 1
    while k >= 0 and terms[k].i >= i - 8:
        longer = terms[k].j >= j and terms[k].j - terms[k].i > j - i
        row = terms[k].row
        if longer and (features[k] == features[n] or (isinstance(row, Term) and features[n] in row.also)):
            return True
        k -= 1
    return False


def _under(draft: Draft, h: Hit, feature: str) -> bool:
    """Whether the sentence names the thing of which this word alone is a value."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    named = any(
        isinstance(o.row, Term)
        and o.row.feature == feature
        and o.row.kind == "topic"
        and (_between(draft, o.j, h.i) <= 4 or (0 <= o.i - h.j <= 1 and not _turns(draft, h.j, o.i)))
        and not (feature == "disc.rim" and (draft.a.of(_OF_CARD, o.j, h.i) or _of_another_edge(draft, o, h)))
        for o in draft.a.within("term", a, b)
    )
    if named or (a > 0 and h.i - draft.a.token(a) <= _ANSWERS and _asked_before(draft, a, feature)):
        return True
    return _quoted_before(draft, draft.a.toks[h.i][0], feature)


def _denied_in_part(draft: Draft, h: Hit, feature: str) -> bool:
    """Whether words before a comma deny the thing of which these say that there is a little ('no deep scratches')."""
    start = draft.a.toks[h.i][0]
    begin, _ = draft.a.sentence(start)
    return any(
        isinstance(o.row, Term) and o.row.feature == feature and o.j < h.i and "," in draft.a.words[o.j : h.i]
        for o in draft.a.within("term", begin, start)
    )


def _deny_in_part(draft: Draft, start: int) -> None:
    """'No deep scratches, a few light ones': what is denied are the deep ones alone."""
    begin, _ = draft.a.sentence(start)
    for c in draft.claims.begun(begin, start):
        i = draft.a.token(c.start)
        if c.feature == _FAULTS and c.polarity == "absent" and i and draft.a.words[i - 1].isalpha():
            draft.claims.amend(c, value=f"{draft.a.words[i - 1]} {c.value}")


def _quoted_before(draft: Draft, at: int, feature: str) -> bool:
    """Whether a quoted question asks for the feature and the first sentence of its answer holds the offset."""
    asked = draft.question_before(at)
    if asked is None:
        return False
    text = draft.a.folded
    begin = next((n for n in range(asked.end, at) if text[n].isalnum()), at)
    return draft.a.sentence(begin) == draft.a.sentence(at) and any(
        isinstance(o.row, Term) and o.row.feature == feature and o.row.kind == "topic"
        for o in draft.a.within("term", asked.start, asked.end)
    )


def _of_another_edge(draft: Draft, edge: Hit, told: Hit) -> bool:
    """'The rim of the label is flat': the part stands between."""
    if edge.j > told.i:
        return False
    start, end = draft.a.toks[edge.j - 1][1], draft.a.toks[told.i][0]
    return bool(draft.parts(start, end, "jacket", "inner", "label"))


_ANSWERS = 1
"""So many words may stand before the value with which a sentence answers the question before it."""


def _asked_before(draft: Draft, a: int, feature: str) -> bool:
    """Whether the sentence that ends at `a` asks for the feature ('Which speed? 45, I think.')."""
    start, end = draft.a.sentence(a - 1)
    return draft.a.folded[start:end].rstrip().endswith("?") and any(
        isinstance(o.row, Term) and o.row.feature == feature and o.row.kind == "topic"
        for o in draft.a.within("term", start, end)
    )


def _only_unread(draft: Draft, said: Assertion, end: int) -> bool:
    """'A rubber stamp, illegible': that nobody can read it leaves no doubt that it is there."""
    unknown = [c for c in said.cues if c.kind == "unknown"]
    return all(c.start >= end and draft.a.within(f"{CLASS}cannot be read", c.start, c.end) for c in unknown)


def _turns(draft: Draft, i: int, j: int) -> bool:
    """'Insert missing, inner present', 'poster gone but inner there': what stands before is of another thing."""
    contrast = draft.a.index.small["contrast"]
    return any(w == "," or w in contrast for w in draft.a.words[i:j])


def _between(draft: Draft, i: int, j: int) -> int:
    """Words and commas between two places; a large number where the second comes first. Leaders do not count."""
    return sum(w.isalnum() or w in ",;" for w in draft.a.words[i:j]) if i <= j else 99


def _address(draft: Draft, h: Hit) -> str | None:
    """Whose address: the label's or the jacket's, by the part named nearest; null where none is."""
    part, _ = draft.a.carrier(draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1])
    return {"label": "label.address", "jacket": "jacket.address"}.get(part or "")


def _print_of_the_label(draft: Draft, h: Hit) -> bool:
    """'Black label with gold writing': the writing is how the label looks."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    coloured = any(c.j == h.i for c in draft.a.of("colour", h.i - 3, h.i))
    return coloured and bool(draft.a.of("design_noun", h.i, h.i + 1)) and bool(draft.parts(a, b, "label"))


def _is_heading(draft: Draft, start: int, end: int, polarity: Polarity) -> bool:
    """'Returns' on a line of its own stands over what is said of them; 'No returns' and 'Returns accepted' say it."""
    a, b = draft.a.line(start)
    if polarity == "absent" or draft.a.folded[a:b].strip(" :-*#") != draft.a.folded[start:end]:
        return False
    named = (*draft.a.within(CLASS + "send back", start, end), *draft.a.within(CLASS + "heading", start, end))
    return any(draft.a.toks[h.i][0] == start and draft.a.toks[h.j - 1][1] == end for h in named)


def _lettering_follows(draft: Draft, h: Hit) -> bool:
    return any(
        isinstance(o.row, Term) and o.row.feature == "deadwax.lettering" for o in draft.a.of("term", h.j, h.j + 3)
    )


def _made_so(draft: Draft, h: Hit) -> bool:
    """Whether what is doubtful of the numbers is how they were made."""
    near = draft.a.of("term", max(h.i - 4, 0), h.j + 6)
    return any(isinstance(o.row, Term) and o.row.feature == "deadwax.lettering" for o in near)


def _numbers_before(draft: Draft, h: Hit) -> bool:
    return any(
        isinstance(o.row, Term) and o.row.feature == "deadwax.matrix" for o in draft.a.of("term", max(h.i - 4, 0), h.i)
    )


def _told_where(draft: Draft, h: Hit) -> bool:
    """'An address in Chicago', where the address itself is not given: that is read by its own term."""
    return bool(draft.a.of("address_tell", h.j, h.j + 2)) and not any(
        isinstance(o.row, Term) and o.row.kind == "address" for o in draft.a.of("term", h.j, h.j + 8)
    )


def _stands_on(draft: Draft, h: Hit) -> bool:
    """'Auf der Rückseite steht die neue Anschrift': an address said to be there, which nobody copies out."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    copied = any(isinstance(o.row, Term) and o.row.kind == "address" for o in draft.a.within("term", a, b))
    near = [p for p, _ in draft.parts(a, b, "label", "jacket") if abs(p.i - h.i) <= _BY_THE_PART]
    return bool(near) and not copied


def _another_is_told(draft: Draft, h: Hit) -> bool:
    """'PO Box 90 instead of the street': what is denied is a kind of address, where the address itself stands by."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    return any(
        o.j <= h.i
        and isinstance(o.row, Term)
        and (o.row.kind == "address_noun" if o.row.value is None else o.row.kind == "address")
        and draft.a.folded[draft.a.toks[o.i][0] : draft.a.toks[o.j - 1][1]].lower() != draft.a.words[h.j - 1]
        and draft.a.assertion(draft.a.toks[o.i][0], draft.a.toks[o.j - 1][1]).polarity == "present"
        and not draft.a.of("side", o.j, h.i)
        for o in draft.a.within("term", a, b)
    )


_CODE_BEHIND = re.compile(r":? (?=[A-Z]{0,2}-?\d)[A-Z\d]{1,5}(?:[ -](?:\d{2,4}|\d?[A-Z]{2}))?(?![\w-])(?: [A-Z]\w+)?")
"""Figures and capitals, in one group or two, behind the word for a code of the post."""
_BY_THE_PART = 8
"""Tokens between an address and the part of the record that bears it."""


_OPEN = re.compile(r"[ \t]*(?::|\.{2,})[ \t]*[-–—_.*]*[ \t]*(?=\n|$)")
"""What stands behind the key of a line that is not filled in."""


def _left_open(draft: Draft, start: int, end: int) -> bool:
    """'Deep groove: —', 'Barcode:': a form that nobody filled in says nothing."""
    a, b = draft.a.line(start)
    if draft.a.folded[a:start].strip(" \t*•-") or not _OPEN.match(draft.a.folded, end):
        return False
    return bool(draft.a.folded[end:b].strip())


def _with_answer(draft: Draft, end: int) -> int:
    """The end of 'Key: yes, both sides' where the value only says how it is with the key."""
    from sayso.claims.answers import manner

    m = _VALUE.match(draft.a.folded, end)
    if not m:
        return end
    value = m.group(1)
    i = draft.a.token(m.start(1))
    if manner(value, draft.lexicon)[0] == "plain" and not draft.a.of("side", i, i + 1):
        return end
    return m.end(1)


def _answered_no(draft: Draft, start: int, end: int) -> bool:
    """'Returns: N': the value is one letter that says no, which is no word in a sentence."""
    from sayso.claims.answers import manner

    last = draft.a.token(end - 1)
    letter = draft.a.folded[draft.a.toks[last][0] : end].strip(" .") if last < len(draft.a.toks) else ""
    return len(letter) == 1 and draft.a.key(end - 1) is not None and manner(letter, draft.lexicon)[0] == "no"


def _on_the_spine(draft: Draft, h: Hit) -> bool:
    """Whether what is wrong is said of the spine ('shelf number on the spine')."""
    row = h.row
    assert isinstance(row, Term)
    for o in draft.a.of("term", h.i - 4, h.j + 5):
        if isinstance(o.row, Term) and o.row.feature == "jacket.spine" and o.row.kind in ("topic", "carrier"):
            between = draft.a.words[h.j : o.i] if o.i >= h.j else draft.a.words[o.j : h.i]
            # 'El lomo legible y una rotura pequeña': with an article of its own it is another thing.
            anew = o.j <= h.i and any(
                draft.a.of("joiner", n, n + 1) and draft.a.of("indefinite", n + 1, n + 2) for n in range(o.j, h.i)
            )
            if not anew and not any(w in ",.;:()" for w in between):
                return True
    return False


def in_a_name(draft: Draft, h: Hit) -> bool:
    """Whether a picture word is only part of a title or of a name, or a picture elsewhere than in the run-out.

    In the title capitals far from the run-out are names; so are words with a capital beside another one in the text
    ('The Anchor Singers'). A picture on the cover is no mark.
    """
    start = draft.a.toks[h.i][0]
    a, b = draft.a.sentence(start)
    if any(p.i < h.i or p.j > h.j for p, _ in draft.parts(a, b, "deadwax")):
        return False
    titled = draft.a.segment(start).kind == "title"
    if titled and _asks_again(draft, a, b):
        return False
    if draft.a.text[start].isupper() and (titled or _beside_a_name(draft, h)):
        return True
    after = draft.a.folded[draft.a.toks[h.j - 1][1] : b]
    clause = draft.a.toks[h.j - 1][1] + len(re.split(r"[,;:(]", after, maxsplit=1)[0])
    return any(draft.a.of("upon", h.j, p.i) for p, _ in draft.parts(draft.a.toks[h.j - 1][1], clause, "jacket"))


def _asks_again(draft: Draft, a: int, b: int) -> bool:
    """'Re: Horseshoe?': the heading of a reply repeats what was asked."""
    first = draft.a.token(a)
    return draft.a.words[first + 1 : first + 2] == [":"] and draft.a.folded[a:b].rstrip().endswith("?")


def _on_paper(draft: Draft, h: Hit) -> bool:
    """'TC on the sleeve', 'initials in ink on the label': letters elsewhere than in the run-out."""
    upon = next((o for o in draft.a.of("upon", h.j, h.j + _ON_PAPER) if o.i >= h.j), None)
    if upon is None or not all(draft.a.words[n].isalpha() for n in range(h.j, upon.i)):
        return False
    near = draft.a.of("part", upon.j, upon.j + _ON_PAPER)
    return bool(near) and getattr(near[0].row, "value", "") in ("jacket", "inner", "label")


def _borne_by_the_label(draft: Draft, h: Hit) -> bool:
    """'The label has a K stamped on it': a letter that the sentence begins to tell of the paper."""
    letters = draft.a.text[draft.a.toks[h.i][0] : draft.a.toks[h.j - 1][1]]
    if len(letters) > _FEW_LETTERS or not letters.isupper():
        return False
    near = draft.parts(draft.a.sentence(draft.a.toks[h.i][0])[0], draft.a.toks[h.i][0], "label", "jacket", "deadwax")
    if not near or near[-1][1] == "deadwax":
        return False
    between = draft.a.words[near[-1][0].j : h.i]
    small = draft.a.index.small
    return len(between) <= _ON_PAPER and all(map(str.isalpha, between)) and not small["finite"].isdisjoint(between)


_FAR = 400
"""Characters of a long sentence that are looked at before and behind a word."""


def _on_a_named_label(draft: Draft, h: Hit) -> bool:
    """'The label has a K stamped on it with a rubber stamp': the only word of the run-out is the stamping itself."""
    at = draft.a.toks[h.i][0]
    a, b = draft.a.sentence(at)
    a, b = max(a, at - _FAR), min(b, at + _FAR)
    made = [o for o in draft.a.within("term", a, b) if getattr(o.row, "feature", "") == "deadwax.lettering"]
    wax = [p for p, _ in draft.parts(a, b, "deadwax") if not any(o.i <= p.i < o.j for o in made)]
    return not wax and bool(draft.parts(a, draft.a.toks[h.i][0], "label", "jacket"))


_SIGNS = ("deadwax.plant_mark", "deadwax.mastering_mark")
_FEW_LETTERS = 3


def _paper_behind(draft: Draft, h: Hit) -> bool:
    """'Somebody's initials on the back cover': the words themselves end in 'on', and what follows is no run-out."""
    behind = next(iter(draft.a.of("part", h.j - 1, h.j + 3)), None)
    return behind is not None and getattr(behind.row, "value", "") in ("jacket", "inner", "label")


_ON_PAPER = 4
"""So many words may stand between letters and 'on', and between 'on' and the sleeve."""


def _beside_a_name(draft: Draft, h: Hit) -> bool:
    """Whether the next word, or the one before inside the sentence, has a capital of its own and is no abbreviation."""
    text, toks = draft.a.text, draft.a.toks
    if draft.a.text[toks[h.i][0] : toks[h.j - 1][1]].isupper():
        return False
    for n in (h.j, h.i - 1):
        if 0 <= n < len(toks):
            if n == h.j and n + 1 < len(toks) and _joins_names(draft, n):  # 'Bell & Harrow'
                n += 1
            word = text[toks[n][0] : toks[n][1]]
            gap = text[toks[min(n, h.i)][1] : toks[max(n, h.j - 1)][0]] if n < h.i else ""
            apart = gap.strip() or "\n" in gap
            if word[:1].isupper() and not word.isupper() and len(word) > 2 and not apart and not _known(draft, n):
                return True
    return False


def _joins_names(draft: Draft, n: int) -> bool:
    """Whether token n ties two names together: no sign or line ends between it and its neighbours."""
    a = draft.a
    tie = a.words[n] == "&" or (a.words[n].isalpha() and a.words[n] in a.index.small["list_and"])
    return tie and "\n" not in a.folded[a.toks[n - 1][1] : a.toks[n + 1][0]]


def _known(draft: Draft, n: int) -> bool:
    """Whether a word is one of the trade's."""
    return any(bool(draft.a.of(kind, n, n + 1)) for kind in ("term", "part", "side", "colour"))


def _term(draft: Draft, h: Hit) -> None:
    row = h.row
    assert isinstance(row, Term)
    start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
    if _of_a_name(draft, h):
        return
    feature = row.feature
    if row.kind == "address":
        if (
            row.value is not None
            and draft.a.segment(start).kind == "title"
            and _beside_a_name(draft, h)
            and not draft.parts(*draft.a.sentence(start), "label")
        ):
            return  # 'The Mill Street Steppers'
        part, _ = draft.a.carrier(start, end)
        feature = "jacket.address" if part == "jacket" else feature
    if feature in _BY_THE_WAY and any(o.j >= h.i for o in draft.a.of(_WHAT_IS_THERE, h.i - 4, h.i + 1)):
        return  # 'What is scratched in there I can't read'
    said = draft.a.assertion(start, end)
    if shape_of(h) and _cue_between(draft, h):
        # 'The inner is not the original one': what stands between the words of a shape reaches the last of them.
        last = min((o.i for o in parts_of(draft.a, h) if o.j == h.j), default=h.j - 1)
        said = draft.a.assertion(draft.a.toks[last][0], end)
    if row.kind == "address_noun":
        told = _address(draft, h)
        if said.polarity == "absent" and not draft.a.of(_POST_CODE, h.i, h.j) and _another_is_told(draft, h):
            return
        where = _told_where(draft, h) or _stands_on(draft, h)
        if told is None or (said.polarity == "present" and said.certainty != "unknown" and not where):
            return
        feature = told
    if row.kind == "design" or (feature == "deadwax.plant_mark" and in_a_name(draft, h)):
        return
    if feature == "deadwax.mastering_mark" and _on_paper(draft, h):
        return
    if feature in _SIGNS and _borne_by_the_label(draft, h):
        return
    value = draft.a.folded[start:end].lower() if row.said else row.value
    written = feature == "condition.defects" and row.value in _values(draft.lexicon, "written_fault")
    # A lone word ('initials') is of the run-out itself; 'some marks' are of what stands beside them.
    in_wax = written and draft.a.carrier(start, end, outside=h.j - h.i > 1)[0] == "deadwax"
    if in_wax and not _on_a_named_label(draft, h) and not _paper_behind(draft, h):
        return  # what is written into the run-out is no fault
    code = _CODE_BEHIND.match(draft.a.folded, end) if row.kind == "address_noun" else None
    if code:  # 'the postcode M4 7DN'
        end = code.end()
        value = draft.a.text[start:end]
    put_off = said.deferred and feature != "terms.photos"
    if row.kind == "carrier" or (row.kind in ("mention", "topic") and said.certainty != "unknown" and not put_off):
        return
    if row.polarity == "absent":
        said = replace(said, polarity="present", certainty="certain" if said.certainty == "unknown" else said.certainty)
    sign = feature == "deadwax.plant_mark" or (feature == "deadwax.mastering_mark" and draft.a.tongue is not None)
    if sign and (row.value is not None or draft.a.tongue) and said.status == "affirmed" and _naive(draft, h):
        said = replace(said, status="possible", certainty="hedged")
    if row.kind == "searched" and said.certainty == "certain":  # 'nothing else that I noticed'
        said = replace(said, certainty="hedged", status="possible")
    if row.kind == "ignorance":
        said = Assertion("possible", "present", "unknown", "seller", "this_copy", False, said.cues)
    if row.kind == "assured":  # 'if you are not happy, your money back': neither the 'if' nor the 'not' is of the terms
        said = replace(PLAIN, cues=tuple(c for c in said.cues if c.kind == "hearsay"))
    if feature.startswith(SIDED) and (turns := _answered_in_turn(draft, start)):
        for side, at, to, how in turns:  # 'Deep groove? On side one yes, on two no.'
            own = replace(PLAIN, polarity="absent" if how == "absent" else "present", certainty=how_sure(how))
            draft.add(feature, at, to, own, own.polarity, row.value, h, side=side)
        return
    answered = asked(draft, start, end, said)
    if answered is None:
        return
    said = answered
    polarity: Polarity = row.polarity if said.polarity == "present" else "absent"
    if (
        feature.startswith("terms.")
        and said.certainty == "hedged"
        and all(c.kind != "hedge" or c.quote == "?" for c in said.cues)
        and not _asks(draft, start)
    ):
        said = replace(said, certainty="certain", status="affirmed" if said.polarity == "present" else "negated")
    if said.certainty == "hedged" and feature.startswith(_PHYSICAL) and _only_kind_of(draft, said):
        said = replace(said, certainty="certain", status="affirmed" if said.polarity == "present" else "negated")
    if feature == "condition.defects" and polarity == "present" and row.value in _values(draft.lexicon, "heard"):
        late = draft.a.denied_late(end) if draft.a.tongue else None
        if late is not None and late.kind == "inaudible":  # 'Knackser sind nicht zu hören'
            polarity, said = "absent", replace(said, polarity="absent", cues=(*said.cues, late))
    if feature.startswith("terms.") and value is None and _is_heading(draft, start, end, polarity):
        return
    if feature == "terms.returns" and polarity == "present":
        a, b = draft.a.sentence(start)
        period = period_in(draft.a.folded, a, b, draft.lexicon)
        value = period[0] if period else value
    if feature == "condition.play_tested" and said.polarity == "absent" and row.polarity == "present":
        value = "visual only"
    if feature.startswith("format.") and polarity == "absent" and _of_the_terms(draft, h, said):
        return  # 'no refunds on 45s'
    if feature == "edition.country" and polarity == "absent" and shape_of(h) == _COUNTRYS_ORIGINAL:
        return  # 'not the Jamaican original': that it is not the original says nothing of its country
    if feature == "condition.defects" and said.certainty == "unknown" and _only_unread(draft, said, end):
        said = replace(said, certainty="certain", status="affirmed" if said.polarity == "present" else "negated")
    if feature == "edition.original" and said.certainty == "unknown" and draft.a.carrier(start, end)[0] == "inner":
        return  # 'the inner is plain white, whether original I cannot say'
    if feature == "edition.country" and said.certainty == "hedged" and _of_an_edition(draft, h):
        said = replace(said, certainty="certain", status="affirmed")
    if row.kind == "sealed":
        draft.add(JACKET, start, end, said, polarity, value, h)
    before = all(c.start < start for c in said.cues if c.kind == "unknown")
    if feature == "deadwax.lettering" and said.certainty == "unknown" and not before and _numbers_before(draft, h):
        said = replace(said, certainty="certain", status="affirmed")  # 'stamped numbers that I cannot read'
    if feature == "deadwax.matrix" and said.certainty == "unknown" and before and _lettering_follows(draft, h):
        said = replace(said, certainty="certain", status="affirmed")  # 'cannot tell if the numbers are stamped'
    if feature == "deadwax.matrix" and said.certainty == "hedged" and said.polarity == "present" and _made_so(draft, h):
        said = replace(said, certainty="certain", status="affirmed")  # 'the numbers look stamped': they are there
    if feature == "deadwax.matrix" and any(
        c.feature == "deadwax.matrix" for c in draft.claims.last(12) if abs(c.start - start) < 40
    ):
        return
    if row.kind == "again":
        _deny_in_part(draft, start)
    if row.said and (_told_already(draft, h) or _print_of_the_label(draft, h)):
        return
    if feature == "format.channels" and _of_the_jacket(draft, h):
        return
    if said.polarity == "present" and _left_open(draft, start, end):
        return
    pairs = sided_values(draft, end, feature) if feature.startswith(SIDED) else []
    if pairs:
        for side, at, to, how in pairs:
            own = replace(said, polarity="absent" if how == "absent" else "present", certainty=how_sure(how), cues=())
            draft.add(feature, at, to, own, own.polarity, value, h, side=side)
        return
    end = _with_answer(draft, end)
    if polarity == "present" and said.certainty == "certain" and _answered_no(draft, start, end):
        polarity, said = "absent", replace(said, polarity="absent", status="negated")
    also = (
        (*row.also, "jacket.spine")
        if feature == "condition.defects" and polarity == "present" and _on_the_spine(draft, h)
        else row.also
    )
    if row.kind == "address" and feature.endswith(".address") and _on_both(draft, start, end):
        also = ("label.address", "jacket.address")
    if polarity == "absent" and _of_the_spine(draft, h, also):
        # 'No splits to the spine': whatever is said of a spine is told of it; only its print can be lacking.
        word = next((f"{c.quote.lower()} " for c in said.cues if c.kind in NEGATIVE and c.start < start), "")
        told = word + draft.a.folded[start:end].lower()
        draft.add("jacket.spine", start, end, replace(said, polarity="present"), "present", told, h)
        if feature == "jacket.spine":
            return
        also = tuple(f for f in also if f != "jacket.spine")
    for each in dict.fromkeys((feature, *also)):
        if each != feature and polarity == "absent" and _told_in_sentence(draft, each, start):
            continue  # 'SWZ and nothing else'
        draft.add(each, start, end, said, polarity, value, h)


def _answered_in_turn(draft: Draft, start: int) -> list[tuple[Side, int, int, How]]:
    """What the sentence behind a question says of one side and of the other, if that is all it says."""
    _, b = draft.a.sentence(start)
    if not draft.a.folded[:b].rstrip().endswith("?") or draft.a.folded[b : b + 2] == "\n\n":
        return []
    first = draft.a.token(b)
    if first >= len(draft.a.toks):
        return []
    at, to = draft.a.sentence(draft.a.toks[first][0])
    return each_side(draft, at, to) if to - at < _TURNS else []


_TURNS = 80
"""So long may an answer be that tells of one side and of the other."""


def _of_the_terms(draft: Draft, h: Hit, said: Assertion) -> bool:
    """Whether what is denied is what stands between the denial and the term: the terms of sale for such records."""
    starts = [draft.a.token(c.start) for c in said.cues if c.kind in NEGATIVE and c.start < draft.a.toks[h.i][0]]
    return bool(starts) and any(
        getattr(o.row, "feature", "") == "terms.returns" and o.j < h.i for o in draft.a.of("term", max(starts), h.i)
    )


def _of_the_spine(draft: Draft, h: Hit, also: tuple[str, ...]) -> bool:
    """Whether a denial is of what is wrong with the spine, or of how it is."""
    if not isinstance(h.row, Term):
        return False
    if h.row.feature == "condition.defects" and h.row.value in _values(draft.lexicon, "written_fault"):
        return False  # 'no writing along the spine'
    if shape_of(h) == _SPINE_STATE or "jacket.spine" in also:
        return True
    return h.row.feature == "condition.defects" and _on_the_spine(draft, h)


_SPINE_STATE = "state of the spine"
"""The shape that reads how a spine is."""


def _of_the_jacket(draft: Draft, h: Hit) -> bool:
    """'The cover says stereo, what's inside is mono': the disc counts where another is said of it."""
    row, (a, b) = h.row, draft.a.sentence(draft.a.toks[h.i][0])
    others = [
        o
        for o in draft.a.within("term", a, b)
        if isinstance(o.row, Term)
        and isinstance(row, Term)
        and o.row.feature == row.feature
        and o.row.value is not None
        and o.row.value != row.value
    ]
    if not others:
        return False
    words = draft.a.words
    near = [
        p
        for p, _ in draft.parts(a, b, "jacket")
        if (0 <= h.i - p.j <= _ON_IT and "," not in words[p.j : h.i])
        or (0 <= p.i - h.j <= _ON_IT and "," not in words[h.j : p.i])
    ]
    return any(all(not (p.j <= o.i < h.i or h.j <= o.i < p.i) for o in others) for p in near) and not any(
        0 <= h.i - p.j <= 1 for p, _ in draft.parts(a, b, "disc", "label")
    )


_ON_IT = 3
"""Tokens between the jacket and what it says."""


def _on_both(draft: Draft, start: int, end: int) -> bool:
    """Whether label and cover are named in one breath as what bears an address ('both jacket and labels have …')."""
    parts = draft.parts(*draft.a.sentence(start), "label", "jacket")
    clear = [p for p in pairwise(parts) if p[0][1] != p[1][1] and p[1][0].i - p[0][0].j in (1, 2)]
    return any(
        any(draft.a.of("joiner", one.j, one.j + 1))
        and not any(one.j <= draft.a.token(at) < two.i for at in (start, end))
        for (one, _), (two, _) in clear
    )


def _asks(draft: Draft, at: int) -> bool:
    """Whether the sentence begins as a question does ('Would I take it back?')."""
    first = draft.a.token(draft.a.sentence(at)[0])
    return bool(draft.a.of("inversion", first, first + 1))


_PHYSICAL = ("label.deep_groove", "jacket.", "disc.rim")


def _cue_between(draft: Draft, h: Hit) -> bool:
    """Whether a denial or doubt stands between the words of a shape, and is not itself one of them ('not readable').

    Or a turn to this copy: 'unlike the orange label it has a groove'.
    """
    words = parts_of(draft.a, h)
    return bool(draft.a.of("this_copy", h.i + 1, h.j - 1)) or any(
        not any((o.i <= c.i and c.j <= o.j) or o.i < c.i < o.j for o in words)  # 'heavier than the reissue'
        for c in draft.a.of("cue", h.i + 1, h.j - 1)
    )


def _only_kind_of(draft: Draft, said: Assertion) -> bool:
    """Whether the only doubt is 'a kind of': a layman's word for a thing that is plainly there."""
    hedges = [c for c in said.cues if c.kind in ("hedge", "search", "approx")]
    kind_of = draft.lexicon.tongue(draft.a.tongue)[2] if draft.a.tongue else ()
    forms = {f for w in kind_of if w.kind == "kind_of" for f in w.forms}
    return bool(hedges) and all(" ".join(c.quote.lower().split()) in forms for c in hedges)


def _told_in_sentence(draft: Draft, feature: str, at: int) -> bool:
    """Whether the sentence has named the feature before."""
    a, _ = draft.a.sentence(at)
    return any(c.feature == feature and c.polarity == "present" for c in draft.claims.begun(a, at))


def _of_an_edition(draft: Draft, h: Hit) -> bool:
    """'Seems a US first pressing': what is doubtful is the edition; that the copy is American is taken for granted."""
    return any(
        isinstance(o.row, Term) and o.row.feature in ("edition.first_pressing", "edition.original") and o.j >= h.i - 1
        for o in draft.a.of("term", h.i - 5, h.j + 2)
    )


def _told_already(draft: Draft, h: Hit) -> bool:
    """'His signature, in ink': two words for one thing wrong, close together."""
    row = h.row
    assert isinstance(row, Term)
    first = bisect_left(draft.terms, h.i - WIDEST, key=begins)
    last = bisect_left(draft.terms, h.i + 1, first, key=begins)
    near = [o for o in draft.terms[first:last] if 0 < h.i - o.j + 1 <= 3 and isinstance(o.row, Term)]
    return any(
        o.row.feature == row.feature and o.row.value == row.value and o.row.said
        for o in near
        if isinstance(o.row, Term)
    )


def _of_a_name(draft: Draft, h: Hit) -> bool:
    """'Strand plays Liszt': in a title, a verb of playing with a name behind it is the music."""
    row, start = h.row, draft.a.toks[h.i][0]
    if not isinstance(row, Term) or row.feature != "condition.play_tested" or h.j >= len(draft.a.toks):
        return False
    if draft.a.segment(start).kind != "title":
        return False
    nxt = draft.a.toks[h.j][0]
    if draft.a.of(f"{CLASS}the", h.j, h.j + 1):
        return True  # 'Strand plays the Partitas'
    return draft.a.text[nxt].isupper()


def _naive(draft: Draft, h: Hit) -> bool:
    """'A funny little acorn', 'an acorn near the hole': told as something found, not as the mark it is known to be."""
    # Who says 'run-out' or 'matrix' in his own language knows what he is looking at.
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    if (
        draft.a.all_of("trade_wax")
        or draft.asked_of_the_wax(draft.a.toks[h.i][0])
        or not draft.a.of("indefinite", h.i - 5, h.i)
    ):
        return False
    # Romance languages put their adjectives last ('un símbolo raro').
    beside = draft.a.of("naive", h.i - 5, h.i) or (draft.a.tongue and draft.a.of("naive", h.j, h.j + 2))
    return bool(beside or (draft.a.of("indefinite", h.i - 2, h.i) and draft.a.within("lay_wax", a, b)))
