"""What is where in a listing: lines, sections, sentences, clauses, and how any stretch of it is meant."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from sayso.claims.hits import CLASS
from sayso.claims.index import Hit, Index, find, index_of, knowing_words, late_words, parted, privative, unscanned
from sayso.claims.languages import JAPANESE, spoken
from sayso.claims.manners import manners
from sayso.claims.shapes import add_shapes
from sayso.claims.tokens import fold, small, spans
from sayso.lexicon.terms import Cue as CueRow
from sayso.lexicon.terms import Term, Word
from sayso.model import CLAIMING, Attribution, Certainty, Listing, Polarity, Segment, SegmentKind
from sayso.model import Cue as CueSpan

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Status = Literal["affirmed", "negated", "possible"]
_INITIALS = re.compile(r"[A-Z]\.")
_DOTTED = re.compile(r"(?<!\w)(?:[A-Z]\.)+[A-Z]$")
_STOP = re.compile(
    r"[.!?;。！？…]+(?=\s|$)|\?[\"'](?=\s|$)|[。！？]|[!?](?=[\u3041-\u30ff\u4e00-\u9fff])|\n|(?<=\s)[|•]+(?=\s)|(?<=\s)-+(?=\s)"
)
_LAST = re.compile(r"(?:^|[\s(/])([^\W\d_]+)$")
_KEY = re.compile(r"^\W*([^:\n.]{1,40}?)\s*(?:[:=]|\.{3,}(?:\s*:)?|\.{2}(?=\s)|\s\.(?=\s))\s*")
_LEADERS = re.compile(r"\W*[^.\n]{1,40}\.{2,}$")
_NUMBER = re.compile(r"[- ]?\d{2}")
_NUMBERED = re.compile(r"^[ \t]*(?:\d{1,2}|[A-Z]\d)[.)][ \t]", re.M)
_QUESTION = re.compile(r'"([^"\n]{4,300}\?)"(?=\s)')
"""A question in quotation marks, as sellers copy it from a message before they answer it."""
_GLOSS = re.compile(r"\W*([A-Za-z][A-Za-z/.+-]{0,4}\+{0,2})\s*(?:=|:|[-\u2013](?=\s))\s*(?=[a-z])")
"""An abbreviation or a grade with what it stands for."""
_PIECE = re.compile(r"[^,;|/\n]+")
_NOTE = "section.note"
"""The row of headings that open the shop's rules, but a word on the copy as well."""
_SONGS = "section.tracks"
"""The row of headings over the songs."""
_SONG = re.compile(r"(?<![\w-])[A-D]\d{1,2}(?![\w-])")
_LISTED = 2
"""So many commas make a list of songs."""
_SHORT_KEY = 60
"""What stands behind a key is of this copy only where it is no longer."""
_ONE_LINE = 40
"""A heading with so many characters on its line has what belongs to it there."""
_SUBJECT = 6
"""So near the beginning of a sentence stands what it speaks of."""
_COMPARED = 4
"""Tokens within which 'unlike' and the like begins before what it compares with."""
_ASIDE = 8
"""Tokens of what is put in between commas, both counted."""
_IN_BRACKETS, _NAME = 4, 8
"""So many tokens may name a thing once more in brackets, and so many the thing before them."""
_GROUND = 8
"""Tokens between 'judging by' and the thing, and between that and what is concluded."""
_BEFORE_A_GROUND = frozenset({",", ";", ":", "("})
_LATEST = 11
"""Tokens between a thing and the end of a clause that denies it at last."""
NEGATIVE = frozenset({"negation", "search"})


@dataclass(frozen=True)
class Assertion:
    """How a stretch is meant, with the cues that decided."""

    status: Status
    polarity: Polarity
    certainty: Certainty
    attribution: Attribution
    about: Literal["this_copy", "other_copy", "hypothetical"]
    deferred: bool
    cues: tuple[CueSpan, ...]


_VALUE = frozenset({":", "="})
_BREATH = frozenset({"-", "/"})
_NO_SAY = frozenset({"pseudo", "end", "withdrawn"})
"""Kinds of cues that say nothing of what stands near them."""
NOT_KNOWN = CueRow(id="not known", kind="unknown", forms=(), direction="backward", certainty="unknown", reach=12)
NOT_KNOWN_WHETHER = CueRow(id="not known whether", kind="unknown", forms=(), certainty="unknown", reach=14)
"""The same before 'whether', 'which' and the like, where it speaks of what follows."""
PLAIN = Assertion("affirmed", "present", "certain", "seller", "this_copy", False, ())
"""Where no cue says otherwise."""


@lru_cache(maxsize=8)
def _keyed_questions(lexicon: Lexicon) -> re.Pattern[str]:
    """'Q: Is it mono? A:' with the key of the answer, so that this is not taken for a side."""

    def keys(kind: str) -> str:
        return "|".join(sorted({re.escape(f) for w in lexicon.words if w.kind == kind for f in w.forms}, key=len)[::-1])

    sign = r"\d{0,2}\s?[:.)\uff1a]"
    return re.compile(
        rf"(?<![^\s(])(?:{keys('asking_key')}){sign}\s*[^\n?\uff1f]{{2,300}}[?\uff1f]+\s*(?:{keys('answering_key')}){sign}"
    )


@lru_cache(maxsize=8)
def _grade_glosses(lexicon: Lexicon) -> re.Pattern[str]:
    """A line that opens with a grade and what it stands for."""
    grades = sorted({f for w in lexicon.words if w.kind == "grade" for f in w.forms}, key=len, reverse=True)
    opens = rf"[\t *\u2022-]*(?:{'|'.join(grades)})[+-]{{0,2}}[ \t]*(?:[:=]|-(?= ))[ \t]*[a-z]"
    return re.compile(rf"^(?={opens})[^:=\n]{{1,12}}[:= -]+[a-z]", re.M)


_PIECES = re.compile(r"[^,;|:\n]+")
_FEWEST_GRADES = 3
"""So many grades with words behind them make a key."""


@lru_cache(maxsize=8)
def _right_grade(lexicon: Lexicon) -> re.Pattern[str]:
    """A grade right behind a noun."""
    grades = sorted({f for w in lexicon.words if w.kind == "grade" for f in w.forms}, key=len, reverse=True)
    return re.compile(rf"\s*[:=]?\s*(?:{'|'.join(grades)})[+-]{{0,2}}(?!\w)")


class Analysis:
    """One listing, read once. Offsets are into `text`."""

    def __init__(self, listing: Listing, lexicon: Lexicon) -> None:
        self.listing = listing
        self.text = listing.text
        self.index: Index = index_of(lexicon)
        self.folded = unscanned(fold(self.text), self.index)
        self.toks = spans(self.folded)
        self.words = small(self.folded, self.toks)
        privative(self.index, self.folded, self.toks, self.words)
        self.starts = [a for a, _ in self.toks]
        self.language, self.tongue = spoken(listing, self.words, self.starts, lexicon)
        own = index_of(lexicon, self.tongue) if self.tongue else None
        self.meant = self.words
        """The tokens as the language of the listing would spell them."""
        self.shortened = self.index.shortened
        if own is not None:
            parted(self.index, own, self.toks, self.words)
            self.starts = [a for a, _ in self.toks]
            self.meant = [own.mender.mended(w, own.known) for w in self.words]
            self.shortened = own.shortened
        self.found = find(self.index, self.folded, self.toks, self.words, own, self.meant)
        self.found.add("side", [h for h in self.all_of("side_letter") if self._lettered(h)])
        self.sentences = self._sentences()
        self.sentence_starts = [a for a, _ in self.sentences]
        add_shapes(self)
        self._scopes: dict[int, tuple[int, int, bool]] = {}
        self._spans: dict[tuple[int, int, str, str], CueSpan] = {}
        self._assertions: dict[tuple[int, int], Assertion] = {}
        self._late = late_words(lexicon, self.tongue) if self.tongue else {}
        self.cues = self._cues()
        self._cue_at = [h.i for h in self.cues]
        self.segments = self._quoted_questions(self._segments())
        self._segment_starts = [s.start for s in self.segments]

    def _lettered(self, h: Hit) -> bool:
        """Whether the 'a' behind a small word is the letter of a side ('on A, not B') and no article ('on a deck')."""
        letter, before = self.toks[h.j - 1][0], self.text[self.toks[h.i][0] : self.toks[h.i][1]]
        if self.text[letter].isupper() and not before.isupper():
            return True
        after = self.words[h.j] if h.j < len(self.words) else "."
        small = self.index.small
        return not after[:1].isalpha() or any(
            after in small[kind] for kind in ("list_and", "list_or", "contrast", "finite")
        )

    # --- structure ----------------------------------------------------------------------------------------------------
    def _sentences(self) -> list[tuple[int, int]]:
        out: list[tuple[int, int]] = []
        text = self.folded
        start = 0
        for m in _STOP.finditer(text):
            at, end = m.span()
            if text[at] == ".":
                if end - at > 1:
                    if set(m.group()) == {"."} and _LEADERS.match(text[start:end]):
                        continue
                else:
                    after = text[end : end + 3].lstrip()
                    word = _LAST.search(text[max(start, at - 8) : at])
                    # 'Etikett grün m. Berg': where nouns are written large, a capital tells nothing.
                    small_next = not after[:1].isupper() or self.index.capital_nouns(self.tongue)
                    # '50th St. N.Y.C.': an abbreviation behind another begins no sentence.
                    if word and word[1].lower() in self.index.shortened and _INITIALS.match(after):
                        continue
                    dotted = _DOTTED.search(text[max(start, at - 8) : at])
                    if dotted and (after[:1].islower() or self.of("side", self.token(end), self.token(end) + 1)):
                        continue  # 'N.Y.C. labels', 'D.G. A only'
                    if word and small_next and word[1] in self.shortened and "\n" not in text[at : end + 1]:
                        continue
                    lone = word is not None and len(word[1]) == 1 and word[1].isupper() and not self._side_ends(at)
                    if after and not after[0].isupper() and word and (lone or word[1].lower() in self.index.shortened):
                        continue
            elif text[at] == "-" and self._only_denies(end):
                continue
            if end > start:
                if not text[start:end].isspace():
                    out.append((start, end))
                start = end
        if start < len(text) and not text[start:].isspace():
            out.append((start, len(text)))
        return self._ticked(out) if self.all_of("tick") else out

    def _ticked(self, sentences: list[tuple[int, int]]) -> list[tuple[int, int]]:
        """The sentences, divided at the ticks and crosses of a list ('✔ inner ✖ writing', 'inner ✔ writing ✖').

        A sign that opens its line stands before what it speaks of, as do those behind it; any other stands behind.
        """
        out: list[tuple[int, int]] = []
        for a, b in sentences:
            at = a
            for h in self.within("tick", a, b):
                sign, end = self.toks[h.i][0], self.toks[h.j - 1][1]
                line, _ = self.line(sign)
                first = self.token(line)
                cut = sign if self.of("tick", first, first + 1) else end
                if at < cut < b and not self.folded[at:cut].isspace():
                    out.append((at, cut))
                    at = cut
            out.append((at, b))
        return out

    def _side_ends(self, at: int) -> bool:
        """'On B. (R) on both': the letter of a side before the offset is no initial."""
        n = self.token(at)
        return any(h.j == n and h.j - h.i > 1 for h in self.of("side", n - 3, n))

    def _only_denies(self, at: int) -> bool:
        """'Barcode - none': what stands behind the dash is no sentence of its own."""
        i = self.token(at)
        for h in self.of("cue", i, i + 1):
            row = h.row
            if isinstance(row, CueRow) and row.direction == "backward" and self._stands_alone(h):
                return True
        return False

    def sentence(self, at: int) -> tuple[int, int]:
        """The sentence that holds the offset."""
        n = bisect_right(self.sentence_starts, at) - 1
        return self.sentences[n] if n >= 0 else (0, len(self.text))

    def of(self, kind: str, i: int, j: int) -> list[Hit]:
        """The hits of one kind that begin at tokens [i, j), in order: 'term', 'cue' or the kind of a word row."""
        at, found = self.found.get(kind)
        return found[bisect_left(at, i) : bisect_left(at, j)] if at else []

    def all_of(self, kind: str) -> list[Hit]:
        """All hits of one kind, in order."""
        return self.found.get(kind)[1]

    def within(self, kind: str, start: int, end: int) -> list[Hit]:
        """The hits of one kind that begin in `text[start:end]`."""
        at, found = self.found.get(kind)
        if not at:
            return []
        starts = self.starts
        first = bisect_left(at, bisect_left(starts, start))
        # Mostly there is none, or the next one lies beyond.
        if first == len(at) or starts[at[first]] >= end:
            return []
        return found[first : bisect_left(at, bisect_left(starts, end), first)]

    def token(self, at: int) -> int:
        """The index of the token at or after the offset."""
        n = bisect_right(self.starts, at) - 1
        return n if n >= 0 and self.toks[n][1] > at else n + 1

    def _segments(self) -> tuple[Segment, ...]:
        """The segments of intake, divided where a heading opens a section that claims nothing."""
        heads: dict[int, list[tuple[int, str | None]]] = {}
        for h in self.of("section", 0, len(self.toks)):
            if isinstance(h.row, Word) and not (h.row.id == _NOTE and self._notes_the_copy(h)):
                heads.setdefault(h.i, []).append((h.j, h.row.value))
        songs = {h.i for h in self.of("section", 0, len(self.toks)) if getattr(h.row, "id", "") == _SONGS}
        out: list[Segment] = []
        for seg in self.listing.segments or (Segment(kind="description", start=0, end=len(self.text)),):
            if seg.kind not in ("description", "specifics", "caption", "reply"):
                out.append(seg)
                continue
            kind: SegmentKind = seg.kind
            at = seg.start
            # In a reply numbers stand before answers.
            variants = frozenset() if seg.kind == "reply" else self._variants(seg.start, seg.end)
            glossed = self._glossed(seg.start, seg.end)
            was_story = one_line = False
            for line in re.finditer(r"[^\n]+", self.folded[seg.start : seg.end]):
                a, b = seg.start + line.start(), seg.start + line.end()
                now = "legend" if a in glossed else self._line_kind(a, b, heads)
                # 'Legend: WOL writing on label / SS seam split', and the copy below.
                over = one_line and now is None and not self._explains(a, b)
                opens = not self.folded[seg.start : a].strip()  # nothing is said of the copy yet
                one_line = opens and now == "legend" and (b - a > _ONE_LINE or "=" in self.folded[a:b])
                blank = self.folded[max(seg.start, a - 2) : a].endswith("\n\n")
                becomes: SegmentKind = kind
                storied, listed = was_story, kind == "biography" and bool(variants) and a > max(variants)
                story = self._is_story(a, b)
                if a in variants or story:
                    becomes = "biography"
                elif now is not None:
                    becomes = now
                elif listed or storied or over or (blank and kind != seg.kind):
                    becomes = seg.kind
                if self.folded[a:b].lstrip().startswith(">"):
                    becomes = "question"
                elif kind == "question":
                    becomes = seg.kind
                was_story = story
                if becomes != kind and a > at:
                    out.append(seg.model_copy(update={"kind": kind, "start": at, "end": a}))
                    at = a
                kind = becomes
                stop = self._songs_end(a, b) if now == "biography" and self.token(a) in songs else b
                if stop < b:  # 'Tracks: …, …, …. Single sleeve. Vinyl EX-.'
                    out.append(seg.model_copy(update={"kind": kind, "start": at, "end": stop}))
                    at, kind = stop, seg.kind
            if at < seg.end:
                out.append(seg.model_copy(update={"kind": kind, "start": at, "end": seg.end}))
        return tuple(out)

    def _songs_end(self, a: int, b: int) -> int:
        """Where the songs of a list on one line end and the copy is spoken of again; else the end of the line."""
        ends = [y for x, y in self.sentences if a <= x < b]
        if len(ends) < 2 or self.folded.count(",", a, ends[0]) + self.folded.count(" / ", a, ends[0]) < _LISTED:
            return b
        last = max((m.end() for m in _SONG.finditer(self.folded, a, b)), default=a)
        return min(next((y for y in ends if y >= last), b), b)

    def _quoted_questions(self, segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
        """The segments, with the questions in quotation marks before their answers as segments of their own."""
        out: list[Segment] = []
        for seg in segments:
            at = seg.start
            if seg.kind in ("description", "reply"):
                keyed = list(_keyed_questions(self.index.lexicon).finditer(self.folded, seg.start, seg.end))
                for m in keyed or _QUESTION.finditer(self.folded, seg.start, seg.end):
                    led = self.within("quote_lead", max(at, m.start() - 40), m.start())
                    heard = any(self.toks[h.j - 1][1] >= m.start() - 12 for h in led)
                    if not keyed and not heard and not self._asks(m.start(1), m.end(1)):
                        continue
                    if m.start() > at:
                        out.append(seg.model_copy(update={"start": at, "end": m.start()}))
                    out.append(seg.model_copy(update={"kind": "question", "start": m.start(), "end": m.end()}))
                    at = m.end()
            if at < seg.end:
                out.append(seg.model_copy(update={"start": at}))
        return tuple(out)

    def _asks(self, start: int, end: int) -> bool:
        """Whether what stands in quotation marks is a question about the record, and no title or slogan."""
        return bool(self.within("inversion", start, end)) or bool(self.within("term", start, end))

    def _is_story(self, a: int, b: int) -> bool:
        """Whether a paragraph tells of the music and its makers and not of the copy."""
        if b - a < 120:
            return False
        told = {getattr(h.row, "id", "") + self.words[h.i] for h in self.within("history", a, b)}
        return len(told) >= 2

    def _variants(self, start: int, end: int) -> frozenset[int]:
        """Starts of the lines of a numbered list, no lot and no answer: songs, or ways in which the record comes."""
        if self.of("lot", 0, len(self.toks)) or self.within("answering", start, end):
            return frozenset()
        found = [start + m.start() for m in _NUMBERED.finditer(self.folded[start:end])]
        return frozenset(found) if len(found) >= 3 else frozenset()

    def _line_kind(self, a: int, b: int, heads: dict[int, list[tuple[int, str | None]]]) -> SegmentKind | None:
        first = self.token(a)
        for j, value in heads.get(first, ()):
            if b - self.toks[j - 1][1] <= 3 or self.folded[self.toks[j - 1][1]] in ":-":
                key = self.folded[self.toks[j - 1][1] : b].strip(" :-")
                if value == "legend" and len(key) < _SHORT_KEY and self._grades_the_copy(self.toks[j - 1][1], b):
                    return None  # 'Grades: cover VG+, vinyl EX'
                if value == "policy" and key and len(key) < 60 and self._is_term_line(first):
                    return None
                return value  # type: ignore[return-value]
        if len(re.findall(r"(?:=|\bmeans\b)", self.folded[a:b])) >= 3:
            return "legend"
        if "=" in self.folded[a:b] and self._defines(a, b):
            return "legend"
        if self._explains_grades(a, b):
            return "legend"
        return None

    def _explains_grades(self, a: int, b: int) -> bool:
        """'M unplayed, EX hardly played, VG played with care': a line that says what grade after grade means."""
        grade, kinds = _right_grade(self.index.lexicon), set()
        pieces = list(_PIECES.finditer(self.folded, a, b))
        for piece in pieces if len(pieces) >= _FEWEST_GRADES else ():
            m = grade.match(self.folded, piece.start(), piece.end())
            i = self.token(m.end()) if m else 0
            if m is None or i >= len(self.toks) or self.toks[i][0] >= piece.end() or not self.words[i].isalpha():
                continue
            if not self.of("part", i, i + 1) and not self.of("side", i, i + 1):
                kinds.add(m.group().strip(" :="))
        return len(kinds) >= _FEWEST_GRADES and 2 * len(kinds) > len(pieces)

    def _notes_the_copy(self, h: Hit) -> bool:
        """'Please note: no barcode': a short word on this copy, with nothing of the shop's rules in it."""
        end = self.toks[h.j - 1][1]
        _, stop = self.line(end)
        behind = self.folded[end:stop].strip(" :-")
        return bool(behind) and len(behind) < _SHORT_KEY and not self.within(f"{CLASS}the shop's rules", end, stop)

    def _grades_the_copy(self, start: int, end: int) -> bool:
        """Whether a line names the record or its jacket with a grade right behind."""
        pattern = _right_grade(self.index.lexicon)
        named = [p for p in self.within("part", start, end) if getattr(p.row, "value", "") in ("disc", "jacket")]
        return any(pattern.match(self.folded, self.toks[p.j - 1][1]) for p in named)

    def _glossed(self, start: int, end: int) -> frozenset[int]:
        """Starts of lines that each say what a grade means ('VG: some marks, plays well'), where there are several."""
        found = [
            m
            for m in _grade_glosses(self.index.lexicon).finditer(self.folded, start, end)
            if not self.of("part", self.token(m.end() - 1), self.token(m.end() - 1) + 1)
        ]
        return frozenset(m.start() for m in found) if len(found) > 1 else frozenset()

    def _explains(self, a: int, b: int) -> bool:
        """Whether a line goes on with a key ('VG: some marks', 'DH = drill hole')."""
        return _GLOSS.match(self.folded, a, b) is not None

    def _defines(self, a: int, b: int) -> bool:
        """'DG = deep groove, WOL = writing on label': abbreviations, each with what it stands for, and nothing else."""
        pieces = [p for p in _PIECE.finditer(self.folded, a, b) if p.group().strip(" .")]
        return all(self._defined(p.start(), p.end()) for p in pieces)

    def _defined(self, a: int, b: int) -> bool:
        m = _GLOSS.match(self.folded, a, b)
        if m is None or self.folded[m.end(1) : m.end()].strip() != "=" or not m.group(1).isupper():
            return False
        short, long = (
            {h.row.feature for h in self.within("term", x, y) if isinstance(h.row, Term)}
            for x, y in ((m.start(1), m.end(1)), (m.end(), b))
        )
        return bool(short & long) or not short

    def _is_term_line(self, i: int) -> bool:
        return any(h.i <= i < h.j for h in self.of("term", i - 8, i + 1))

    def segment(self, at: int) -> Segment:
        """The segment at an offset."""
        n = bisect_right(self._segment_starts, at) - 1
        return self.segments[max(n, 0)]

    def claims_at(self, at: int) -> bool:
        return self.segment(at).kind in CLAIMING

    def line(self, at: int) -> tuple[int, int]:
        a = self.folded.rfind("\n", 0, at) + 1
        b = self.folded.find("\n", at)
        return a, b if b >= 0 else len(self.text)

    def key(self, at: int) -> tuple[int, int] | None:
        """The key of a 'Key: value' line whose value holds the offset."""
        a, b = self.line(at)
        m = _KEY.match(self.folded[a:b])
        return (a + m.start(1), a + m.end(1)) if m and a + m.end() <= at else None

    # --- assertion ----------------------------------------------------------------------------------------------------
    def _cues(self) -> list[Hit]:
        """The cues that lie in no longer one."""
        every = self.all_of("cue")
        every = self._with_manners(every)
        out: list[Hit] = []
        for n, h in enumerate(every):
            i, j = h.i, h.j
            # Those that begin with it come longest first.
            k = n - 1
            while k >= 0 and every[k].i >= i - 8:
                longer = every[k].j >= j and every[k].j - every[k].i > j - i
                if self._undone(every[k], h):
                    break
                if longer and not self._leads_on(every[k], h) and not self._idle(every[k], h):
                    break
                k -= 1
            else:
                out.append(h)
        more = self._not_known() if self.tongue else []
        return sorted([*out, *more], key=lambda h: (h.i, -h.j)) if more else out

    def _undone(self, pseudo: Hit, cue: Hit) -> bool:
        """Whether a denial begins inside words that undo it ('non manca la torre': 'manca la' denies nothing)."""
        a, b = pseudo.row, cue.row
        return (
            isinstance(a, CueRow)
            and isinstance(b, CueRow)
            and a.kind == "pseudo"
            and b.kind in NEGATIVE
            and pseudo.i < cue.i < pseudo.j
        )

    def _with_manners(self, cues: list[Hit]) -> list[Hit]:
        """The cues with those put together from classes of words; stand-ins put together so are kept as such."""
        together = manners(self)
        for kind in ("cue", "proform"):
            self.found.add(kind, [h for h in together if isinstance(h.row, CueRow) == (kind == "cue")])
        return self.all_of("cue") if together else cues

    def _not_known(self) -> list[Hit]:
        """Clauses that say nothing but that something is not known ('kann ich Ihnen nicht mit Bestimmtheit sagen').

        They are put together from verbs of knowing, pronouns and small words, and one that denies, in any order.
        """
        kinds = knowing_words(self.index.lexicon, self.tongue or "")
        out: list[Hit] = []
        n = 0
        while kinds and n < len(self.meant):
            m = n
            while m < len(self.meant) and self.meant[m] in kinds and (m == n or "\n" not in self._gap(m)):
                m += 1
            said = {kinds[w] for w in self.meant[n:m]}
            if {"know", "know_no"} <= said:
                ask = m + (self.words[m : m + 1] == [","])
                out.append(Hit(n, m, NOT_KNOWN_WHETHER if self.of("know_ask", ask, ask + 1) else NOT_KNOWN))
            n = max(m, n + 1)
        return out

    def _gap(self, n: int) -> str:
        """What stands between a token and the one before."""
        return self.folded[self.toks[n - 1][1] : self.toks[n][0]]

    def _leads_on(self, longer: Hit, cue: Hit) -> bool:
        """Whether a cue inside a longer one that looks back still leads on ('I can't tell whether …')."""
        a, b = longer.row, cue.row
        return (
            isinstance(a, CueRow)
            and isinstance(b, CueRow)
            and a.kind == b.kind == "unknown"
            and a.direction == "backward"
            and b.direction == "forward"
            and longer.j < len(self.words)
            and self.words[longer.j] in self.index.small["relative"]
        )

    def _idle(self, longer: Hit, cue: Hit) -> bool:
        """Whether the longer cue looks back but words follow it, so that one inside it that looks ahead has its say.

        'First press it is not.' denies what stands before it; 'this is not the 1972 reissue' what follows.
        """
        a, b = longer.row, cue.row
        return (
            isinstance(a, CueRow)
            and isinstance(b, CueRow)
            and a.direction == "backward"
            and b.direction == "forward"
            and (a.kind in NEGATIVE or a.kind == b.kind)
            and (
                b.kind in ("negation", "search", "hedge", "hearsay")
                or (b.kind == "unknown" and not self._named_before(longer.i))
            )
            and not self._stands_alone(longer)
        )

    def _named_before(self, n: int) -> bool:
        """Whether a thing is named in the clause before token n ('the number I could not read')."""
        first = self.token(self.sentence(self.toks[n][0])[0])
        a = next((k + 1 for k in range(n - 1, first - 1, -1) if self.words[k] in (",", ":", "(")), first)
        return any(self.of(kind, a, n) for kind in ("term", "part", "colour"))

    def assertion(self, start: int, end: int) -> Assertion:
        """The status of `text[start:end]`, by the cues of its sentence that reach it."""
        lo, hi, any_cues = self._scope(start)
        if not any_cues and not self.tongue:
            return PLAIN
        said = self._assertions.get((start, end))
        if said is None:
            said = self._assertions[start, end] = self._asserted(start, end, lo, hi)
        return said

    def _asserted(self, start: int, end: int, lo: int, hi: int) -> Assertion:
        i = self.token(start)
        j = max(self.token(end - 1) + 1, i + 1)
        if self.words[i - 1] == "(" or self.words[j : j + 1] == ["("]:
            i, j = self._with_its_name(i, j)
        polarity: Polarity = "present"
        certainty: Certainty = "certain"
        attribution: Attribution = "seller"
        about: Literal["this_copy", "other_copy", "hypothetical"] = "this_copy"
        deferred = False
        used: list[CueSpan] = []
        denied = 0
        near = self.cues[bisect_left(self._cue_at, max(lo, i - 40)) : bisect_left(self._cue_at, min(hi + 1, j + 12))]
        if not near and not self.tongue:
            return PLAIN
        ground = self._ground(lo, i, j)
        for hit in near:
            row = hit.row
            assert isinstance(row, CueRow)
            if hit.i < lo or hit.i > hi or row.kind in _NO_SAY:
                continue
            if ground is not None and (hit.i >= ground or (hit.i <= lo and hit.j <= i)):
                continue
            if row.kind == "hedge" and self.words[hit.i] == "?" and self.of("rhetorical", lo, hit.i):
                continue  # 'What more could one want than a mono original?'
            if hit.i < j and i < hit.j:  # a cue that runs into the term it governs ('no sign of a works' mark')
                # ('die Erstauflage hatte': there the cue is the thing itself, with what is told of it.)
                reached = (row.shared and hit.i > i) or (
                    row.direction in ("forward", "both")
                    and (
                        hit.i < i
                        or (row.kind == "other_copy" and hit.i == i and hit.j >= j + (not self.tongue))
                        or (
                            row.kind == "hedge" and hit.i == i and hit.j < j and bool(self.tongue)
                        )  # 'kommt mir leicht vor'
                    )
                )
            elif row.direction in ("forward", "both") and hit.j <= i:
                reached = (row.reach is None or i - hit.j <= row.reach) and self._forward(hit, i, row.kind, lo)
            elif row.direction in ("backward", "both") and hit.i >= j:
                reached = self._backward(hit, j, row) and (
                    denied > 0 or row.kind not in ("search", "unknown") or not self._denied_anew(j, hit.i)
                )
            else:
                continue
            if row.kind == "hypothetical" and self.tongue and attribution == "third_party":
                continue  # 'meinte, das wäre …' reports
            if row.kind in ("hypothetical", "other_copy") and any(
                isinstance(o.row, CueRow)
                and o.row.kind == "unknown"
                and (o.row.direction != "backward" or o.j <= hit.i)
                and (o.i < hit.i <= o.j <= hit.j or (0 < hit.i - o.j < _LATEST and self._or(hit.i - 1)))
                for o in near
            ):
                continue  # 'cannot tell if', 'no idea what it is or if it is damage'
            if not reached or (row.kind == "approx" and not self.words[i][:1].isdigit()):
                continue
            used.append(self._span(hit, row.kind, row.id))
            if row.kind in NEGATIVE:
                denied += row.kind == "search" or denied == 0
            if row.shared and self.words[hit.i - 1] in _VALUE:
                certainty = "unknown"  # 'Year: ?'
            elif row.kind in ("hedge", "search", "approx") and certainty == "certain":
                certainty = "hedged"
            elif row.kind == "unknown":
                certainty = "unknown"
            elif row.kind == "hearsay":
                attribution = "third_party"
                if row.certainty == "hedged" and certainty == "certain":  # 'soll … sein', 'ce serait'
                    certainty = "hedged"
            elif row.kind == "deferral":
                deferred = True
            elif row.kind == "other_copy":
                about = "other_copy"
            elif row.kind == "hypothetical":
                about = "hypothetical"
        late = self.denied_late(end) if self.tongue else None
        if late is not None and late.kind == "sought":
            if denied and certainty == "certain":
                used.append(late)
                certainty = "hedged"
        elif late is not None and late.kind != "inaudible" and not denied:
            used.append(late)
            denied += 1
            if late.kind == "search" and certainty == "certain":
                certainty = "hedged"
        if denied and certainty != "unknown":
            polarity = "absent"
        status: Status = "possible" if certainty != "certain" or attribution == "third_party" else "affirmed"
        if status == "affirmed" and polarity == "absent":
            status = "negated"
        return Assertion(status, polarity, certainty, attribution, about, deferred, tuple(used))

    def _ground(self, lo: int, i: int, j: int) -> int | None:
        """Where the conclusion begins that a sentence draws from the thing at tokens [i, j); null where it draws none.

        'Judging from the moth label this is probably not the first': what is concluded is doubtful, the label is not.
        """
        for h in self.of(f"{CLASS}in view of", max(lo, i - _GROUND), i):
            if h.j > i or (h.i > lo and self.words[h.i - 1] not in _BEFORE_A_GROUND):
                continue
            if self.of("verb_second", h.j, i) or not self.index.small["finite"].isdisjoint(self.words[h.j : i]):
                continue
            for n in range(j, min(j + _GROUND, len(self.words))):
                if self.words[n] in self.index.small["subject"] or self.words[n] == ",":
                    return n
        return None

    def _with_its_name(self, i: int, j: int) -> tuple[int, int]:
        """Tokens [i, j) with what names the same thing in brackets behind it, or before the brackets around it.

        'No plant mark (anchor)', 'His initials (DQ) are missing': what is said of the one is said of the other.
        """
        if self.words[j : j + 1] == ["("]:
            head, inside = (i, j), (j + 1, j + 1 + _IN_BRACKETS)
        else:
            heads = [h for h in self.of("term", i - 1 - _NAME, i - 1) if h.j == i - 1]
            if not heads:
                return i, j
            head, inside = (min(h.i for h in heads), i - 1), (i, j)
        close = next((n for n in range(inside[0], inside[1] + 1) if self.words[n : n + 1] == [")"]), None)
        if close is None or self.of("cue", head[1] + 1, close):
            return i, j
        named = {h.row.feature for h in self.of("term", head[1] + 1, close) if isinstance(h.row, Term)}
        known = {h.row.feature for h in self.of("term", *head) if isinstance(h.row, Term)}
        # '(side one)', '(Hobarth)' behind a thing is of the thing too.
        aside = not named and head == (i, j)
        return (head[0], close + 1) if named & known or aside else (i, j)

    def _or(self, n: int) -> bool:
        return self.words[n] in self.index.small["list_or"]

    def denied_late(self, end: int) -> CueSpan | None:
        """The denial with which the clause ends that begins with a thing, as a verb in second place lets it.

        'Rille hat sie keine', 'Barcode zit er niet op', 'Sous-pochette, il n'y en a plus': nothing stands between the
        thing and the end of its clause but verbs, pronouns and small words, and one that denies. Kind `negation`;
        `search` where something was looked for; `inaudible` where it is only not heard; `sought` where it was looked
        for and the denial stands before the thing ('kein Barcode zu finden').
        """
        kinds = self._late
        if not kinds:
            return None
        n = first = self.token(max(end - 1, 0)) + 1
        comma = n < len(self.words) and self.words[n] == ","
        n += comma
        denial, sought, found, heard = -1, False, False, False
        while n < len(self.meant) and n - first <= _LATEST and "\n" not in self._gap(n):
            kind = kinds.get(self.meant[n])
            if kind is None or (kind == "late_noun" and comma):
                break
            denial = n if kind == "late_no" and denial < 0 else denial
            sought = sought or kind in ("late_seek", "late_find")
            found = found or kind == "late_find"
            heard = heard or kind == "late_heard" or (kind == "late_hear" and denial < 0)
            n += 1
        if (denial < 0 and not found) or n == first + comma or not (n >= len(self.words) or self._closes(n)):
            return None
        a, b = self.toks[denial if denial >= 0 else first][0], self.toks[n - 1][1]
        how = "sought" if denial < 0 else "inaudible" if heard else "search" if sought else "negation"
        return CueSpan(kind=how, rule=f"{self.tongue}.late", start=a, end=b, quote=self.text[a:b])

    def _closes(self, n: int) -> bool:
        """Whether a clause ends before token n."""
        return (
            not self.words[n][:1].isalnum()
            or "\n" in self.folded[self.toks[n - 1][1] : self.toks[n][0]]
            or self.words[n] in self.index.small["contrast"]
            or any(isinstance(h.row, CueRow) and h.row.kind == "end" for h in self.of("cue", n, n + 1))
        )

    def _scope(self, start: int) -> tuple[int, int, bool]:
        """The first and last token of the sentence that holds the offset, and whether there are cues in it."""
        n = bisect_right(self.sentence_starts, start) - 1
        scope = self._scopes.get(n)
        if scope is None:
            a, b = self.sentences[n] if n >= 0 else (0, len(self.text))
            # The last token that begins before the end: a sentence may end with blanks, and the next one begin behind.
            lo, hi = self.token(a), max(bisect_left(self.starts, b) - 1, self.token(a))
            cues = bisect_left(self._cue_at, lo) < bisect_left(self._cue_at, hi + 1)
            scope = self._scopes[n] = lo, hi, cues
        return scope

    def _span(self, hit: Hit, kind: str, rule: str) -> CueSpan:
        key = (hit.i, hit.j, kind, rule)
        span = self._spans.get(key)
        if span is None:
            a, b = self.toks[hit.i][0], self.toks[hit.j - 1][1]
            span = self._spans[key] = CueSpan(kind=kind, rule=rule, start=a, end=b, quote=self.text[a:b])
        return span

    def _forward(self, hit: Hit, i: int, kind: str, lo: int) -> bool:
        """Whether the scope of a forward cue runs on to token i."""
        between = self.words[hit.j : i]
        if kind == "other_copy" and self.of("this_copy", hit.j, i):
            return False
        if kind == "other_copy" and not self.tongue and self._put_in(hit, i):
            return False
        if kind == "hypothetical" and self._turns_to_fact(hit.j, i):
            return False
        short = isinstance(hit.row, CueRow) and hit.row.reach is not None and hit.row.direction == "forward"
        if kind == "other_copy" and short and (self._comma(hit.j, i) or self.of("verb_second", hit.j, i)):
            return False  # 'unlike the original, …', 'anders als bei der Neuauflage ist …'
        if kind == "other_copy" and short and self._clause_begins(hit.j + 1, i):
            return False  # 'unlike the orange label it has the groove'
        if kind == "unknown" and (self._clause_opens(hit.j, i) or self._denied_apart(hit.j, i)):
            return False
        if kind == "unknown" and ":" in between and self.of("this_copy", hit.j - 1, hit.j + between.index(":")):
            return False  # 'Not sure about this one: green label'
        if kind == "hearsay" and (self._concludes(hit.j, i) or self._printed(hit)):
            return False
        if kind == "deferral" and ")" in between and "(" not in between:
            return False  # 'sticker (see pics), anchor in the run-out'
        if kind in ("hearsay", "other_copy", "hypothetical", "unknown", "deferral"):
            return len(between) <= 22 and not any(w in (";", "|", "•") for w in between)
        if kind == "approx":
            return len(between) <= 2
        if kind == "hedge":
            # 'Probably first press: moth label' doubts the edition. 'Unless I'm mistaken, a first press': a comma right
            # behind what opens the sentence ends nothing.
            opens = between[:1] == [","] and self._opens_sentence(hit.i)
            if "、" in between and self._told_before_comma(hit.j, i):
                return False  # 'おそらく初版、溝は両面'
            return len(between) <= 9 and ":" not in between[1:] and not self._ended(hit.j + opens, i, commas=True)
        if len(between) > 12 or self._ended(hit.j, i, commas=False) or self._another_verb(hit.j, i):
            return False
        if '"' in between and self._quoted(hit.i, lo):
            return False  # '"Tsuki no Hashi", a Japanese pressing'
        if ":" in between and not self._leads_to_list(between[: between.index(":")]):
            return False
        if not self.index.small["conclusion"].isdisjoint(between[1:]):
            return False  # 'no barcode so original'
        if "," not in between and "/" not in between:
            return len(between) <= 8
        # A comma keeps a list in scope only where an 'or', 'nor' or 'and' closes the list.
        if len([w for w in between if w == ","]) > 4:
            return False
        small, rest = self.index.small, self.words[i : i + 8]
        stop = next((n for n, w in enumerate(rest) if w in ".;!?\n" or w in small["contrast"]), len(rest))
        if "," in between and self._clause_opens(hit.j, i):
            return False  # 'no splits, the back is stained'
        closing: tuple[str, ...] = ("list_or", "list_or_foreign") if self.tongue else ("list_or",)
        if isinstance(hit.row, CueRow) and hit.row.lists:
            closing = (*closing, "list_and")
        return any(w in small[c] for w in (*between, *rest[:stop]) for c in closing)

    def _told_before_comma(self, a: int, b: int) -> bool:
        """Whether a thing is named among tokens [a, b) before the last Japanese comma, so that the doubt is of that."""
        last = max(n for n in range(a, b) if self.words[n] == "、")
        return bool(self.of("term", a, last))

    def _comma(self, a: int, b: int) -> bool:
        """Whether a comma stands among tokens [a, b) before anything but 'which' and the like."""
        relative = self.index.small["relative"]
        return any(self.words[n] == "," and self.words[n + 1] not in relative for n in range(a, b))

    def _opens_sentence(self, n: int) -> bool:
        """Whether a sentence begins with token n."""
        start = self.toks[n][0]
        a, _ = self.sentence(start)
        return not any(c.isalnum() for c in self.folded[a:start])

    def _printed(self, hit: Hit) -> bool:
        """'The run-out says …', 'The label is yellow and says …': what a part of the record says is nobody's word."""
        told = self.of(f"{CLASS}somebody", hit.i - 1, hit.j)  # 'my brother says the label has …'
        if not told and any(
            getattr(p.row, "value", "") in ("label", "jacket") for p in self.of("part", hit.j, hit.j + 2)
        ):
            return True  # 'according to the sleeve', 'laut Label'
        if hit.j - hit.i > 1 or not hit.i:
            return False
        if any(self._runs_on(p.j, hit.i) for kind in ("part", "side") for p in self.of(kind, hit.i - 4, hit.i)):
            return True
        first = self.token(self.sentence(self.toks[hit.i][0])[0])
        nobody = not self.of(f"{CLASS}somebody", first, hit.i)
        if nobody and self.of(f"{CLASS}measure", hit.i - 2, hit.i):
            return True  # 'my ruler says 12 inches'
        if self.words[hit.i - 1] == "," and nobody:  # 'The back of the sleeve, right down at the bottom, says …'
            return any(self.words[p.j] != "," or p.i - first < _SUBJECT for p in self.of("part", first, hit.i - 1))
        if not self.of("joiner", hit.i - 1, hit.i):
            return False
        part = max((p.j for p in self.of("part", first, hit.i)), default=None)
        return part is not None and not any(w in self.index.small["subject"] for w in self.words[part : hit.i])

    def _runs_on(self, a: int, b: int) -> bool:
        """Whether tokens [a, b) name nobody else: 'the record inside says', but not 'the label, the dealer says'."""
        return all(w.isalpha() and w not in self.index.small["subject"] for w in self.words[a:b]) and not self.of(
            f"{CLASS}somebody", a, b
        )

    def _quoted(self, n: int, first: int) -> bool:
        """Whether token n stands in quotation marks that opened behind token `first`; signs for inches open none."""
        return sum(self.words[k] == '"' and not self.words[k - 1].isdigit() for k in range(first, n)) % 2 == 1

    def _leads_to_list(self, words: list[str]) -> bool:
        """Whether a colon behind these words opens what is denied ('Not present: …') and not what is there instead."""
        return all(w in self.index.small["found_word"] for w in words if w[:1].isalnum())

    def _clause_opens(self, a: int, b: int) -> bool:
        """Whether a clause with a subject and a verb of its own opens behind a comma among tokens [a, b]."""
        small, words = self.index.small, self.words
        for n in range(a + 1, b + 1):
            opens = words[n - 1] == "," or (n > a + 1 and words[n - 2] == "," and words[n - 1] in small["list_and"])
            if not opens or words[n] not in small["subject"]:
                continue
            for k in range(n + 1, min(n + 5, len(words))):
                if words[k] in small["finite"]:
                    return True
                if words[k] in small["relative"] or not words[k][:1].isalnum():
                    break
        return False

    def _denied_apart(self, a: int, b: int) -> bool:
        """Whether the thing at token b is denied behind a comma: 'no sé cómo suena, se ve bien sin rayas'."""
        comma = max((n for n in range(a, b) if self.words[n] == ","), default=-1)
        return comma >= 0 and any(
            isinstance(h.row, CueRow) and h.row.kind == "negation" and h.row.direction == "forward" and h.j == b
            for h in self.cues[bisect_left(self._cue_at, comma) : bisect_left(self._cue_at, b)]
        )

    def _clause_begins(self, a: int, b: int) -> bool:
        """Whether a subject with its verb right behind it stands among tokens [a, b), without any sign before it."""
        small, words = self.index.small, self.words
        return any(words[n] in small["subject"] and words[n + 1] in small["finite"] for n in range(a, b - 1))

    def _another_verb(self, a: int, b: int) -> bool:
        """Whether a second verb opens what is said without the cue: 'it does not jump and has one scratch'."""
        small, words = self.index.small, self.words
        return any(words[n] in small["list_and"] and self._verb_opens(n + 1) for n in range(a, b))

    def _verb_opens(self, n: int) -> bool:
        """Whether a verb stands at token n, or a subject and it: 'has', "there's", 'it has', 'side two has'."""
        small, words = self.index.small, self.words
        if words[n] in small["finite"]:
            return True
        subject, _, drawn = words[n].partition("'")
        if subject not in small["subject"] or drawn:
            return bool(drawn) and subject in small["subject"]
        for k in range(n + 1, min(n + 5, len(words))):
            if words[k] in small["finite"]:
                return True
            if words[k] in small["relative"] or not words[k][:1].isalnum():
                return False
        return False

    def _turns_to_fact(self, a: int, b: int) -> bool:
        """Whether a supposition is left for what is there: 'if it had a bell it would be a first, but here …'."""
        contrast = self.index.small["contrast"]
        return any(
            self.words[n] in contrast and self.words[n - 1] == "," and self.of("this_copy", n, min(n + 4, b))
            for n in range(a + 1, b)
        )

    def _concludes(self, a: int, b: int) -> bool:
        """Whether the seller draws his own conclusion from what others said ('…, so this is a reissue')."""
        words, draws = self.words, self.index.small["conclusion"]
        return any(words[n] in draws and words[n - 1] == "," for n in range(a + 1, b))

    def _ended(self, a: int, b: int, *, commas: bool) -> bool:
        for n in range(a, b):
            w = self.words[n]
            opens = w == "," and self.words[n + 1] in self.index.small["subordinate"]
            if w in (";", "(", ")", "|", "•") or (commas and w == "," and not opens):
                return True
        return any(
            isinstance(h.row, CueRow) and h.row.kind == "end"
            for h in self.cues[bisect_left(self._cue_at, a) : bisect_left(self._cue_at, b)]
        )

    def _backward(self, hit: Hit, j: int, row: CueRow) -> bool:
        bracketed = (
            row.kind != "deferral" and self.words[hit.i - 1] == "(" and self.words[hit.j : hit.j + 1] == [")"]
        )  # 'Deep groove (none)'
        between = [w for w in self.words[j : hit.i - bracketed] if w != "."]
        if row.reach is not None and len(between) > row.reach and not (row.shared and self._one_breath(j, hit.i)):
            return False
        if "/" in between and ":" in between:
            return False  # 'Origin: England / Cut by: unknown'
        if between[-1:] == ["("] and self.words[hit.j : hit.j + 1] == [")"]:
            between = between[:-1]  # 'first pressing (I think)'
        if any(w in (";", "(", "|") for w in between) or not self.index.small["contrast"].isdisjoint(between):
            return False
        if self.tongue and row.kind == "negation" and self._turned(j, hit.i):
            return False
        if row.kind == "other_copy" and (self.of("this_copy", j, hit.i) or self._compared(hit)):
            return False
        if row.kind == "approx" and any(w == "," or w.isalpha() for w in between):
            return False  # 'of 1972, pressed about 1976'
        if row.kind == "deferral" and row.alone and not self._stands_alone(hit):
            return False
        word = self.words[hit.i]
        if row.kind == "hedge" and word.isalpha() and (self._late or (hit.j - hit.i == 1 and word.isascii())):
            # 'probably' speaks of what follows it, where anything does
            after = self.words[hit.j] if hit.j < len(self.words) else "."
            open_end = self._late and hit.j - hit.i > 1 and not self._names_more(hit.j)
            if not self._stands_alone(hit) and not self._goes_on(after) and not open_end:
                return False
        together = self.language == JAPANESE and row.kind in NEGATIVE and self._denied_together(j, hit.i)
        if together:
            return True
        if self.language == JAPANESE and row.kind in NEGATIVE and self._names_between(j, hit.i):
            return False
        if row.kind in NEGATIVE and self._behind_a_slash(j, hit.i):
            return False  # 'ラベル:サンバースト/溝無し'
        if row.kind in ("hedge", "hearsay") and between[-1:] == [","] and not self._stands_alone(hit):
            # 'an English copy, I think the first': the doubt is of what follows
            after = self.words[hit.j] if hit.j < len(self.words) else "."
            if not self._goes_on(after) and (self._names_more(hit.j) or self._clause_of_its_own(hit.j)):
                return False
        if row.kind == "hedge" and self._to_what_end(j, hit.i):
            return False  # 'a raised rim so they don't rub together, I suppose'
        if row.kind == "unknown" and "," in between and self.of("side", hit.j, hit.j + 1):
            return False  # 'PWB on side one, illegible on side two'
        if row.kind in ("unknown", "search", "hedge") and "," in between and self._nearer(j, hit.i):
            return False
        if row.kind in ("unknown", "search", "hedge") and between[-1:] == [","] and self._another_thing(j, hit.i):
            return False
        if row.kind in ("unknown", "search") and not self.tongue and "," in between and self._speaks_on(hit):
            return False
        if row.alone and row.kind == "hedge" and not self._stands_alone(hit) and not self._goes_on_at(hit.j):
            return False
        if row.kind == "hedge" and "、" in between and self._nearer(j, hit.i):
            return False
        commas = [w for w in between if w in (",", "、")]
        if row.kind in NEGATIVE and self._other_side(j, hit.i):
            return False  # 'side 1 has the address and side 2 has none'
        if row.kind in NEGATIVE and between == ["/"]:
            return False  # 'JRL / none': one side and the other
        if row.kind == "negation":
            if self._aside(j, hit.i):
                return True
            if row.verb:
                return not commas and (not row.alone or self._stands_alone(hit))
            if commas and not (between == [","] and hit.j < len(self.words) and self._stands_alone(hit)):
                return False
            words = [w for w in between if w.isalpha()]
            bare = hit.j - hit.i == 1
            answers = between[-1:] in ([":"], ["="], ["-"])  # 'Deep groove on the label: none'
            if bare and words and not answers and not self._places(j, hit.i) and self.language != JAPANESE:
                return False  # (Japanese lists are seen to above.)
            return not (bare or row.alone) or self._stands_alone(hit)
        return len(commas) <= 1

    def _behind_a_slash(self, a: int, b: int) -> bool:
        """Whether what is denied is a thing of another group, named behind a slash among tokens [a, b)."""
        if "/" not in self.words[a:b] or ":" in self.words[a:b] or self._one_breath(a, b):
            return False
        slash = max(n for n in range(a, b) if self.words[n] == "/")
        return bool(self.of("term", slash + 1, b))

    def _to_what_end(self, a: int, b: int) -> bool:
        """Whether a clause behind 'so', with its own subject, stands among tokens [a, b): the doubt is of that."""
        small, words = self.index.small, self.words
        return any(words[n] in small["conclusion"] and words[n + 1] in small["subject"] for n in range(a, b - 1))

    def _compared(self, hit: Hit) -> bool:
        """Whether what is said of other copies is only compared with ('it has no groove, unlike the early ones')."""
        if self.of(f"{CLASS}met with", hit.i - 2, hit.i):
            return True  # 'it lacks the barcode found on later ones'
        near = self.cues[bisect_left(self._cue_at, hit.i - _COMPARED) : bisect_left(self._cue_at, hit.i)]
        return any(
            isinstance(c.row, CueRow)
            and c.row.kind == "other_copy"
            and c.row.direction == "forward"
            and 0 <= hit.i - c.j < 2
            and self.words[c.i - 1] == ","
            for c in near
        )

    def _put_in(self, hit: Hit, i: int) -> bool:
        """Whether the comparison is put in between commas before token i ('my copy, unlike the first, has no ring')."""
        if hit.i == 0 or self.words[hit.i - 1] != ",":
            return False
        close = next((n for n in range(hit.j, i) if self.words[n] == ","), i)
        return close + 1 < i and self.words[close + 1] in self.index.small["finite"]

    def _aside(self, a: int, b: int) -> bool:
        """Whether tokens [a, b) are only put in between commas ('the inner, as so often, is missing')."""
        if self.words[a] != "," or self.words[b - 1] != "," or not 2 < b - a <= _ASIDE:
            return False
        named = any(self.of(kind, a, b) for kind in ("term", "part", "colour"))
        return not named and self.words[b] in self.index.small["finite"]

    def _other_side(self, a: int, b: int) -> bool:
        """Whether a side opens a clause of its own behind an 'and' or a comma among tokens [a, b)."""
        ties = self.index.small["list_and"] | {","}
        return any(h.i > a and self.words[h.i - 1] in ties for h in self.of("side", a, b))

    def _one_breath(self, j: int, cue: int, marks: frozenset[str] = _BREATH) -> bool:
        """Whether nothing but things of the same group stands between the thing that ends at j and the cue."""
        ended = [h for h in self.of("term", max(j - 10, 0), j) if h.j == j]
        groups = {h.row.feature.partition(".")[0] for h in ended if isinstance(h.row, Term)}
        n = j
        while n < cue:
            step = max(
                (
                    h.j
                    for h in self.of("term", n, n + 1)
                    if isinstance(h.row, Term) and h.row.feature.partition(".")[0] in groups
                ),
                default=n + 1 if self.words[n] in marks or self._place(n) else 0,
            )
            if not step:
                return False
            n = step
        return n == cue > j

    def _another_thing(self, a: int, b: int) -> bool:
        """Whether a new thing is named in between, to which an afterthought belongs ('… and a small D, I think')."""
        joins = self.index.small["list_and"]
        return any(self.words[n] in joins and bool(self.of("indefinite", n + 1, n + 2)) for n in range(a, b - 1))

    def _places(self, a: int, b: int) -> bool:
        return all(self._place(n) for n in range(a, b) if self.words[n][:1].isalnum())

    def _place(self, n: int) -> bool:
        """Whether token n is of words that say where a thing is ('® on the label (?)')."""
        return any(self.of(kind, n, n + 1) for kind in ("part", "upon", "side", "side_tie"))

    def _denied_anew(self, a: int, b: int) -> bool:
        """Whether another thing is denied in between, to which the cue belongs ('LP-10-B and no anchor that I saw')."""
        return any(
            isinstance(h.row, CueRow) and h.row.kind == "negation" and h.row.direction == "forward"
            for h in self.cues[bisect_left(self._cue_at, a) : bisect_left(self._cue_at, b)]
        )

    def _turned(self, a: int, b: int) -> bool:
        """Whether the clause turns between a thing and the denial behind it ('あり', 'aber')."""
        return any(
            isinstance(h.row, CueRow) and h.row.kind == "end" and h.row.direction == "both"
            for h in self.cues[bisect_left(self._cue_at, a) : bisect_left(self._cue_at, b)]
        )

    def _clause_of_its_own(self, n: int) -> bool:
        """Whether a clause of some words with a verb follows ('…, I believe only the export copies had that')."""
        end = next((k for k in range(n, min(n + 8, len(self.words))) if not self.words[k][:1].isalnum()), n + 8)
        return any(self.words[k] in self.index.small["finite"] for k in range(n + 2, min(end, len(self.words))))

    def _names_more(self, n: int) -> bool:
        """Whether something is named in the next words, so that the doubt is of that ('on dirait une ancre')."""
        return any(self.of(kind, n, n + 4) for kind in ("term", "picture", "colour"))

    def _goes_on_at(self, n: int) -> bool:
        """Whether the next clause is only tied on at token n, or the text ends there."""
        return n >= len(self.words) or self._goes_on(self.words[n])

    def _speaks_on(self, hit: Hit) -> bool:
        """Whether a cue that something is not known has its own object behind it ('green, I can't tell the year')."""
        return not self._stands_alone(hit) and not self._goes_on_at(hit.j)

    def _goes_on(self, word: str) -> bool:
        """Whether the word only ties the next clause to this one."""
        return word in self.index.small["contrast"] or word in self.index.small["list_and"]

    def _names_between(self, j: int, cue: int) -> bool:
        """Whether the denial at the end is of a nearer thing: Japanese denies what stands directly before it, and all
        of a list only where nothing but the marks of a list is between ('バーコード・カットなし')."""
        named = {n for kind in ("term", "colour") for h in self.of(kind, j, cue) for n in range(h.i, min(h.j, cue))}
        return bool(named) and not self.index.small["list_ja"].issuperset(
            w for n, w in enumerate(self.words[j:cue], j) if n not in named
        )

    def _denied_together(self, j: int, cue: int) -> bool:
        """Whether a Japanese list is denied as a whole: it says so ("ともになし"), or names things of one kind one
        after another with nothing said of the first ("キズ、反りなし")."""
        tail = "".join(self.words[max(j, cue - 6) : cue])
        if any(tail.endswith(w) for w in self.index.small["list_all"]):
            return True
        found = [h for h in self.of("term", max(j - 10, 0), j) if h.j == j]
        ended = [h.row for h in found if isinstance(h.row, Term)]
        at = self.toks[min((h.i for h in found), default=j)][0]
        if self.folded.endswith(tuple(self.index.small["a_little"]), 0, at):
            return False  # 'わずかにチリノイズ、針飛びはございません': the first is there
        # 'スレあり、音飛びなし': what is said to be there is not denied with what follows it.
        told = any(self._turned(h.i, j) for h in found)
        bare = not told and any(row.value is None or row.feature == "condition.defects" for row in ended)
        return bare and self._one_breath(j, cue, self.index.small["list_ja"])

    def _nearer(self, j: int, cue: int) -> bool:
        """Whether another thing stands behind a comma before the cue: then the cue speaks of that one."""
        comma = next(n for n in range(j, cue) if self.words[n] in (",", "、"))
        closers = self.index.small["list_and"] | self.index.small["list_or"] | {"&", "/"}
        listed = not closers.isdisjoint(self.words[comma + 1 : cue])
        named = bool(self.of("term", comma + 1, cue))
        if self.language == JAPANESE and not named:  # '米国プレス、70年代前半のものだと思います'
            named = any(w[:1].isdigit() for w in self.words[comma + 1 : cue])
        return not listed and named

    def _stands_alone(self, hit: Hit) -> bool:
        """Whether nothing of the clause follows the cue ('Acorn, no.')."""
        if hit.j >= len(self.words):
            return True
        nxt = self.folded[self.toks[hit.j - 1][1] : self.toks[hit.j][0]]
        return "\n" in nxt or self.words[hit.j] in (".", ",", ";", "!", ")", "|", "/", "-")

    def carrier(self, start: int, end: int, *, outside: bool = False) -> tuple[str | None, CueSpan | None]:
        """The part of the record that the stretch is said to be on: the nearest one named in its sentence.

        With `outside` what the stretch itself names does not count ('some marks' are of what stands beside them).
        """
        a, b = self.sentence(start)
        best: tuple[int, Hit] | None = None
        for h in self.within("part", max(a, start - 400), min(b, end + 400)):
            at, to = self.toks[h.i][0], self.toks[h.j - 1][1]
            if getattr(h.row, "value", "") == "disc" and _NUMBER.match(self.folded, to):
                continue  # 'LP-1041' is a number, not the disc
            if outside and start <= at < end:
                continue
            far = start - to if to <= start else max(at - end, 0) + 4
            if best is None or far < best[0]:
                best = far, h
        if best is None:
            return None, None
        return str(getattr(best[1].row, "value", "")), self._span(best[1], "carrier", getattr(best[1].row, "id", ""))

    def segment_kind(self, at: int) -> SegmentKind:
        return self.segment(at).kind
