"""Listing → claims. Terms are found by the index; what they say of this copy is decided by the analysis."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.claims.analysis import Analysis, Assertion
from sayso.claims.index import Hit
from sayso.lexicon.terms import Term, Word
from sayso.model import CLAIMING, Claim, Cue, Deferral, Listing, Polarity, Role, Side

if TYPE_CHECKING:
    from sayso.claims.answers import Said
    from sayso.lexicon import Lexicon

RECORD, JACKET = "condition.vinyl_grade", "condition.jacket_grade"
_YEAR = re.compile(r"(?<![A-Za-z0-9./-])(?:(19[2-9]\d|20[0-3]\d)(s?)|'(\d\d)|((?:19)?[2-9]0)'?s)(?![A-Za-z0-9/])")
_WEIGHT = re.compile(r"\b(\d{2,3})\s{0,2}-?(?:g|gr|grams?|gramm|grammes|gram|grammi|gramos|グラム)\b\.?", re.I)
_DAYS = re.compile(r"\b(\d{1,2}|seven|fourteen|thirty)[\s-]*(?:days?|Tagen?|jours|dagen|giorni|días|日)", re.I)
_CODE = re.compile(
    r"(?<![A-Za-z0-9])(?:[A-Z]{1,5}[ -]{0,2}\d{1,6}(?:[ -]{0,2}\d+)*[ -]{0,2}[A-H]?(?:[ -]{0,2}\d{1,2})?[A-Z]?"
    r"|-?\d{1,2}[A-H]|-\d[A-Z]?|[AB][- ]{0,2}\d{1,2})(?![A-Za-z0-9])"
)
_ITEM = re.compile(r"^[ \t]*(?:\(?(?:\d{1,2}|[A-Z]|[ivx]{1,4})[.):]|Nr\.? ?\d|#\d)[ \t]", re.M)
_PAIR = re.compile(
    r"(?<![A-Za-z0-9-])(\d{1,2}) ?([A-Z]{1,3})(?:\s*(?:/|,|and|&)\s*)(\d{1,2}) ?([A-Z]{1,3})(?![A-Za-z0-9])"
)
_MOTHER = re.compile(r"\w+ (\d{1,2})\W+(?:[a-z]+ )?([A-Z]{1,3})(?: [a-z]+ |\s?/\s?)([A-Z]{1,3})(?!\w)")
_AND = frozenset(
    {(), ("w", "/"), ("y",), ("and",), ("/",), ("&",), ("-",), ("with",), ("et",), ("e",), ("en",), ("und",)}
)
_NUMBERED = {"seven": "7", "fourteen": "14", "thirty": "30"}


@dataclass(frozen=True)
class Reading:
    """What was read: the listing with its segments, its claims and deferrals, and the analysis they rest on."""

    listing: Listing
    claims: tuple[Claim, ...]
    deferrals: tuple[Deferral, ...]
    analysis: Analysis


@lru_cache(maxsize=8)
def _grades(lexicon: Lexicon) -> re.Pattern[str]:
    symbols = sorted({f for w in lexicon.words if w.kind == "grade" for f in w.forms}, key=len, reverse=True)
    words = sorted({f for w in lexicon.words if w.kind == "grade_word" for f in w.forms}, key=len, reverse=True)
    return re.compile(
        rf"(?<![A-Za-zÀ-ɏ0-9_+'-])(?:(?P<s>(?:{'|'.join(symbols)})(?:\s?\+\+|\s?\+|-(?!\w))?)(?![A-Za-zÀ-ɏ0-9_'&])|(?<![A-Za-zÀ-ɏ0-9_])(?P<w>{'|'.join(words)})(?![A-Za-zÀ-ɏ0-9_]))"
    )


def read(listing: Listing, lexicon: Lexicon) -> Reading:
    """All that the listing claims of the copy on offer. Pure."""
    analysis = Analysis(listing, lexicon)
    reader = _Reader(analysis, lexicon)
    reader.run()
    listing = listing.model_copy(update={"segments": analysis.segments})
    return Reading(listing, tuple(reader.claims), tuple(reader.deferrals), analysis)


def read_reply_answer(
    listing: Listing, start: int, end: int, features: tuple[str, ...], question: str, lexicon: Lexicon
) -> tuple[list[Claim], list[Deferral]]:
    """What `text[start:end]` says as the answer to a question about `features`. Pure."""
    reader = _Reader(Analysis(listing, lexicon), lexicon)
    reader.run()
    reader.answer(start, end, features, question)
    return (
        [c for c in reader.claims if start <= c.start < end],
        [d for d in reader.deferrals if start <= d.start < end],
    )


class _Reader:
    def __init__(self, analysis: Analysis, lexicon: Lexicon) -> None:
        self.a = analysis
        self.lexicon = lexicon
        self.claims: list[Claim] = []
        self.deferrals: list[Deferral] = []
        self.seen: set[tuple[object, ...]] = set()
        self.everything = len(analysis.toks)
        lines = [m.start() for m in _ITEM.finditer(analysis.folded)]
        self.items = lines if len(lines) >= 2 and analysis.of("lot", 0, self.everything) else []

    def run(self) -> None:
        for hit in self._terms():
            self._term(hit)
        self._read_quoted()
        self._read_grades()
        self._read_years()
        self._read_weights()
        self._read_codes()
        self._read_stampers()
        self._read_clock()
        self._read_designs()
        self._read_pictures()
        self._read_deferrals()
        self.claims.sort(key=lambda c: (c.start, c.end))

    def _parts(self, start: int, end: int, *kinds: str) -> list[tuple[Hit, str]]:
        """The words for these parts of the record that begin in `text[start:end]`, with the part."""
        found = self.a.within("part", start, end)
        return [(p, p.row.value) for p in found if isinstance(p.row, Word) and p.row.value in kinds]

    # --- terms --------------------------------------------------------------------------------------------------------
    def _terms(self) -> list[Hit]:
        """The terms, each feature's longest where they overlap, without those whose neighbours cancel them."""
        terms = self.a.of("term", 0, self.everything)
        out: list[Hit] = []
        for h in terms:
            row = h.row
            assert isinstance(row, Term)
            if any(
                isinstance(o.row, Term) and o.row.feature == row.feature and h.j <= o.j and o.j - o.i > h.j - h.i
                for o in self.a.of("term", h.i - 8, h.i + 1)
            ):
                continue
            if any(
                isinstance(o.row, Term) and o.row.feature == row.feature and o.i < h.i < o.j < h.j for o in out[-4:]
            ):
                continue
            start, end = self.a.toks[h.i][0], self.a.toks[h.j - 1][1]
            after = " ".join(self.a.folded[end : end + 40].lower().split(" ")).lstrip(" ").replace("  ", " ")
            before = self.a.folded[max(0, start - 40) : start].lower().replace("  ", " ").rstrip(" ")
            if any(after.startswith(w) and not after[len(w) : len(w) + 1].isalpha() for w in row.not_before):
                continue
            if any(before.endswith(w) for w in row.not_after):
                continue
            if row.only_before and not after.startswith(row.only_before):
                continue
            if row.only_after and not before.endswith(row.only_after):
                continue
            if row.kind == "under" and not self._under(h, row.feature):
                continue
            if "deadwax" in row.needs and not self._near_wax(h):
                continue
            out.append(h)
        return out

    def _under(self, h: Hit, feature: str) -> bool:
        """Whether the sentence names the thing of which this word alone is a value."""
        a, b = self.a.sentence(self.a.toks[h.i][0])
        return any(
            isinstance(o.row, Term)
            and o.row.feature == feature
            and o.row.kind == "topic"
            and (0 <= h.i - o.j <= 4 or 0 <= o.i - h.j <= 1)
            for o in self.a.within("term", a, b)
        )

    def _a_name(self, h: Hit) -> bool:
        """Whether a picture word is only part of a title or of a name: capitals in the title, far from the run-out."""
        start = self.a.toks[h.i][0]
        return self.a.segment(start).kind == "title" and self.a.text[start].isupper() and not self._near_wax(h)

    def _near_wax(self, h: Hit) -> bool:
        at = self.a.toks[h.i][0]
        a, b = self.a.sentence(at)
        a, b = max(a, at - 400), min(b, at + 400)
        return (
            any(p.i < h.i or p.j > h.j for p, _ in self._parts(a, b, "deadwax"))
            or any(
                isinstance(o.row, Term) and o.row.feature.startswith("deadwax") and not o.row.needs
                for o in self.a.within("term", a, b)
            )
            or bool(_CODE.search(self.a.folded, a, b))
        )

    def _term(self, h: Hit) -> None:
        row = h.row
        assert isinstance(row, Term)
        start, end = self.a.toks[h.i][0], self.a.toks[h.j - 1][1]
        if row.kind in ("carrier", "topic") or self._of_a_name(h):
            return
        feature = row.feature
        if row.kind == "address" and row.value is not None:
            part, _ = self.a.carrier(start, end)
            feature = "jacket.address" if part == "jacket" else feature
        if row.kind == "design" or (feature == "deadwax.plant_mark" and self._a_name(h)):
            return
        value = row.value
        said = self.a.assertion(start, end)
        if row.kind == "mention" and said.certainty != "unknown":
            return
        if row.polarity == "absent":
            said = replace(
                said, polarity="present", certainty="certain" if said.certainty == "unknown" else said.certainty
            )
        if feature == "deadwax.plant_mark" and row.value is not None and said.status == "affirmed" and self._naive(h):
            said = replace(said, status="possible", certainty="hedged")
        if row.kind == "ignorance":
            said = Assertion("possible", "present", "unknown", "seller", "this_copy", False, said.cues)
        said = self._asked_and_answered(end, said)
        polarity: Polarity = row.polarity if said.polarity == "present" else "absent"
        if feature == "terms.returns" and polarity == "present":
            a, b = self.a.sentence(start)
            days = _DAYS.search(self.a.folded, a, b)
            value = f"{_NUMBERED.get(days.group(1).lower(), days.group(1))} days" if days else value
        if feature == "condition.play_tested" and said.polarity == "absent" and row.polarity == "present":
            value = "visual only"
        if row.kind == "sealed":
            self._add(JACKET, start, end, said, polarity, value, h)
        if feature == "deadwax.matrix" and any(
            c.feature == "deadwax.matrix" for c in self.claims[-12:] if abs(c.start - start) < 40
        ):
            return
        for each in (feature, *row.also):
            self._add(each, start, end, said, polarity, value, h)

    def _asked_and_answered(self, end: int, said: Assertion) -> Assertion:
        """'Deep groove? Yes': the seller's own question with his answer behind it on the line."""
        from sayso.claims.answers import manner

        close = self.a.folded.find("\n", end)
        rest = self.a.folded[end : close if close >= 0 else len(self.a.folded)]
        m = re.match(r"[^.!?\n]{0,24}\?\s+(?=\S)", rest)
        if not m or self.a.segment(end - 1).kind == "title":
            return said
        how, _ = manner(rest[m.end() : m.end() + 60], self.lexicon)
        cues = tuple(c for c in said.cues if c.start < end)
        if how in ("no", "none"):
            return replace(said, polarity="absent", certainty="certain", status="negated", cues=cues)
        if how in ("yes", "both"):
            return replace(said, polarity="present", certainty="certain", status="affirmed", cues=cues)
        return said

    def _of_a_name(self, h: Hit) -> bool:
        """'Strand plays Liszt': in a title, a verb of playing with a name behind it is the music."""
        row, start = h.row, self.a.toks[h.i][0]
        if not isinstance(row, Term) or row.feature != "condition.play_tested" or h.j >= len(self.a.toks):
            return False
        nxt = self.a.toks[h.j][0]
        return self.a.segment(start).kind == "title" and self.a.text[nxt].isupper()

    def _naive(self, h: Hit) -> bool:
        """'A funny little acorn': told as something found, not as the mark it is known to be."""
        return bool(self.a.of("naive", h.i - 5, h.i)) and bool(self.a.of("indefinite", h.i - 5, h.i))

    def _side(self, start: int, end: int) -> Side | None:
        """The side named in the same clause."""
        a, b = self.a.sentence(start)
        left = max(a, self.a.folded.rfind(",", a, start) + 1, self.a.folded.rfind(";", a, start) + 1)
        right = min(x for x in (self.a.folded.find(",", end, b), self.a.folded.find(";", end, b), b) if x >= 0)
        for s in self.a.within("side", max(left, start - 300), min(right, end + 300)):
            if isinstance(s.row, Word):
                return s.row.value  # type: ignore[return-value]
        return None

    def _add(
        self,
        feature: str,
        start: int,
        end: int,
        said: Assertion,
        polarity: Polarity,
        value: str | int | None,
        hit: Hit | None,
        *,
        role: Role | None = None,
        sided: bool = True,
        rule: str = "term",
    ) -> None:
        if not self.a.claims_at(start) or said.about != "this_copy":
            return
        if not any(c.isalnum() for c in self.a.text[start:end]):
            i = self.a.token(start)
            start = self.a.toks[max(i - 1, 0)][0]
            end = self.a.toks[min(i + 1, len(self.a.toks) - 1)][1]
        quote = self.a.text[start:end]
        if said.deferred:
            self.deferrals.append(Deferral(feature=feature, start=start, end=end, quote=quote, cues=said.cues))
            return
        side = self._side(start, end) if sided and feature.split(".")[0] in ("deadwax", "label") else None
        certainty = said.certainty
        if certainty == "unknown":
            polarity = "present"
        item = self._item(start)
        key = (feature, polarity, certainty, said.attribution, side, str(value).lower(), role, item)
        if key in self.seen:
            return
        self.seen.add(key)
        own = Cue(kind="term", rule=f"{rule}:{feature}", start=start, end=end, quote=quote)
        self.claims.append(
            Claim(
                feature=feature,
                polarity=polarity,
                certainty=certainty,
                attribution=said.attribution,
                side=side,
                value=value,
                role=role,
                item=item,
                start=start,
                end=end,
                quote=quote,
                segment=self.a.segment(start).kind,
                cues=(own, *said.cues),
            )
        )
        if feature.startswith(("label.deep", "deadwax.plant", "deadwax.mastering")):
            self._twin(self.claims[-1])

    def _item(self, at: int) -> int | None:
        """The number of the record in a lot whose line this is."""
        n = bisect_right(self.items, at) - 1
        if n < 0:
            return None
        line = self.a.folded.find("\n", self.items[n])
        return n + 1 if line < 0 or at < line else None

    def _twin(self, claim: Claim) -> None:
        """'Side two only': the other side is denied by the same words."""
        a, b = self.a.sentence(claim.start)
        near = self.a.within("only", max(a, claim.start - 30), min(b, claim.end + 30))
        if claim.side in ("a", "b") and claim.polarity == "present" and near:
            other: Side = "b" if claim.side == "a" else "a"
            twin = claim.model_copy(update={"side": other, "polarity": "absent"})
            if not any(c.feature == claim.feature and c.side == other for c in self.claims):
                self.claims.append(twin)

    # --- answers ------------------------------------------------------------------------------------------------------
    def answer(self, start: int, end: int, features: tuple[str, ...], question: str) -> None:
        """Reads a passage as the answer to a question about these features."""
        from sayso.claims.analysis import Analysis
        from sayso.claims.answers import answer_of, manner, named

        asked = Analysis(Listing(text=question), self.lexicon) if question else None
        topics = named(asked, 0, len(question)) if asked else {}
        choice = any(isinstance(h.row, Word) and h.row.kind == "question_or" for h in (asked.hits if asked else ()))
        # 'No, a single sleeve': the yes or no speaks of the value asked for, the words behind it of another.
        behind = start + manner(self.a.text[start:end], self.lexicon)[1] + 1
        valued = {f for f, t in topics.items() if t.value is not None}
        free = {
            c.feature for c in self.claims if start <= c.start < end and (c.feature not in valued or c.start < behind)
        }
        wanted = tuple(f for f in features if f not in free)
        self._take(answer_of(self.a, start, end, wanted, topics, self.lexicon, choice=choice))

    def _take(self, said: Iterable[Said]) -> None:
        for s in said:
            how = self.a.assertion(s.start, s.end)
            how = replace(how, certainty=s.certainty, polarity=s.polarity, about="this_copy", deferred=False)
            before = len(self.claims)
            self._add(s.feature, s.start, s.end, how, s.polarity, s.value, None, sided=False, rule="answer")
            if len(self.claims) > before and s.side:
                self.claims[-1] = self.claims[-1].model_copy(update={"side": s.side})

    def _read_quoted(self) -> None:
        """Quoted questions with their answers below."""
        from sayso.claims.answers import answer_of, named

        segments = self.a.segments
        for n, seg in enumerate(segments[:-1]):
            after = segments[n + 1]
            if seg.kind != "question" or after.kind not in CLAIMING:
                continue
            last = self.a.folded.rstrip().rfind("\n", seg.start, seg.end - 1) + 1
            topics = named(self.a, max(last, seg.start), seg.end)
            blank = self.a.folded.find("\n\n", after.start, after.end)
            end = blank if blank > after.start + 1 else after.end
            features = tuple(
                f for f in topics if f not in {c.feature for c in self.claims if after.start <= c.start < end}
            )
            self._take(answer_of(self.a, after.start, end, features, topics, self.lexicon))

    # --- grades -------------------------------------------------------------------------------------------------------
    def _read_grades(self) -> None:
        found = [m for m in _grades(self.lexicon).finditer(self.a.folded) if self._claiming(m.start())]
        used: set[int] = set()
        for n, m in enumerate(found):
            if n in used:
                continue
            nxt = found[n + 1] if n + 1 < len(found) else None
            gap = self.a.folded[m.end() : nxt.start()] if nxt else ""
            part = self._grade_part(m.start(), m.end())
            symbol = m.group("s") or ""
            if (
                nxt
                and re.fullmatch(r"\s*[/|]\s*|\s+", gap)
                and nxt.group("s")
                and (part is None or ("/" in gap and not part[1]))
            ):
                used.add(n + 1)
                line_a, line_b = self.a.line(m.start())
                order = (RECORD, JACKET)
                first = [value for _, value in self._parts(line_a, min(line_b, line_a + 2000), "disc", "jacket")]
                if len(first) >= 2 and first[0] == "jacket":
                    order = (JACKET, RECORD)
                for feature, g in zip(order, (m, nxt), strict=True):
                    self._grade(feature, g)
                continue
            if part is None:
                if m.group("w") or (len(re.sub(r"[+-]", "", symbol)) < 2 and not re.search(r"[+-]", symbol)):
                    continue
                feature = RECORD
            else:
                if m.group("w") and not part[1]:
                    continue
                feature = JACKET if part[0] == "jacket" else RECORD
            if len(symbol) == 1 and (part is None or not part[1]):
                continue
            self._grade(feature, m)

    def _claiming(self, at: int) -> bool:
        return self.a.segment(at).kind in CLAIMING

    def _grade(self, feature: str, m: re.Match[str]) -> None:
        said = self.a.assertion(m.start(), m.end())
        value = re.sub(r"\s+(?=\+)", "", m.group())
        self._add(feature, m.start(), m.end(), said, "present", value, None, rule="grade")

    def _grade_part(self, start: int, end: int) -> tuple[str, bool] | None:
        """Record or jacket, and whether the noun stands right beside the grade."""
        a, _ = self.a.line(start)
        _, b = self.a.sentence(start)
        best: tuple[int, str] | None = None
        named = [(p, value) for p, value in self._parts(max(a, start - 300), min(b, end + 100), "disc", "jacket")]
        built = [h for h in self.a.within("term", max(a, start - 40), start) if isinstance(h.row, Term)]
        named += [(h, "jacket") for h in built if h.row.feature == "jacket.construction"]  # type: ignore[union-attr]
        for p, value in named:
            at, to = self.a.toks[p.i][0], self.a.toks[p.j - 1][1]
            if to <= start and at >= a:
                between = self.a.folded[to:start]
                far = len(between) + (30 if re.search(r"[.;]\s", between) else 0)
            elif at >= end and at < b:
                between = self.a.folded[end:at]
                if "," in between or "/" in between:
                    continue
                far = 0 if between == " " else len(between) + 25
            else:
                continue
            if best is None or far < best[0]:
                best = far, value
        return (best[1], best[0] <= 14) if best else None

    # --- numbers ------------------------------------------------------------------------------------------------------
    def _read_years(self) -> None:
        for m in _YEAR.finditer(self.a.folded):
            if not self._claiming(m.start()):
                continue
            value: str | int
            if m.group(1):
                value = m.group(1) + "s" if m.group(2) else int(m.group(1))
            elif m.group(3):
                value = 1900 + int(m.group(3))
            else:
                value = f"19{m.group(4)[-2:]}s"
            a, b = self.a.sentence(m.start())
            role = ""
            best = 40
            for h in self.a.within("role", max(a, m.start() - 80), min(b, m.end() + 80)):
                at, to = self.a.toks[h.i][0], self.a.toks[h.j - 1][1]
                far = m.start() - to if to <= m.start() else at - m.end() + 1
                if 0 <= far < best or (0 <= far == best and h.j - h.i > 1):
                    best, role = far, str(h.row.value) or "none"  # type: ignore[union-attr]
            if role == "none" or (best == 40 and m.group(4) and not m.group(2)):
                continue
            said = self.a.assertion(m.start(), m.end())
            if said.polarity == "absent" and role != "pressed":
                continue
            if said.polarity == "absent" and not self.a.folded.endswith(" in ", 0, m.start()):
                continue
            told: Role = role if role in ("pressed", "released", "recorded") else "unspecified"  # type: ignore[assignment]
            self._add("edition.year", m.start(), m.end(), said, said.polarity, value, None, role=told, rule="year")

    def _read_weights(self) -> None:
        for m in _WEIGHT.finditer(self.a.folded):
            if 30 <= int(m.group(1)) <= 400:
                said = self.a.assertion(m.start(), m.end())
                self._add("disc.weight", m.start(), m.end(), said, said.polarity, int(m.group(1)), None, rule="weight")

    def _read_stampers(self) -> None:
        """A number and letters for each side ('3 RT and 4 GH') where the run-out is spoken of."""
        for h in self.a.of("stamper", 0, self.everything):
            start = self.a.toks[h.i][0]
            m = _MOTHER.match(self.a.folded[start : start + 60])
            if m:
                value = f"{m.group(1)}{m.group(2)}/{m.group(1)}{m.group(3)}"
                said = self.a.assertion(start, start + m.end())
                self._add(
                    "deadwax.stamper_code", start, start + m.end(), said, said.polarity, value, None, rule="mother"
                )
        for m in _PAIR.finditer(self.a.folded):
            a, b = self.a.sentence(m.start())
            near = any(abs(c.start - m.start()) < 80 and c.feature == "deadwax.matrix" for c in self.claims[-8:])
            if len(m.group(2)) + len(m.group(4)) < 2 or not (near or self.a.within("stamper", a, b)):
                continue
            value = f"{m.group(1)}{m.group(2)}/{m.group(3)}{m.group(4)}"
            said = self.a.assertion(m.start(), m.end())
            self._add("deadwax.stamper_code", m.start(), m.end(), said, said.polarity, value, None, rule="stampers")

    def _read_clock(self) -> None:
        """A lone number and a lone letter told by where they stand ('at nine o'clock a tiny 1, at three a G')."""
        done = -1
        for hit in self.a.of("clock", 0, self.everything):
            at = self.a.toks[hit.i][0]
            a, b = self.a.line(at)
            if a == done:
                continue
            done = a
            stretch = self.a.folded[at:b]
            digit = re.search(r"(?<![\w-])\d{1,2}(?![\w-])", stretch)
            letter = re.search(r"(?<![\w'-])(?!A\b|I\b)[A-Z]{1,2}(?![\w'-])", stretch)
            if not digit or not letter:
                continue
            said = self.a.assertion(at, self.a.toks[hit.j - 1][1])
            said = replace(said, certainty="hedged", status="possible", polarity="present")
            end = at + max(digit.end(), letter.end())
            self._stamp(at, end, said, digit.group() + letter.group(), "a")
            other = self.a.within("side", end, b)
            if not other:
                continue
            start = self.a.toks[other[0].i][0]
            rest = self.a.folded[start:b]
            second = re.search(r"(?<![\w'-])(?!A\b|I\b)[A-Z]{1,2}(?![\w'-])", rest)
            number = re.search(r"(?<![\w-])\d{1,2}(?![\w-])", rest)
            if second:
                value = (number or digit).group() + second.group()
                self._stamp(start, start + second.end(), said, value, "b")

    def _stamp(self, start: int, end: int, said: Assertion, value: str, side: Side) -> None:
        before = len(self.claims)
        self._add("deadwax.stamper_code", start, end, said, "present", value, None, sided=False, rule="clock")
        if len(self.claims) > before:
            self.claims[-1] = self.claims[-1].model_copy(update={"side": side})

    def _read_deferrals(self) -> None:
        """'See the pictures for the cover's state': what is pointed at, by part and purpose."""
        for hit in self.a.cues:
            if hit.row.kind != "deferral":
                continue
            at, to = self.a.toks[hit.i][0], self.a.toks[hit.j - 1][1]
            a, b = self.a.sentence(at)
            if not self.a.claims_at(at):
                continue
            parts = {value for _, value in self._parts(a, b, "disc", "jacket", "deadwax")}
            state = bool(self.a.within("state", a, b))
            features: list[str] = []
            if "jacket" in parts and state:
                features.append(JACKET)
            if "disc" in parts and state:
                features.append(RECORD)
            if state and not parts & {"disc", "jacket"}:
                features += [RECORD, JACKET, "condition.defects"]
            if "deadwax" in parts and not state:
                features += [f for f in self.lexicon.features if f.startswith("deadwax.") and f != "deadwax.lettering"]
            told = {c.feature for c in self.claims} | {d.feature for d in self.deferrals}
            cue = Cue(kind="deferral", rule=hit.row.id, start=at, end=to, quote=self.a.text[at:to])  # type: ignore[union-attr]
            quote = self.a.text[a:b].strip()
            start = a + self.a.text[a:b].index(quote)
            for f in features:
                if f not in told:
                    self.deferrals.append(
                        Deferral(feature=f, start=start, end=start + len(quote), quote=quote, cues=(cue,))
                    )

    def _read_codes(self) -> None:
        """Strings of the run-out, where a word of the run-out stands in the sentence or two of them are joined."""
        for a, b in self.a.sentences:
            wax = bool(self._parts(a, b, "deadwax"))
            found = [m for m in _CODE.finditer(self.a.folded, a, b) if re.search(r"\d", m.group())]
            n = 0
            while n < len(found):
                m = found[n]
                nxt = found[n + 1] if n + 1 < len(found) else None
                joined = bool(nxt) and re.fullmatch(r"\s*/\s*", self.a.folded[m.end() : nxt.start()])  # type: ignore[union-attr]
                ends = re.search(r"(?:[A-H][- ]?\d{0,2}|-\d[A-Z]?|\d[A-H])$", m.group())
                if joined and nxt and (wax or ends) and (ends or re.search(r"[A-H]\d*$", nxt.group())):
                    said = self.a.assertion(m.start(), m.end())
                    value = f"{m.group()}/{nxt.group()}"
                    self._code(m.start(), nxt.end(), said, value, "both")
                    n += 2
                    continue
                stampers = self.a.within("stamper", max(a, m.start() - 22), m.start())
                if stampers:
                    said = self.a.assertion(m.start(), m.end())
                    self._add(
                        "deadwax.stamper_code", m.start(), m.end(), said, said.polarity, m.group(), None, rule="code"
                    )
                elif (wax and ends and len(m.group()) >= 2) or self._sided(m.group(), m.start()):
                    side = self._side(m.start(), m.end()) or self._side_of(m.group())
                    self._code(m.start(), m.end(), self.a.assertion(m.start(), m.end()), m.group(), side)
                n += 1

    def _sided(self, code: str, at: int) -> bool:
        """A catalogue number with a side and a cut behind it stands nowhere but in the run-out."""
        return self.a.segment(at).kind != "title" and bool(
            re.fullmatch(r"[A-Z]{1,5}[ -]?\d{2,6}[ -](?:[AB](?:[ -]?\d{1,2}N?)?|\d[A-H])", code)
        )

    def _side_of(self, code: str) -> Side | None:
        m = re.search(r"[- ]?([AB])[- ]?\d{0,2}$", code)
        return None if not m else "a" if m.group(1) == "A" else "b"

    def _code(self, start: int, end: int, said: Assertion, value: str, side: Side | None) -> None:
        before = len(self.claims)
        self._add("deadwax.matrix", start, end, said, said.polarity, value, None, sided=False, rule="code")
        if len(self.claims) > before:
            self.claims[-1] = self.claims[-1].model_copy(update={"side": side})

    # --- designs and pictures -----------------------------------------------------------------------------------------
    def _read_designs(self) -> None:
        """Colours and known designs beside a word for the label, and known designs on their own."""
        terms = self.a.of("term", 0, self.everything)
        known = [h for h in terms if isinstance(h.row, Term) and h.row.kind == "design"]
        designs = {h.i for h in known}
        colours = self.a.of("colour", 0, self.everything)
        runs: list[tuple[int, int, str | None]] = []
        for h in sorted([*known, *colours], key=lambda h: (h.i, h.i - h.j)):
            if runs and h.i < runs[-1][1]:
                continue
            value = str(h.row.value) if isinstance(h.row, Term) and h.row.value else None
            if runs and tuple(self.a.words[runs[-1][1] : h.i]) in _AND:
                runs[-1] = (runs[-1][0], h.j, None)
            else:
                runs.append((h.i, h.j, value))
        for i, j, value in runs:
            start, end = self.a.toks[i][0], self.a.toks[j - 1][1]
            a, b = self.a.sentence(start)
            labels = self._parts(max(a, start - 80), min(b, end + 80), "label")
            beside = any(0 <= p.i - j <= 2 or 0 <= i - p.j <= 4 for p, _ in labels)
            if not beside and value is None:
                continue
            if not beside and not any(n in designs for n in range(i, j)):
                continue
            if not beside and j - i == 1 and not self.a.text[start].islower():
                continue
            said = self.a.assertion(start, end)
            text = value or re.sub(r"\s*[/-]\s*", " and ", self.a.folded[start:end].lower())
            self._add("label.design", start, end, said, said.polarity, text, None, rule="design")

    def _read_pictures(self) -> None:
        """A sign in the run-out that nobody names: present, and hedged."""
        marks = [c for c in self.claims if c.feature == "deadwax.plant_mark"]
        for h in self.a.of("picture", 0, self.everything):
            start, end = self.a.toks[h.i][0], self.a.toks[h.j - 1][1]
            if any(c.start <= start < c.end for c in marks) or self.a.carrier(start, end)[0] != "deadwax":
                continue
            said = self.a.assertion(start, end)
            if said.certainty == "certain" and said.polarity == "present":
                said = replace(said, status="possible", certainty="hedged")
            self._add("deadwax.plant_mark", start, end, said, said.polarity, self.a.words[h.i], None, rule="picture")
