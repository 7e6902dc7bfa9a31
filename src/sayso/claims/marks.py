"""Finds described and transcribed marks ('circled MR', 'Δ12345', 'STERLING stamp') and says whose they are.

Marks that are spelt like ordinary words or single letters are read only beside a run-out (or label) cue and in the
right case. Where several makers used one form, all are reported. Work grows with the length of the text: tokens are
looked up in a table of first tokens, and an expression is run only where a literal that it needs is in the text.
"""

from __future__ import annotations

import re
from array import array
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import chain
from typing import TYPE_CHECKING, Any

from sayso.claims.runout_text import unify, word_patterns
from sayso.claims.runout_text import words as wax_words
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.sieve import Alternatives, Sieve, plain_parts

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.marks import Mark

TOKEN = re.compile(r"[^\W\u3040-\u9fff]+|[\u3040-\u9fff]+|[^\w\s]")
"""A word, a run of Japanese signs, or one sign: '溝にJIS' holds JIS."""
PLAIN_TOKEN = re.compile(r"\w+|[^\w\s\x1c-\x1f]", re.ASCII)
"""The same for text in ASCII."""
LINE_END = re.compile(r"[\n.;!?](?=\s|$)")
NEAR = 90
"""How far from a cue, in characters and within one sentence or line, a mark may stand."""
QUOTES = frozenset("\"'“”„‘’«»")
Context = bool | Callable[[int, int], bool] | None


@dataclass(frozen=True)
class MarkHit:
    """A mark in the text: `text[start:end]`, and what it can mean.

    `marks`: ids of every maker's mark that is written so. `kind`: plant, cutting, plating or pressing-code; empty where
    the makers' marks differ in kind. `value`: the mark in a buyer's words. `gives`: what it settles where the makers
    agree. `not_before`: the year before which none of them can have been made, where that is published and safe.
    """

    start: int
    end: int
    marks: tuple[str, ...]
    kind: str
    value: str
    proves: str
    cautions: tuple[str, ...]
    gives: tuple[tuple[str, str], ...] = ()
    number: str | None = None
    not_before: int | None = None
    in_context: bool = True
    """Whether a cue says that it stands in the run-out (or, for printed marks, on the label)."""


@dataclass(frozen=True)
class Form:
    """A described form: a row of alternatives, some of which may be missing."""

    mark: str
    steps: tuple[tuple[frozenset[str], bool], ...]


FILLED = 3
"""So many small words may stand where a form has ~."""


def _form(mark: str, text: str, classes: Mapping[str, Collection[str]]) -> Form:
    """A described form: words, `[word]` that may be missing, `one|other`, `<class>` of words, `~` for small words."""
    steps: list[tuple[frozenset[str], bool]] = []
    for piece in text.split():
        if piece == "~":
            steps += [(frozenset(classes.get("filler", ())), True)] * FILLED
            continue
        optional = piece.startswith("[") and piece.endswith("]")
        inner = piece.strip("[]")
        if inner.startswith("<") and inner.endswith(">"):
            steps.append((frozenset(w.casefold() for w in classes.get(inner[1:-1], ())), optional))
            continue
        options = inner.casefold().split("|")
        # A piece such as 'F/W' is several tokens; then it has no alternatives.
        tokens = TOKEN.findall(options[0])
        if len(options) == 1 and len(tokens) > 1:
            steps += [(frozenset({t}), optional) for t in tokens]
        else:
            steps.append((frozenset(options), optional))
    return Form(mark, tuple(steps))


@dataclass(frozen=True)
class Index:
    """The forms of a lexicon, arranged for one pass over the tokens of a text."""

    says: dict[str, tuple[Form, ...]]
    letters: dict[str, tuple[tuple[str, str], ...]]
    patterns: tuple[tuple[str, tuple[tuple[str, ...], ...], re.Pattern[str]], ...]
    """Each with the sets of which the text must hold a part for it to match."""
    heads: dict[str, Head | None] = field(default_factory=dict)
    """What may begin with a word, as it is written; kept for words once met."""

    def __getstate__(self) -> dict[str, object]:
        """What is made of the lexicon, without the words met in listings."""
        return self.__dict__ | {"heads": {}}


Head = tuple[tuple[Form, ...], tuple[tuple[str, str], ...]]
KEPT = 50_000
"""At most this many words are remembered, so that memory stays flat however much is read."""


@of_lexicon
def index(lexicon: Lexicon) -> Index:
    """The index over the marks of a lexicon that are recognised by words."""
    says: dict[str, list[Form]] = defaultdict(list)
    letters: dict[str, list[tuple[str, str]]] = defaultdict(list)
    patterns: list[tuple[str, tuple[tuple[str, ...], ...], re.Pattern[str]]] = []
    table = lexicon.tables.get("mark_words")
    classes = table.entries if table else {}
    for mark in lexicon.marks.values():
        for text in mark.says:
            form = _form(mark.id, text, classes)
            # A form may be entered at any step up to and including the first that must be there.
            for at, (options, optional) in enumerate(form.steps):
                entry = Form(mark.id, form.steps[at:])
                for option in options:
                    says[option].append(entry)
                if not optional:
                    break
        for text in mark.letters:
            first = TOKEN.match(text)
            if first:
                letters[first.group()].append((text, mark.id))
        for source in mark.patterns:
            patterns.append((mark.id, plain_parts(source), re.compile(source)))
    return Index(
        {k: tuple(v) for k, v in says.items()},
        {k: tuple(sorted(v, key=lambda x: -len(x[0]))) for k, v in letters.items()},
        tuple(patterns),
    )


@of_lexicon
def _places(lexicon: Lexicon) -> tuple[Sieve, dict[str, Alternatives]]:
    """The words for the parts of a record on which marks stand, behind one sieve."""
    table = lexicon.tables.get("runout_wax")
    forms = {key: word_patterns(((key, words),)) for key, words in (table.entries if table else {}).items()}
    sieve = Sieve((p, False) for patterns in forms.values() for p in patterns)
    return sieve, {key: Alternatives(patterns, False, sieve) for key, patterns in forms.items()}


class _Cues:
    """Where the words for wax and label stand, found on first use; near means the same line or sentence."""

    def __init__(self, text: str, lexicon: Lexicon) -> None:
        self.text, self.lexicon = text, lexicon
        self._found: dict[str, list[tuple[int, int]]] = {}
        self._breaks: list[int] | None = None
        self._mask: int | None = None

    def near(self, start: int, end: int, key: str) -> bool:
        spans = self._found.get(key)
        if spans is None:
            sieve, places = _places(self.lexicon)
            if self._mask is None:
                self._mask = sieve.mask(self.text)
            spans = [m.span() for m in places[key].finditer(self.text, self._mask)] if key in places else []
            self._found[key] = spans
        if self._breaks is None:
            self._breaks = [m.start() for m in LINE_END.finditer(self.text)]
        at = bisect_left(spans, (start - NEAR, 0))
        while at < len(spans) and spans[at][0] < end + NEAR:
            low, high = min(spans[at][1], start), max(spans[at][0], end)
            left = bisect_left(self._breaks, low)
            if left == len(self._breaks) or self._breaks[left] >= high:
                return True
            at += 1
        return False


def find_marks(
    text: str,
    lexicon: Lexicon,
    context_is_runout: Context = None,
    *,
    context_is_label: Context = None,
    bare: Collection[str] = (),
) -> list[MarkHit]:
    """The marks in `text`, from left to right, without overlap.

    `context_is_runout` says whether a span stands where run-out marks are described: a fact about the whole text, a
    function of the span, or None to look for a cue in the same line or sentence. `context_is_label` says the same of
    the label. Marks whose ids are in `bare` may stand by themselves even when they are single letters. Pure.
    """
    at = index(lexicon)
    cues = _Cues(text, lexicon)

    def holds(context: Context, key: str, start: int, end: int) -> bool:
        if context is None:
            return cues.near(start, end, key)
        return context if isinstance(context, bool) else context(start, end)

    spans: dict[tuple[int, int], dict[str, str | None]] = defaultdict(dict)
    for start, end, mark_id, number in _candidates(text, lexicon, at, bare):
        spans[start, end].setdefault(mark_id, number)
    hits: list[MarkHit] = []
    reach = -1
    for (start, end), ids in sorted(spans.items(), key=lambda item: (item[0][0], -item[0][1])):
        if start < reach:
            continue
        rows = [lexicon.marks[mark_id] for mark_id in ids]
        on_label = [mark.where == "label" for mark in rows]
        wax = not all(on_label) and (_worked(text, lexicon, start, end) or holds(context_is_runout, "wax", start, end))
        printed = any(on_label) and holds(context_is_label, "label", start, end)
        kept: list[Mark] = []
        inside = False
        for mark in rows:
            here = printed if mark.where == "label" else wax
            # One or two letters are never distinctive enough to stand without a cue.
            if here or not (mark.ordinary or sum(c.isalnum() for c in text[start:end]) <= 2):
                kept.append(mark)
                inside = inside or here
        if kept:
            reach = end
            hits.append(_hit(start, end, kept, next((n for n in ids.values() if n), None), inside))
    return hits


@lru_cache(maxsize=8)
def marks_in(text: str, lexicon: Lexicon) -> tuple[MarkHit, ...]:
    """The marks in a listing, read once for claims, dating and proofs. Pure.

    One letter or sign is anybody's: it is taken for a maker's mark only where a label of that maker is named.
    """
    folded = text.casefold()
    out: list[MarkHit] = []
    for hit in find_marks(text, lexicon):
        marks = [lexicon.marks[m] for m in hit.marks]
        if hit.end - hit.start == 1:
            named = [m for m in marks if not m.labels or any(_names(folded, name) for name in m.labels)]
            if len(named) < len(marks):
                if not named:
                    continue
                hit = _hit(hit.start, hit.end, named, hit.number, hit.in_context)
        out.append(hit)
    return tuple(out)


def _names(folded: str, label: str) -> bool:
    """Whether a label is named; what stands in brackets behind its name ('Decca (US)') tells namesakes apart."""
    return re.search(rf"\b{re.escape(label.partition(' (')[0].casefold())}\b", folded) is not None


def _hit(start: int, end: int, marks: list[Mark], number: str | None, inside: bool) -> MarkHit:
    strong = [m for m in marks if not m.weak] or marks
    kinds = {m.kind for m in strong}
    shared = set(strong[0].gives.items()).intersection(*(set(m.gives.items()) for m in strong[1:]))
    floors = [m.hard_floor for m in marks]
    return MarkHit(
        start,
        end,
        tuple(m.id for m in marks),
        kinds.pop() if len(kinds) == 1 else "",
        strong[0].name,
        " or ".join(dict.fromkeys(m.proves for m in strong)),
        tuple(dict.fromkeys(m.caution for m in marks if m.caution)),
        tuple(sorted(shared)),
        number,
        min(f for f in floors if f) if all(floors) else None,
        inside,
    )


def _candidates(
    text: str, lexicon: Lexicon, at: Index, bare: Collection[str]
) -> Iterator[tuple[int, int, str, str | None]]:
    heads = at.heads
    token_of = PLAIN_TOKEN if text.isascii() else TOKEN
    words = token_of.findall(text)
    tokens: Offsets = ()
    for i, token in enumerate(words):
        head = heads.get(token, UNMET)
        if head is UNMET:
            head = _head(token, at)
        if head is None:
            continue
        forms, letters = head
        found = [(f, last) for f in forms if (last := _matches(f.steps, words, i)) is not None]
        lone = len(token) == 1 and token.isalnum() and not _may_be_framed(lexicon, words, i)
        if lone:  # what is looked for with offsets below would be turned away
            letters = tuple((w, m) for w, m in letters if len(w) > 1 or m in bare or not lexicon.marks[m].ordinary)
        if not found and not letters:
            continue
        tokens = tokens or array("L", chain.from_iterable(m.span() for m in token_of.finditer(text)))
        start = tokens[2 * i]
        for form, last in found:
            if token.isascii() or last > i or len(token) > 1:
                yield start, tokens[2 * last + 1], form.mark, None
        for written, mark_id in letters:
            end = start + len(written)
            if not text.startswith(written, start) or _joined(text, start, end):
                continue
            alone = len(written) == 1 and lexicon.marks[mark_id].ordinary and written.isalnum()
            if alone and mark_id not in bare and not _framed(text, lexicon, tokens, words, i):
                continue
            yield start, end, mark_id, None
    upper = unify(text, lexicon) if at.patterns else ""
    for mark_id, parts, pattern in at.patterns:
        if all(any(x in upper for x in choice) for choice in parts):
            for m in pattern.finditer(upper):
                if m.end() > m.start():
                    yield m.start(), m.end(), mark_id, m.groupdict().get("job")


UNMET: Any = object()
Offsets = Sequence[int]
"""Where the tokens begin and end, in turn, without a pair for each: a text may have hundreds of thousands."""


def _head(token: str, at: Index) -> Head | None:
    forms, letters = at.says.get(token.casefold(), ()), at.letters.get(token, ())
    if len(at.heads) >= KEPT:
        at.heads.clear()
    at.heads[token] = (forms, letters) if forms or letters else None
    return at.heads[token]


def _joined(text: str, start: int, end: int) -> bool:
    """Whether the letters are part of a longer word or number."""
    before, after = text[start - 1 : start], text[end : end + 1]
    first, last = text[start], text[end - 1]
    if (first.isalnum() and _spells(before)) or (last.isalnum() and _spells(after)):
        return True
    # '-A', 'A-2', 'B/1' and '12.P' are parts of numbers.
    if before and before in "-/.&'’" and text[start - 2 : start - 1].isalnum():
        return True
    return bool(after and after in "-/&'’" and text[end + 1 : end + 2].isalnum())


def _spells(c: str) -> bool:
    """Whether this character, or none, carries on a word or number in a script with blanks between words."""
    return (c.isalnum() and not "\u3040" <= c <= "\u9fff") or c == "_"


def _matches(steps: tuple[tuple[frozenset[str], bool], ...], words: list[str], at: int) -> int | None:
    """The index of the last token of the longest match of `steps` from `at`, or None. Greedy: forms are short."""
    last: int | None = None
    i = at
    for options, optional in steps:
        if i < len(words) and words[i].casefold() in options:
            last = i
            i += 1
        elif not optional:
            return None
    return last


def _worked(text: str, lexicon: Lexicon, start: int, end: int) -> bool:
    """Whether the mark itself is said to be stamped or scratched ('STERLING stamp'): then it is in the wax."""
    table = lexicon.tables.get("mark_frame")
    if table is None:
        return False
    after = TOKEN.match(text, end + 1) if text[end : end + 1].isspace() else None
    inside = TOKEN.findall(text[start:end])[-1:]
    worked = table.entries.get("worked", ())
    return bool((after and after.group().casefold() in worked) or (inside and inside[0].casefold() in worked))


def _may_be_framed(lexicon: Lexicon, words: list[str], i: int) -> bool:
    """Whether `_framed` can hold, by the words alone."""
    before = words[i - 1] if i else ""
    after = words[i + 1] if i + 1 < len(words) else ""
    if before in QUOTES and after in QUOTES:
        return True
    table = lexicon.tables.get("mark_frame")
    if table is None:
        return False
    before, after = before.casefold(), after.casefold()
    entries = table.entries
    return (
        after == "in"
        or before in entries.get("before", ())
        or before in entries.get("joins", ())
        or after in entries.get("after", ())
    )


def _framed(text: str, lexicon: Lexicon, tokens: Offsets, words: list[str], i: int) -> bool:
    """Whether the words or quotation marks beside a single letter show it to be a mark."""
    start, end = tokens[2 * i : 2 * i + 2]
    if text[start - 1 : start] in QUOTES and text[end : end + 1] in QUOTES:
        return True
    before = words[i - 1].casefold() if i else ""
    after = words[i + 1].casefold() if i + 1 < len(words) else ""
    table = lexicon.tables.get("mark_frame")
    if table is None:
        return False
    if before in table.entries.get("before", ()) or after in table.entries.get("after", ()):
        return True
    if after == "in" and wax_words(lexicon, "runout_wax", "wax").first(text, end, end + 25):
        return True
    word_follows = i + 1 < len(words) and words[i + 1].islower()
    return before in table.entries.get("joins", ()) and not word_follows
