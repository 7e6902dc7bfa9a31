"""The lexicon made ready for matching: one tree of words over terms, cues and words.

Each token costs one look at the root; only where a form can begin is anything done. What spaCy's phrase matcher finds
with the same forms is what this finds (a test compares them); it needs no document to be built first.
"""

from __future__ import annotations

import marshal
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sayso.claims.hits import CLASS, Bare, Hit, Hits, Row
from sayso.claims.spelling import Compounds, Mender, bare, compounds_of, mender_of, spellings
from sayso.claims.tokens import fold, spans, variants
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Cue, Term, Word, WordClass

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

USED = frozenset(
    {
        "part",
        "side",
        "side_letter",
        "side_in_turn",
        "turned_over",
        "subject_line",
        "likewise",
        "named_again",
        "section",
        "colour",
        "role",
        "picture",
        "naive",
        "indefinite",
        "lot",
        "question_or",
        "state",
        "stamper",
        "stamper_passed",
        "possessive",
        "side_same",
        "side_but",
        "side_lead",
        "only",
        "history",
        "clock",
        "order",
        "proform",
        "grade_same_before",
        "quote_source",
        "disc_fault",
        "rhetorical",
        "inversion",
        "joiner",
        "design_with",
        "design_tie",
        "design_noun",
        "upon",
        "initials_intro",
        "initials_no",
        "address_tell",
        "address_word",
        "upon_no",
        "quote_lead",
        "street",
        "this_copy",
        "music",
        "open_end",
        "linking",
        "answering",
        "grade_for",
        "cut_word",
        "cut_passed",
        "grade_pronoun",
        "aspect",
        "year_else",
        "know_ask",
        "trade_wax",
        "lay_wax",
        "verb_second",
        "title_wrong",
        "grade_same",
        "likened",
        "address_apart",
        "side_tie",
        "side_after",
        "no_initials",
        "cut_lead",
        "plant_lead",
        "tick",
        "no_after_all",
        "not_understood",
        "meaning",
        "no_mark",
        "picture_end",
        "picture_shape",
        "picture_lead",
        "no_picture",
        "sign_apart",
        "sign_lone",
        "sign_said",
        "goes_on",
        "other_marks",
        "decade_part",
        "grade_both",
        "grade_to",
        "number_ends",
    }
)
JAPANESE = "ja"
SHORTEST = 6
"""Shorter words are never taken for a misspelling; of this length only where two letters are exchanged."""
_MENDABLE = frozenset({"part", "side", "colour"})
_SCANNED = re.compile(
    r"(?<![\w-])(?!\d(?i:st|nd|rd|th)\b)(?=[A-Za-z]*(?:[0145|][A-Za-z]|[a-z][0145I]|l))[A-Za-z0145|]{3,}(?![\w-])"
)
_RUN = re.compile(r"[\w|-]+")
"""What stands by itself for the expression above: nothing beside it has a say."""
LONG_RUN = 60
"""Longer ones are rare and not remembered."""
_LOOKALIKE = tuple(
    str.maketrans(before, after) for before, after in (("104|5", "loals"), ("104|5", "ioais"), ("l", "i"), ("i", "l"))
)


_KATAKANA = re.compile("[\u30a1-\u30fa\u30fc]")
_KATAKANA_RUN = re.compile("[\u30a1-\u30fa\u30fc]+")
_KANJI = re.compile("[\u3400-\u9fff]")


Node = dict[str, Any]
"""A word on the way along forms: the words that may follow, each with its own node; under `ENDS` the numbers of
the rows whose form ends here. Plain dictionaries, since there are many thousands, made or fetched at every start."""
Ending = tuple[Row, str, frozenset[str] | None]
"""A row, its kind, and the spellings that alone count where case does."""
ENDS = ""
"""No word is empty."""


@dataclass
class Index:
    """Words → rows."""

    root: dict[str, Node | bytes]
    """By the first word of a form; what was kept from an earlier run is opened when its word is first met."""
    endings: list[Ending]
    """The rows, by the numbers under `ENDS`."""
    lexicon: Lexicon
    near: dict[str, tuple[str, ...]] = field(default_factory=dict)
    known: frozenset[str] = frozenset()
    ordinary: frozenset[str] = frozenset()
    shortened: frozenset[str] = frozenset()
    """Words that end in a full stop without ending a sentence."""
    longest: int = 0
    """No longer word is a misspelt one of these."""
    small: dict[str, frozenset[str]] = field(default_factory=dict)
    """The small words on which scope turns, by kind."""
    cache: dict[str, str] = field(default_factory=dict)
    scanned: dict[str, str] = field(default_factory=dict)
    """What words once met are meant to be where a scanner misread them; mostly themselves."""
    compounds: Compounds = field(default_factory=Compounds)
    mender: Mender = field(default_factory=Mender)
    """Of one language alone."""
    accented: dict[str, str] = field(default_factory=dict)
    """Known words with accents, by their spelling without."""

    def __getstate__(self) -> dict[str, Any]:
        """What is made of the lexicon, without the words met in listings."""
        packed = {w: n if isinstance(n, bytes) else marshal.dumps(n) for w, n in self.root.items()}
        return self.__dict__ | {"cache": {}, "scanned": {}, "root": packed}

    def opened(self, word: str) -> Node | None:
        """The node of a first word; null where no form begins with it."""
        node = self.root.get(word)
        if isinstance(node, bytes):
            node = self.root[word] = marshal.loads(node)
        return node

    def ending(self, node: Node | None) -> list[Ending]:
        """The rows of which a form ends at a node."""
        return [self.endings[n] for n in node.get(ENDS, ())] if node is not None else []

    def capital_nouns(self, language: str | None) -> bool:
        """Whether a language writes its nouns with a capital."""
        return language is not None and "capital_nouns" in _kinds_in(self.lexicon, language)


@lru_cache(maxsize=32)
def _kinds_in(lexicon: Lexicon, language: str) -> frozenset[str]:
    return frozenset(w.kind for w in lexicon.tongue(language)[2])


@of_lexicon
def index_of(lexicon: Lexicon, language: str | None = None) -> Index:
    """Built once for each lexicon: of what is read in every listing, or of the words of one language alone."""
    root: Node = {}
    endings: list[Ending] = []
    long_words: set[str] = set()
    known: set[str] = set()
    terms, cues, plain = lexicon.tongue(language) if language else (lexicon.terms, lexicon.cues, lexicon.words)
    everything: list[Row] = [*terms, *cues, *(w for w in plain if w.kind in USED), *lexicon.classes(language)]
    kept = frozenset(f for w in plain if w.kind == "kept_accents" for f in w.forms)
    # Drawn together or taken apart, not one after the other: 'there has', "there's" and 'there is' are two verbs.
    both = ({}, {}) if language else _contractions(plain, "contraction")
    people = {} if language else _both_ways(*_contractions(plain, "one_or_many"))
    drawn = {*both[0], *both[1], *people}
    for row in everything:
        kind = _kind(row)
        exact = frozenset(map(fold, row.forms)) if isinstance(row, Term) and row.exact else None
        number = len(endings)
        endings.append((row, kind, exact))
        ways: set[tuple[str, ...]] = set()
        for form in row.forms:
            written = variants(form)
            if language and not form.isascii():
                written |= {w for v in written for w in spellings(v, kept, stated=kind == "term" or kind in _MENDABLE)}
            ways |= written
        if drawn and exact is None and row.lang == "en":
            written_so = {v for v in ways if not drawn.isdisjoint(v)}
            for pairs in both:
                more = written_so
                for _ in range(2):  # 'as far as I am aware', 'as far as we are aware', 'as far as we're aware'
                    more = {w for v in more for w in (*_otherwise(v, pairs), *_speaking(v, people))} - ways
                    ways |= more
        for words in ways:
            node = root
            for word in words:
                after = node.get(word)
                if after is None:
                    after = node[word] = {}
                node = after
            node.setdefault(ENDS, []).append(number)
            known.update(words)
            if isinstance(row, Term) or kind in _MENDABLE or (language and kind == "role"):
                long_words.update(w for w in words if len(w) >= SHORTEST and w.isalpha())
    ordinary = frozenset(f for w in lexicon.words if w.kind == "ordinary" for f in w.forms)
    shortened = frozenset(
        f for w in (plain if language else lexicon.words) if w.kind == "abbreviation" for f in w.forms
    )
    index = Index(root, endings, lexicon, {}, frozenset(known), ordinary, shortened, small=_small(lexicon))
    index.longest = max(map(len, long_words), default=0) + 1
    # A foreign word is often a letter away from an English one, so each language is mended by its own words.
    if language is None:
        index.near = _neighbours({w for w in long_words if w.isascii()} - ordinary)
        index.accented = {bare(w): w for w in sorted(known) if not w.isascii() and w[0] < "\u3000"}
    elif language != JAPANESE:
        index.compounds, index.mender = compounds_of(plain), mender_of(long_words - ordinary)
        index.mender.slips = {f: w.value for w in plain if w.kind == "slip" and w.value for f in w.forms}
    return index


Pairs = dict[str, tuple[tuple[tuple[str, ...], tuple[tuple[str, ...], ...]], ...]]
"""By their first word: words, and what else is said for them."""
FEWEST = 3
"""In a form of so many words one seller stands for several; 'we' alone is a shop's."""


def _contractions(plain: Iterable[Word], kind: str) -> tuple[Pairs, Pairs]:
    """Words that are drawn together ('I am' → 'I'm'), and the way back; those spelt otherwise ('centre', 'center') in
    both."""
    short: dict[tuple[str, ...], set[tuple[str, ...]]] = {}
    full: dict[tuple[str, ...], set[tuple[str, ...]]] = {}
    for word in plain:
        if word.kind == kind and word.value:
            whole = tuple(word.value.split())
            for form in map(str.split, word.forms):
                drawn = tuple(form)
                short.setdefault(whole, set()).add(drawn)
                full.setdefault(drawn, set()).add(whole)
                if len(whole) == len(drawn):
                    short.setdefault(drawn, set()).add(whole)
                    full.setdefault(whole, set()).add(drawn)
    return _by_first(short), _by_first(full)


def _both_ways(one: Pairs, other: Pairs) -> Pairs:
    return {word: (*one.get(word, ()), *other.get(word, ())) for word in {*one, *other}}


def _by_first(pairs: Mapping[tuple[str, ...], set[tuple[str, ...]]]) -> Pairs:
    out: dict[str, tuple[tuple[tuple[str, ...], tuple[tuple[str, ...], ...]], ...]] = {}
    for words in sorted(pairs):
        out[words[0]] = (*out.get(words[0], ()), (words, tuple(sorted(pairs[words]))))
    return out


def _otherwise(words: tuple[str, ...], pairs: Pairs) -> Iterator[tuple[str, ...]]:
    """The same words with one pair drawn together, or one taken apart, or one spelt as elsewhere."""
    for n, word in enumerate(words):
        for before, others in pairs.get(word, ()):
            width = len(before)
            if words[n : n + width] == before:
                for other in others:
                    yield (*words[:n], *other, *words[n + width :])


def _speaking(words: tuple[str, ...], people: Pairs) -> Iterator[tuple[str, ...]]:
    """The same words of one seller or of several ('as far as we know')."""
    return _otherwise(words, people) if len(words) >= FEWEST else iter(())


def _kind(row: Row) -> str:
    if isinstance(row, Term):
        return "term"
    if isinstance(row, WordClass):
        return CLASS + row.name
    return "cue" if isinstance(row, Cue) else row.kind


KNOWING = ("know_fill", "know_no", "know")
"""The words of a clause that says that something is not known, by their part in it."""


@of_lexicon
def knowing_words(lexicon: Lexicon, language: str) -> dict[str, str]:
    """What each such word of a language is for."""
    rows = lexicon.tongue(language)[2]
    return {form: kind for kind in KNOWING for w in rows if w.kind == kind for f in w.forms for form in (bare(f), f)}


LATE = ("late_fill", "late_noun", "late_seek", "late_find", "late_heard", "late_hear", "late_no")
"""The words of a clause that denies at its end, by their part in it."""


@of_lexicon
def late_words(lexicon: Lexicon, language: str) -> dict[str, str]:
    """What each such word of a language is for, as written with and without its accents."""
    out: dict[str, str] = {}
    for kind in LATE:
        for row in lexicon.tongue(language)[2]:
            if row.kind == kind:
                for form in row.forms:
                    out[bare(form)] = out[form] = kind
    return out


SMALL = (
    *("list_ja", "list_all", "kana_head", "kanji_tail", "seldom_a_mark", "list_or", "list_or_foreign", "list_and"),
    *(
        "without_ending",
        "contrast",
        "inside",
        "a_little",
        "subordinate",
        "finite",
        "subject",
        "relative",
        "found_word",
        "conclusion",
    ),
)


def _small(lexicon: Lexicon) -> dict[str, frozenset[str]]:
    return {k: frozenset(f for w in lexicon.words if w.kind == k for f in w.forms) for k in SMALL}


KEPT = 50_000
"""At most this many words are remembered, so that memory stays flat however much is read."""


def find(
    index: Index,
    text: str,
    toks: list[tuple[int, int]],
    words: list[str],
    tongue: Index | None = None,
    meant: list[str] | None = None,
) -> Hits:
    """All rows in the text by kind, longest first where they begin together.

    `words` are the tokens in small letters; `tongue` holds the words of the listing's own language, and `meant` the
    tokens as that language would spell them.
    """
    if tongue is None or meant is None:
        return _found(index, text, toks, _mended(words, index))
    # (An ending is mended in any language: 'rubinrotem' for 'rubinrotes'.)
    mended = [
        w if w in tongue.known and w[:-1] != m[:-1] else m for w, m in zip(words, _mended(words, index), strict=True)
    ]
    mended = [m if m in index.known else index.accented.get(m, m) for m in mended]
    hits = _found(index, text, toks, mended)
    own = _found(tongue, text, toks, meant)
    for kind in list(own.kinds()):
        hits.add(kind, own.get(kind)[1])
    hits.add("part", _ends(tongue, index, words, hits))
    hits.add("term", _signs(index, own, hits))
    return hits


def _signs(index: Index, own: Hits, hits: Hits) -> list[Hit]:
    """Designs and marks that the lexicon knows by their English names, where the seller says 'Laterne' or 'ancre'."""
    out: list[Hit] = []
    known = {(h.i, id(h.row)) for h in hits.get("term")[1]}
    for h in own.get("picture")[1]:
        name = h.row.value if isinstance(h.row, Word) else None
        for row, kind, _ in index.ending(index.opened(name) if name else None):
            sign = isinstance(row, Term) and (row.kind == "design" or row.feature == "deadwax.plant_mark")
            if kind == "term" and sign and (h.i, id(row)) not in known:
                out.append(Hit(h.i, h.j, row))
    return out


def _ends(tongue: Index, index: Index, words: list[str], hits: Hits) -> list[Hit]:
    """The part of the record that a known compound ends with ('Berglabel', which an owner of the lexicon named)."""
    out: list[Hit] = []
    at = set(hits.get("part")[0])
    for n, word in enumerate(words):
        if n in at or len(word) < SHORTEST or word not in index.known or word in tongue.known:
            continue
        head = next((f for f in tongue.compounds.heads if f in tongue.compounds.free and word.endswith(f)), "")
        node = tongue.opened(head)
        if node is not None and len(word) - len(head) >= 3:
            out += [Hit(n, n + 1, row) for row, kind, _ in tongue.ending(node) if kind == "part"][:1]
    return out


def parted(index: Index, tongue: Index, toks: list[tuple[int, int]], words: list[str]) -> None:
    """Divides the compounds among the words in two, so that each part is read ('Rücken|beschriftung'). In place."""
    if not tongue.compounds.heads:
        return
    known = tongue.known, index.known
    for n in range(len(words) - 1, -1, -1):
        word = words[n]
        if len(word) < SHORTEST or word in tongue.known or word in index.known or not word.isalpha():
            continue
        cut = tongue.compounds.cut(word, known)
        if cut is not None:
            start, end = toks[n]
            if end - start == len(word):
                toks[n : n + 1] = [(start, start + cut[0]), (start + cut[0], end)]
                words[n : n + 1] = [cut[1], word[cut[0] :]]


_OFTEN_WITHOUT = ("deadwax.", "label.", "jacket.barcode", "disc.rim")
"""Of these features sellers say that a copy is without them by the ending of a word."""


def privative(index: Index, text: str, toks: list[tuple[int, int]], words: list[str]) -> None:
    """Divides 'anchorless' and 'barcodeless' into the thing and the ending that denies it. In place."""
    for ending in index.small["without_ending"]:
        if ending not in text:
            continue
        for n in range(len(words) - 1, -1, -1):
            stem = words[n].removesuffix(ending)
            if stem == words[n] or len(stem) < 2 or words[n] in index.root or words[n] in index.ordinary:
                continue
            rows = index.ending(index.opened(stem))
            start, end = toks[n]
            if end - start == len(words[n]) and any(
                isinstance(row, Term) and row.feature.startswith(_OFTEN_WITHOUT) for row, _, _ in rows
            ):
                toks[n : n + 1] = [(start, start + len(stem)), (start + len(stem), end)]
                words[n : n + 1] = [stem, ending]


def _found(index: Index, text: str, toks: list[tuple[int, int]], words: list[str]) -> Hits:
    found: dict[str, list[Bare]] = {}
    start, last, plain, endings = index.root.get, len(words), text.isascii(), index.endings
    # Each word costs one look; the loop is written out because much of the time of reading is spent here.
    for i, word in enumerate(words):
        node = start(word)
        if node is None:
            continue
        if node.__class__ is bytes:
            node = index.opened(word)
        assert isinstance(node, dict)
        j = i + 1
        rows = node.get(ENDS)
        after = node.get(words[j]) if j < last else None
        if after is None:
            if rows is None:
                continue
            ends = [(j, rows)]
        else:
            ends = [(j, rows)] if rows is not None else []
            while after is not None:
                j += 1
                rows = after.get(ENDS)
                if rows is not None:
                    ends.append((j, rows))
                after = after.get(words[j]) if j < last else None
            ends.reverse()
        for j, rows in ends:
            if j - i > 1 and "\n\n" in text[toks[i][0] : toks[j - 1][1]]:
                continue  # the end of a title and the beginning of what is below it
            if (
                not plain
                and text[toks[i][0]] > "\u3000"
                and _inside_word(text, toks[i][0], toks[j - 1][1], index.small["kana_head"], index.small["kanji_tail"])
            ):
                continue
            for number in rows:
                row, kind, exact = endings[number]
                if exact is not None and (
                    text[toks[i][0] : toks[j - 1][1]] not in exact or text[toks[i][0] - 1 : toks[i][0]].isdigit()
                ):
                    continue  # (the 'ST' of '1ST' is none by itself)
                held = found.get(kind)
                if held is None:
                    found[kind] = [(i, j, row)]
                else:
                    held.append((i, j, row))
    return Hits(found)


def _inside_word(text: str, start: int, end: int, heads: frozenset[str], tails: frozenset[str]) -> bool:
    """Whether the stretch is a piece of a longer Japanese word, as far as the script shows it.

    Loan words are runs of katakana ('ベル', a bell, is no part of 'ラベル', a label); a single kanji beside another one
    is half of a word ('門', a gate, in '専門'), but for `tails`, which only say what of it or that it is there.
    """
    before, after = text[start - 1 : start], text[end : end + 1]
    if _KATAKANA.match(text[start]) and _KATAKANA.match(before):
        return _KATAKANA.match(after) is not None or text[start:end] not in heads  # 'グレーラベル', a grey label
    if _KATAKANA.match(text[end - 1]) and _KATAKANA.match(after):
        run = _KATAKANA_RUN.match(text, end)
        return run is None or run[0] not in heads  # 'サンバーストラベル', a sunburst label
    single = end - start == 1 and _KANJI.match(text[start])
    return bool(single and (_KANJI.match(before) or (_KANJI.match(after) and after not in tails)))


def _mended(words: list[str], index: Index) -> list[str]:
    """Long misspelt words as the one known word each is near to; all others as they are."""
    mended: dict[str, str] = {}
    for word in set(words) - index.known:
        if SHORTEST <= len(word) <= index.longest and word.isascii() and word.isalpha():
            near = index.cache.get(word) or _remembered(word, index)
            if near != word:
                mended[word] = near
        elif word.endswith("'s") and word[:-2] in index.small["subject"]:
            mended[word] = word[:-2]  # 'the label's yellow'
    return [mended.get(w, w) for w in words] if mended else words


def _remembered(word: str, index: Index) -> str:
    if len(index.cache) >= KEPT:
        index.cache.clear()
    index.cache[word] = _nearest(word, index)
    return index.cache[word]


def _nearest(word: str, index: Index) -> str:
    """The known word one letter away (or two letters exchanged), where it is the only one and the word is no other."""
    if word in index.ordinary:
        return word
    from rapidfuzz.distance import OSA

    found: set[str] = set()
    for part in {word, *_shortened(word)}:
        found.update(index.near.get(part, ()))
    close = [w for w in found if w[0] == word[0] and OSA.distance(w, word, score_cutoff=1) <= 1]
    if len(word) == SHORTEST:
        close = [w for w in close if sorted(w) == sorted(word)]
    shortest = min(close, key=lambda w: (len(w), w), default=word)
    return shortest if all(w.startswith(shortest) for w in close) else word


def _shortened(word: str) -> set[str]:
    return {word[:n] + word[n + 1 :] for n in range(len(word))}


def _neighbours(words: set[str]) -> dict[str, tuple[str, ...]]:
    """Every word under itself and under itself without one letter: two words one edit apart share such a form."""
    out: dict[str, list[str]] = {}
    for word in sorted(words):
        for part in {word, *_shortened(word)}:
            out.setdefault(part, []).append(word)
    return {k: tuple(v) for k, v in out.items()}


def unscanned(text: str, index: Index) -> str:
    """Folded text with every sign that a scanner put for another one mended ('Labe1', 'chlp'); same length."""
    seen, changed = index.scanned, False
    for run in set(_RUN.findall(text)):
        made = seen.get(run)
        if made is None:
            made = _SCANNED.sub(lambda m: _as_meant(m.group(), index), run)
            if len(run) <= LONG_RUN:
                if len(seen) >= KEPT:
                    seen.clear()
                seen[run] = made
        changed = changed or made != run
    return _SCANNED.sub(lambda m: _as_meant(m.group(), index), text) if changed else text


_CUT = re.compile(r"[A-Z]\d[A-Z]{1,2}")
"""The end of a number of the run-out ('B1U', which is no 'blu')."""


def _as_meant(word: str, index: Index) -> str:
    low = word.lower()
    if low in index.known or low in index.ordinary or _CUT.fullmatch(word):
        return word
    for lookalike in _LOOKALIKE:
        made = low.translate(lookalike)
        # 'B1U' in capitals is the end of a number, and no 'blu'.
        if made != low and made in index.known and made.isalpha() and len(made) >= 3 + word.isupper():
            return made
    return word


__all__ = ["CLASS", "Hit", "Hits", "Index", "find", "index_of", "spans"]
