"""Grades, alone and in pairs, and what each of them is the grade of."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING

from sayso.claims.draft import JACKET, RECORD
from sayso.claims.index import CLASS, Hit
from sayso.claims.spelling import bare
from sayso.claims.tokens import fold, spans
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Term
from sayso.model import ASPECT, Cue, Polarity

if TYPE_CHECKING:
    from sayso.claims.analysis import Assertion
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon

_SLASH = re.compile(r"\s*[/|]\s*")
_PAIR = re.compile(r"\s*[/|]\s*|\s+|\s+-\s+")
_BESIDE = 14
"""Characters between a noun and its grade that still let them stand together."""


@dataclass(frozen=True)
class _Mark:
    """A grade in the text: symbol or word, and what it belongs to."""

    start: int
    end: int
    text: str
    word: bool
    weak: bool
    """A sign that also means something else ('ex', a lone letter): a grade only beside its noun or in a pair."""


def _spaced(form: str) -> str:
    """A form as an expression that bears several blanks between its words."""
    return re.escape(form).replace("\\ ", r"\s+")


@lru_cache(maxsize=32)
def _figures(lexicon: Lexicon, tongue: str) -> re.Pattern[str] | None:
    """The grades of a country's own scales behind a noun: marks and letters directly, words also behind small words."""
    rows = (*lexicon.tongue(tongue)[2], *(w for w in lexicon.words if w.kind in ("grade_figure", "grade_link")))
    forms = sorted({f for w in rows if w.kind == "grade_figure" for f in w.forms}, key=lambda f: (-len(f), f))
    if not forms:
        return None
    links = "|".join(
        sorted({_spaced(f) for w in rows if w.kind == "grade_link" for f in w.forms}, key=len, reverse=True)
    )
    marks = "|".join(_spaced(f) for f in forms if len(f) <= _MARK)
    words = "|".join(_spaced(w) for f in forms if len(f) > _MARK for w in dict.fromkeys((f, bare(f))))
    behind = rf"|\s+(?:(?:{links})\s+){{1,4}}(?P<linked>(?i:{words}))" if links else ""
    own = "|".join(x for x in (marks, rf"(?i:{words})" if words else "") if x)
    return re.compile(rf"(?:\s*(?:(:|は)|-(?=\s))?\s*(?P<own>{own}){behind})(?![\w+/-])")


_ENDS = re.compile(r"[ \t]*(?:,|\n|$)")
_MARK = 3
"""A grade of at most so many letters is a mark and no word."""
_SCHOOL = re.compile(r"(?<![\w+/.,-])([1-6][+-]?(?:-[1-6])?)\s?/\s?([1-6][+-]?(?:-[1-6])?)(?![\w+/.-])")


_WORD_BEHIND = re.compile(r"\.?[ \t]*[^\W\d_]")


def read_own_scales(draft: Draft) -> None:
    """'Platte: 2+', 'Vinile: 8/10', '盤質:A-', 'disque en très bon état': grades that count only behind their noun."""
    pattern = _figures(draft.lexicon, draft.a.tongue or "")
    if pattern is None:
        return
    parts = draft.parts(0, len(draft.a.folded), "disc", "jacket")
    for n, (part, of) in enumerate(parts):
        m = pattern.match(draft.a.folded, draft.a.toks[part.j - 1][1])
        if m is None:
            _same_again(draft, part, of)
            m = _behind_comma(draft, pattern, part)
        if m is None:
            continue
        name = "own" if m.group("own") else "linked"
        start, end = m.span(name)
        if m.group(name).isdigit() and not m.group(1) and not _both_in_figures(draft, pattern, parts, n):
            continue
        if end - start == 1 and m.group(name).islower() and _WORD_BEHIND.match(draft.a.folded, end):
            continue  # 'Platte m. Haarlinien': a word cut short
        if any(c.feature in (RECORD, JACKET) for c in draft.claims.touching(start, end)):
            continue
        opens = _BRACKET.match(draft.a.folded, end)
        if opens and any(c.feature in (RECORD, JACKET) for c in draft.claims.begun(opens.end(), opens.end() + 1)):
            continue  # 'vinilo en muy buen estado (VG+)': the grade says in short what the words say
        said = draft.a.assertion(start, end)
        whole = [of, *(o for p, o in parts[max(n - 1, 0) : n] if o != of and _joined(draft, p, part))]
        for each in whole:  # 'disque et pochette comme neufs'
            feature = RECORD if each == "disc" else JACKET
            draft.add(feature, start, end, said, "present", draft.a.text[start:end], None, rule="scale")
    _opening_words(draft)
    _school_marks(draft)


@lru_cache(maxsize=32)
def _openers(lexicon: Lexicon, tongue: str) -> re.Pattern[str] | None:
    forms = {w for r in lexicon.tongue(tongue)[2] if r.kind == "grade_alone" for f in r.forms for w in (f, bare(f))}
    if not forms:
        return None
    either = "|".join(_spaced(f) for f in sorted(forms, key=lambda f: (-len(f), f)))
    return re.compile(rf"(?i:{either})(?:\s+(?:plus|minus|moins|min))?(?=\s*[.,;!(\n]|$)")


def _opening_words(draft: Draft) -> None:
    """'Comme neuf, joué deux fois': a grade in words that opens a sentence and names no part is the record's."""
    pattern = _openers(draft.lexicon, draft.a.tongue or "")
    if pattern is None or any(c.feature == RECORD for c in draft.claims):
        return
    for a, b in draft.a.sentences:
        begin = a + len(draft.a.folded[a:b]) - len(draft.a.folded[a:b].lstrip())
        m = pattern.match(draft.a.folded, begin, b)
        if m is not None and draft.claiming(begin):
            said = draft.a.assertion(begin, m.end())
            draft.add(RECORD, begin, m.end(), said, "present", m.group(), None, rule="scale")
            return


def _behind_comma(draft: Draft, pattern: re.Pattern[str], part: Hit) -> re.Match[str] | None:
    """'Hülle: Klappcover, 2+': a grade among what a key is given."""
    at, end = draft.a.toks[part.j - 1][1], draft.a.line(draft.a.toks[part.i][0])[1]
    if draft.a.folded[at : at + 1] != ":":
        return None
    while (comma := draft.a.folded.find(",", at, end)) >= 0:
        at = comma + 1
        m = pattern.match(draft.a.folded, at, end)
        mark = m.group("own") if m else None
        if m and mark and len(mark) <= _MARK and not mark.isdigit() and _ENDS.match(draft.a.folded, m.end()):
            return m
    return None


def _alike(draft: Draft, part: Hit) -> tuple[list[Hit], list[Hit]]:
    """Words before a noun, and behind it, that give it the grade told just before ('and so is the sleeve')."""
    again = draft.a.of("grade_same", part.j, part.j + 1)
    again = [h for h in again if h.j >= len(draft.a.words) or not draft.a.words[h.j][:1].isalnum()]
    before = [h for h in draft.a.of("grade_same_before", part.i - _SIDE_BY_SIDE, part.i) if h.j == part.i]
    return before, again


def _graded_alike(draft: Draft, part: Hit) -> bool:
    """'VG+ and the jacket similar': whether the noun behind a grade is only likened to what has it."""
    before, again = _alike(draft, part)
    return bool(before or again)


def _same_again(draft: Draft, part: Hit, of: str) -> None:
    """'Vinyl EX, Cover ebenso': the other half of the copy has the grade that stands just before."""
    before, again = _alike(draft, part)
    if not again and not before:
        return
    feature, other = (RECORD, JACKET) if of == "disc" else (JACKET, RECORD)
    first, last = min(h.i for h in (part, *before)), max(h.j for h in (part, *again))
    start, end = draft.a.toks[first][0], draft.a.toks[last - 1][1]
    line, _ = draft.a.line(start)
    told = [c for c in draft.claims if c.feature == other and line <= c.start < start]
    if told and not any(c.feature == feature for c in draft.claims):
        said = replace(draft.a.assertion(start, end), certainty=told[-1].certainty)
        draft.add(feature, start, end, said, "present", str(told[-1].value), None, rule="scale")


def _joined(draft: Draft, one: Hit, other: Hit) -> bool:
    """Whether two nouns stand side by side, with only an 'and' between."""
    between = range(one.j, other.i)
    joiners = {n for h in draft.a.of("joiner", one.j, other.i) for n in range(h.i, h.j)}
    return 0 < len(between) <= 2 and bool(joiners) and all(n in joiners or n == other.i - 1 for n in between)


def _both_in_figures(draft: Draft, pattern: re.Pattern[str], parts: list[tuple[Hit, str]], n: int) -> bool:
    """'Plaat 8, hoes 7': a bare figure is a grade where the other half of the copy has one too."""
    near = [parts[k] for k in (n - 1, n + 1) if 0 <= k < len(parts) and parts[k][1] != parts[n][1]]
    for other, _ in near:
        m = pattern.match(draft.a.folded, draft.a.toks[other.j - 1][1])
        if m is not None and (m.group("own") or "").isdigit() and abs(other.i - parts[n][0].i) <= _SIDE_BY_SIDE:
            return True
    return False


_SIDE_BY_SIDE = 4
"""Tokens from one noun with its figure to the other one."""


def _school_marks(draft: Draft) -> None:
    """'2-/3': a pair of German school marks, told from other figures by a plus or minus."""
    if not any(w.kind == "school_marks" for w in draft.lexicon.tongue(draft.a.tongue or "")[2]):
        return
    order, _ = _declared(draft)
    for m in _SCHOOL.finditer(draft.a.folded):
        graded = any(c.feature in (RECORD, JACKET) for c in draft.claims)
        if graded or not draft.claiming(m.start()) or not any(c in "+-" for c in m.group()):
            continue
        for feature, group in zip(order, (1, 2), strict=True):
            start, end = m.span(group)
            draft.add(feature, start, end, draft.a.assertion(start, end), "present", m.group(group), None, rule="scale")


@lru_cache(maxsize=8)
def _grades(lexicon: Lexicon) -> tuple[re.Pattern[str], frozenset[str]]:
    """The grades as one expression, and the words with which they begin."""

    def forms(kind: str) -> list[str]:
        found = {f for w in lexicon.words if w.kind == kind for f in w.forms}
        return sorted(found, key=lambda f: (-len(f), f))

    symbols, words = forms("grade"), forms("grade_word")
    firsts = frozenset(fold(f)[a:b].lower() for f in (*symbols, *words) for a, b in spans(fold(f))[:1])
    pattern = re.compile(
        rf"(?<![A-Za-zÀ-ɏ0-9_+'-])(?:(?P<s>(?:{'|'.join(symbols)})(?:\s?\+\+|\s?\+|-(?!\w))?)(?![A-Za-zÀ-ɏ0-9_'&])"
        rf"|(?<![A-Za-zÀ-ɏ0-9_])(?P<w>(?i:{'|'.join(words)}))(?![A-Za-zÀ-ɏ0-9_]))"
    )
    return pattern, firsts


def _found(draft: Draft) -> Iterator[re.Match[str]]:
    """All grades of the text, from left to right."""
    pattern, firsts = _grades(draft.lexicon)
    a = draft.a
    if not a.folded.isascii():
        yield from pattern.finditer(a.folded)
        return
    # In plain text a grade begins where a word does, or within letters parted by full stops.
    done = 0
    for (start, end), word in zip(a.toks, a.words, strict=True):
        if word in firsts or (word[1:2] == "." and end - start > 2):
            for at in range(start, end, 2) if word not in firsts else (start,):
                m = pattern.match(a.folded, at) if at >= done else None
                if m is not None:
                    yield m
                    done = m.end()


def _explained(draft: Draft) -> re.Pattern[str]:
    """What stands behind a grade that is only explained ('VG means very good', 'NM = near mint')."""
    return _explaining(draft.lexicon)


@lru_cache(maxsize=8)
def _explaining(lexicon: Lexicon) -> re.Pattern[str]:
    forms = [re.escape(f) for w in lexicon.words if w.kind == "explains" for f in w.forms]
    return re.compile(rf"\s*(?:{'|'.join(forms)})(?!\w)", re.I)


@lru_cache(maxsize=8)
def _weak(lexicon: Lexicon, *, foreign: bool = False) -> frozenset[str]:
    """Signs that also mean something else; with those that are grades in other languages alone ('MB')."""
    kinds = ("grade_weak", "grade_abroad") if foreign else ("grade_weak",)
    return frozenset(f for w in lexicon.words if w.kind in kinds for f in w.forms)


def read_grades(draft: Draft) -> None:
    """Every grade as a claim of the record or of its jacket."""
    weak = _weak(draft.lexicon, foreign=draft.a.tongue is None)
    explained = _explained(draft)
    numbered = frozenset(_LETTERS_OF.findall(draft.a.folded))
    marks = [
        _Mark(m.start(), m.end(), m.group(), bool(m.group("w")), len(m.group()) == 1 or m.group() in weak)
        for m in _found(draft)
        if not explained.match(draft.a.folded, m.end())
        if draft.claiming(m.start()) and not (m.group("s") and _begins_a_number(draft, m, numbered))
    ]
    known = _letters(draft.lexicon)
    marks = [
        m
        for m, nxt in zip_longest(marks, marks[1:])
        # In 'S VG / V EX' the V stands for the vinyl and is no grade.
        if m is not None and not (nxt and m.text in known and not draft.a.folded[m.end : nxt.start].strip(" :="))
    ]
    if not marks:
        return
    order, told_at = _declared(draft)
    after = 0
    for n, m in enumerate(marks):
        if n < after:
            continue
        after = _glossed(draft, marks, n)
        before = marks[n - 1].end if n else 0
        nxt = marks[n + 1] if n + 1 < len(marks) else None
        if _of_an_extra(draft, m):
            continue
        spine = _spine_beside(draft, m)
        if spine is not None:  # 'Spine: EX', which is no grade of the record
            said = draft.a.assertion(m.start, m.end)
            draft.add(
                "jacket.spine", spine, m.end, said, "present", draft.a.folded[m.start : m.end], None, rule="grade"
            )
            continue
        if m.word and _no_grade(draft, m):
            continue
        lettered = _by_letters(draft, m, nxt) if nxt else None
        if nxt and lettered:
            for feature, g in zip(lettered, (m, nxt), strict=True):
                _grade(draft, feature, g.start, g.end)  # 'V EX- / S VG+'
            after = n + 2
            continue
        part = _part(draft, m, before, nxt.start if nxt else None)
        gap = draft.a.folded[m.end : nxt.start] if nxt else ""
        if nxt and not m.word and not nxt.word and _to(draft, m.end, nxt.start):
            feature = JACKET if part and part[0] == "jacket" else RECORD
            _grade(draft, feature, m.start, nxt.end)  # 'VG to VG+'
            after = n + 2
            continue
        if nxt and not (part and part[1]) and not m.word and not nxt.word and _nothing_else(draft, m, nxt):
            for feature, g in zip(order, (m, nxt), strict=True):
                _grade(draft, feature, g.start, g.end)  # 'EX- and VG+.'
            after = n + 2
            continue
        slash = bool(_SLASH.fullmatch(gap))
        if nxt and not m.word and not nxt.word and (slash or not (m.weak or nxt.weak)) and _PAIR.fullmatch(gap):
            if 0 <= m.start - told_at <= 3:
                part = None  # 'Disc / sleeve: VG++ / VG': both nouns stand before
            close = _noun_beside(draft, m.start)
            if slash and part and part[1] and close and (part[0] == "jacket" or _graded_elsewhere(draft, marks, n)):
                _grade(draft, JACKET if part[0] == "jacket" else RECORD, m.start, nxt.end)
                after = n + 2
                continue
            if slash or part is None or not part[1]:
                own = _part(draft, nxt, m.end, None)
                if not (own and own[1] and own[2] and not slash):
                    for feature, g in zip(order, (m, nxt), strict=True):
                        _grade(draft, feature, g.start, g.end)
                    after = n + 2
                    continue
        if m.word and (not _bare_word(draft, m, part) or _an_event(draft, m)):
            continue
        alone = m.weak and (_spelt(draft, m) or not ((part and part[1]) or _in_item(draft, m)))
        if alone and not _without_a_jacket(draft, m):
            continue
        whole = _both_named(draft, m, before) or _of_all(draft, m)
        for feature in whole or (JACKET if part and part[0] == "jacket" else RECORD,):
            _grade(draft, feature, m.start, m.end)


def _no_grade(draft: Draft, m: _Mark) -> bool:
    """'At the record fair': the word is that of something else."""
    i = draft.a.token(m.start)
    return any(h.i <= i < h.j for h in draft.a.of(f"{CLASS}no grade", i - 2, i + 1))


_LETTER_BEFORE = re.compile(r"(?<![\w/])([A-Z])[ :=]{1,2}$")
_LETTER_BETWEEN = re.compile(r"\s?[/,;|-]?\s?([A-Z])[ :=]{1,2}")


@of_lexicon
def _letters(lexicon: Lexicon) -> dict[str, str]:
    """What single letters stand for before grades: the record or its jacket."""
    return {f: w.value or "" for w in lexicon.words if w.kind == "grade_letter" for f in w.forms}


def _by_letters(draft: Draft, m: _Mark, nxt: _Mark) -> tuple[str, str] | None:
    """Whose two grades are, where a letter stands before each ('V EX- / S VG+')."""
    one = _LETTER_BEFORE.search(draft.a.folded, max(m.start - 4, 0), m.start)
    other = _LETTER_BETWEEN.fullmatch(draft.a.folded, m.end, nxt.start)
    if one is None or other is None:
        return None
    known = _letters(draft.lexicon)
    whose = known.get(one.group(1)), known.get(other.group(1))
    if whose == ("disc", "jacket"):
        return RECORD, JACKET
    return (JACKET, RECORD) if whose == ("jacket", "disc") else None


_BRACKET = re.compile(r"\s?\(\s?")
_SLASHED = re.compile(r"\s?/\s?")


def _without_a_jacket(draft: Draft, m: _Mark) -> bool:
    """'G/no sleeve': the letter is the record's grade, since the jacket's place beside it is taken."""
    slash = _SLASHED.match(draft.a.folded, m.end)
    if slash is None:
        return False
    i = draft.a.token(slash.end())
    return any(
        isinstance(h.row, Term) and h.row.feature == JACKET and h.row.polarity == "absent"
        for h in draft.a.of("term", i, i + 1)
    )


_EXTRA = f"{CLASS}goes with it"
"""What goes with a record and has a grade of its own."""


def _of_an_extra(draft: Draft, m: _Mark) -> bool:
    """'Inner: original, VG', 'insert EX': a grade of what goes with the record is none of the record."""
    i, key = draft.a.token(m.start), draft.a.key(m.start)
    if key is not None and draft.a.within(_EXTRA, *key) and not draft.parts(key[0], m.start, "disc", "jacket"):
        return True
    return any(h.j == i or (i - h.j <= _LINKS and _linked(draft, h, m.start)) for h in draft.a.of(_EXTRA, i - 4, i))


def _spine_beside(draft: Draft, m: _Mark) -> int | None:
    """Where a word for the spine begins that stands right before a grade; null without one."""
    i = draft.a.token(m.start)
    for h in draft.a.of("term", i - 4, i):
        named = isinstance(h.row, Term) and h.row.feature == "jacket.spine" and h.row.kind in ("topic", "carrier")
        if named and (h.j == i or (_linked(draft, h, m.start) and i - h.j <= _LINKS)):
            return draft.a.toks[h.i][0]
    return None


_LINKS = 2
"""Tokens between the spine and its grade."""


def _noun_beside(draft: Draft, at: int) -> bool:
    """Whether the record or its jacket is named right before, without a comma ('on the back, NM/NM' is a pair)."""
    named = draft.parts(max(draft.a.line(at)[0], at - TOPIC), at, "disc", "jacket")
    return bool(named) and "," not in draft.a.folded[draft.a.toks[named[-1][0].j - 1][1] : at]


def _begins_a_number(draft: Draft, m: re.Match[str], numbered: frozenset[str]) -> bool:
    """'TB 33-107', 'TB 3004', and TB wherever it stands beside such: letters of a number, and no grade."""
    return bool(_NUMBERED.match(draft.a.folded, m.end())) or m.group() in numbered


_LETTERS_OF = re.compile(
    r"(?<![\w-])([^\W\d_]{2,})(?:-\d{2}| {1,3}(?!(?:19|20)\d\d(?!\d))\d{3,5}(?![\d.,]|\s?[a-z%$£€\"]))"
)
"""Letters before a hyphen and figures, or before a long number that is no year."""
_NUMBERED = re.compile(r" ?-?\d{1,5}-\d|-\d{2}")


def _glossed(draft: Draft, marks: list[_Mark], n: int) -> int:
    """The next grade to read: 'Very Good Plus (VG+)' and 'Near Mint (NM or M-)' say one grade twice."""
    text = draft.a.folded
    if not marks[n].word or text[marks[n].end : marks[n].end + 2] != " (":
        return n + 1
    close = text.find(")", marks[n].end, marks[n].end + _GLOSS)
    last = n + 1
    while last < len(marks) and marks[last].end <= close:
        last += 1
    return last


_GLOSS = 20
"""A bracket that only explains a grade closes within so many characters."""


def _both_named(draft: Draft, m: _Mark, before: int) -> tuple[str, ...]:
    """'Record and cover are both excellent': two nouns joined, the last of them linked to the grade."""
    line, _ = draft.a.line(m.start)
    parts = draft.parts(max(line, before, m.start - TOPIC), m.start, "disc", "jacket")[-2:]
    if len(parts) < 2 or parts[0][1] == parts[1][1] or not _joined(draft, parts[0][0], parts[1][0]):
        return ()
    return (RECORD, JACKET) if _linked(draft, parts[1][0], m.start) else ()


def _to(draft: Draft, start: int, end: int) -> bool:
    """Whether one word between two grades makes them a range."""
    i, j = draft.a.token(start), draft.a.token(end)
    return j == i + 1 and bool(draft.a.of("grade_to", i, j))


_AND = re.compile(r"\s*(?:,|&|and|und|et|e|y|en)\s*")


def _nothing_else(draft: Draft, one: _Mark, other: _Mark) -> bool:
    """Whether a sentence consists of two grades joined."""
    a, b = draft.a.sentence(one.start)
    return (
        bool(_AND.fullmatch(draft.a.folded, one.end, other.start))
        and not draft.a.folded[a : one.start].strip(" *-")
        and not draft.a.folded[other.end : b].strip(" .!*")
    )


def _of_all(draft: Draft, m: _Mark) -> tuple[str, ...]:
    """'VG+ across the board': a grade that is said to be of the record and its jacket."""
    i = draft.a.token(m.end)
    begin, _ = draft.a.sentence(m.start)
    first = draft.a.token(begin)
    both = any(getattr(h.row, "value", "") == "both" and h.j - h.i == 1 for h in draft.a.of("side", first, first + 1))
    alone = both and not draft.parts(begin, m.start, "disc", "jacket", "label")  # 'Both graded EX-'
    return (RECORD, JACKET) if alone or draft.a.of("grade_both", i, i + 1) else ()


def _bare_word(draft: Draft, m: _Mark, part: tuple[str, bool, bool] | None) -> bool:
    """'Mint' is a grade beside its noun, or as a sentence of its own."""
    if part and part[1]:
        return True
    a, b = draft.a.sentence(m.start)
    named = draft.a.within(f"{CLASS}grade key", a, m.start)
    led = draft.a.folded[draft.a.toks[named[0].j - 1][1] : m.start] if named else ""
    if led.strip() in (":", "=", "-") and not draft.a.folded[a : draft.a.toks[named[0].i][0]].strip(" *-"):
        a = m.start  # 'Grade: as new'
    return draft.a.folded[a:b].strip(" .!\n") == draft.a.folded[m.start : m.end] and part is None


def _an_event(draft: Draft, m: _Mark) -> bool:
    """'The chap at the record fair': where one meets is no grade."""
    i = draft.a.token(m.start)
    return any(h.i <= i < h.j for h in draft.a.of(f"{CLASS}a fair", max(i - _EVENT, 0), i + 1))


_EVENT = 5
"""So many words before its last a name for a fair may begin."""
_LONE = frozenset("mgefpv")
"""Grades of one letter."""


def _spelt(draft: Draft, m: _Mark) -> bool:
    """'M P D' are letters in the wax, not grades."""
    i = draft.a.token(m.start)
    around = [draft.a.words[n] for n in (i - 1, i + 1) if 0 <= n < len(draft.a.words)]
    if around[-1:] == ["/"] and i + 2 < len(draft.a.words):  # 'F/B', flip-back
        return m.end - m.start == 1 and len(draft.a.words[i + 2]) == 1 and draft.a.words[i + 2] not in _LONE
    return m.end - m.start == 1 and any(len(w) == 1 and w.isalpha() and w != "a" for w in around)


def _in_item(draft: Draft, m: _Mark) -> bool:
    """'B. Wexcombe 1340 - G, gold label': a lone letter between signs, in the line of one record of a lot."""
    if draft.item(m.start) is None:
        return False
    return draft.a.folded[: m.start].endswith(("- ", ", ")) and draft.a.folded[m.end : m.end + 1] in (
        "",
        ",",
        ".",
        "\n",
    )


def _graded_elsewhere(draft: Draft, marks: list[_Mark], n: int) -> bool:
    """Whether the jacket has a grade of its own, so that two grades of the disc are a range."""
    for k, m in enumerate(marks):
        if k in (n, n + 1):
            continue
        part = _part(draft, m, marks[k - 1].end if k else 0, None)
        if part and part[0] == "jacket" and part[1]:
            return True
    return False


def _declared(draft: Draft) -> tuple[tuple[str, str], int]:
    """The order of paired grades, and where the seller told it ('cover/disc', 'vinyl first, sleeve second').

    Where nothing is told: record, then cover (common practice, no source).
    """
    parts = draft.parts(0, len(draft.a.folded), "disc", "jacket")
    for (p, first), (q, second) in pairwise(parts):
        if first == second or q.i - p.j > 4:
            continue
        gap = draft.a.folded[draft.a.toks[p.j - 1][1] : draft.a.toks[q.i][0]]
        told = draft.a.of("order", p.j, q.i) or draft.a.of("order", q.j, q.j + 2)
        if _SLASH.fullmatch(gap) or (told and not any(c in gap for c in ".;:")):
            order = (JACKET, RECORD) if first == "jacket" else (RECORD, JACKET)
            return order, draft.a.toks[q.j - 1][1]
    return (RECORD, JACKET), -100


def _grade(draft: Draft, feature: str, start: int, end: int) -> None:
    said = draft.a.assertion(start, end)
    if said.certainty == "certain":
        said = _in_the_same_breath(draft, feature, start, said)
    value = re.sub(r"\s+(?=\+)|(?<=[+-])\s+(?=/)|(?<=/)\s+", "", draft.a.folded[start:end])
    polarity: Polarity = "absent" if said.polarity == "absent" and _denied(draft, said, start) else "present"
    aspect = _aspect(draft, start, end)
    if aspect is not None:
        said = replace(said, cues=(*said.cues, aspect))
    draft.add(feature, start, end, said, polarity, value, None, rule="grade")


def _in_the_same_breath(draft: Draft, feature: str, start: int, said: Assertion) -> Assertion:
    """'I'd put the record at VG+ and the jacket at VG': one verb of grading governs both, and so does its doubt."""
    begin, _ = draft.a.sentence(start)
    if draft.a.folded[:begin].endswith(";"):
        begin, _ = draft.a.sentence(begin - 1)
    graded = [c for c in draft.claims.begun(begin, start) if c.feature in (RECORD, JACKET)]
    if not graded or graded[-1].feature == feature or graded[-1].certainty != "hedged":
        return said
    last = graded[-1]
    ways = draft.a.within(_WOULD_GRADE, begin, last.start)
    cues = tuple(
        c
        for c in last.cues
        if c.kind == "hedge" and any(draft.a.toks[w.i][0] < c.end and c.start < draft.a.toks[w.j - 1][1] for w in ways)
    )
    between = draft.a.words[draft.a.token(last.end) : draft.a.token(start)]
    if not cues or not draft.a.index.small["finite"].isdisjoint(between):
        return said
    return replace(said, certainty="hedged", status="possible", cues=(*said.cues, *cues))


_WOULD_GRADE = f"{CLASS}would grade"
"""How sellers say that a grade is what they would call it."""


def _denied(draft: Draft, said: Assertion, start: int) -> bool:
    """'The sleeve is not NM': the denial stands right before the grade ('no splits, VG+' denies the splits)."""
    i = draft.a.token(start)
    return any(c.kind == "negation" and c.start < start and i - draft.a.token(c.end) <= 1 for c in said.cues)


def _aspect(draft: Draft, start: int, end: int) -> Cue | None:
    """What of the record or jacket alone the grade is of ('plays EX', 'front cover EX', 'LP 2 VG'), named beside it."""
    i, j = draft.a.token(start), draft.a.token(end - 1) + 1
    before = [h for h in draft.a.of(ASPECT, i - _NEAR_ASPECT - 2, i) if i - _NEAR_ASPECT <= h.j <= i]
    before = [h for h in before if not any(w in _APART for w in draft.a.words[h.j : i])]
    behind = draft.a.of(ASPECT, j, j + 2) if not before else []
    if not before and not behind:
        return None
    hit = before[-1] if before else behind[0]
    at, to = draft.a.toks[hit.i][0], draft.a.toks[hit.j - 1][1]
    if not before and any(c in draft.a.folded[end:at] for c in ",;.\n"):
        return None
    return Cue(kind=ASPECT, rule=str(getattr(hit.row, "value", "")), start=at, end=to, quote=draft.a.text[at:to])


_NEAR_ASPECT = 3
_APART = frozenset(",;.")


TOPIC = 600
"""So many characters back in its paragraph the noun may stand of which a grade is ('The sleeve … I'd put it at VG')."""


def _part(draft: Draft, m: _Mark, before: int, after: int | None) -> tuple[str, bool, bool] | None:
    """Record or jacket, whether the noun stands right beside the grade, and whether behind it.

    A noun on the far side of another grade belongs to that one.
    """
    line, _ = draft.a.line(m.start)
    _, close = draft.a.sentence(m.start)
    best: tuple[int, str, bool] | None = None
    lo = max(line, m.start - TOPIC)
    begin = draft.a.sentence(m.start)[0]
    # 'Je le classe VG+', 'nur optisch geprüft: M-': without a noun of its own the sentence is about the record.
    if begin > line and (
        draft.a.within("grade_pronoun", begin, m.start)
        or _played(draft, begin, m.start)
        or (not m.word and _played(draft, m.end, min(close, m.end + _BESIDE)))
    ):
        lo = begin
    named = [
        p
        for p in draft.parts(lo, min(close, m.end + 100), "disc", "jacket")
        if not _in_a_disc_fault(draft, p[0]) and not (p[0].i > draft.a.token(m.start) and _graded_alike(draft, p[0]))
    ]
    built = [h for h in draft.a.within("term", max(lo, m.start - 40), m.start) if isinstance(h.row, Term)]
    named += [(h, "jacket") for h in built if isinstance(h.row, Term) and h.row.feature == "jacket.construction"]
    for p, value in named:
        at, to = draft.a.toks[p.i][0], draft.a.toks[p.j - 1][1]
        if to <= m.start:
            between = draft.a.folded[to : m.start]
            if m.word and not _linked(draft, p, m.start):
                continue
            apart = re.search(r"[.;]\s", between) or (at < before and m.weak) or (p in built and "," in between)
            far = len(between) + (30 if apart else 0)
        elif m.end <= at < close and (after is None or at < after):
            between = draft.a.folded[m.end : at]
            if "," in between or "/" in between or (m.word and between not in (" ", " (")):
                continue
            i, j = draft.a.token(m.end), p.i
            beside = between in (" ", " (") or any(h.i == i and h.j == j for h in draft.a.of("grade_for", i, i + 1))
            far = 1 if beside else len(between) + 25
        else:
            continue
        if best is None or far < best[0]:
            best = far, value, at >= m.end
    head = _head(draft, line, m.start) if best and best[0] > _BESIDE and not best[2] and before <= line else None
    if head is not None:
        return head, False, False
    return (best[1], best[0] <= _BESIDE, best[2]) if best else None


def _in_a_disc_fault(draft: Draft, part: Hit) -> bool:
    """'Two sleeve lines': the sleeve is named in a word for what is wrong with the disc."""
    return any(h.i <= part.i < h.j for h in draft.a.of("disc_fault", part.i - 2, part.i + 1))


_OPENS = 3
"""So many words may stand before the noun that heads a line or a sentence."""


def _head(draft: Draft, line: int, at: int) -> str | None:
    """The noun that heads what is said up to here: 'Record: some marks from a dirty sleeve. VG+'."""
    a, head = draft.a, None
    for p, value in draft.parts(line, at, "disc", "jacket"):
        begin, _ = a.sentence(a.toks[p.i][0])
        if p.i - a.token(max(line, begin)) <= _OPENS:
            # 'Cover: a tear. The vinyl gave me one click.': there the next noun takes over.
            head = value if a.words[p.j : p.j + 1] == [":"] else None
    return head


def _played(draft: Draft, start: int, end: int) -> bool:
    return any(
        isinstance(h.row, Term) and h.row.feature == "condition.play_tested" for h in draft.a.within("term", start, end)
    )


def _linked(draft: Draft, noun: Hit, at: int) -> bool:
    """Whether nothing but linking words stands between a noun and the grade ('the cover is still very good')."""
    i, j = noun.j, draft.a.token(at)
    linking = {n for h in draft.a.of("linking", i, j) for n in range(h.i, h.j)}
    return all(n in linking or not draft.a.words[n][:1].isalnum() for n in range(i, j)) and not any(
        draft.a.words[n] in (".", ";", ",") for n in range(i, j)
    )
