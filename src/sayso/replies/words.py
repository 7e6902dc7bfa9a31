"""The words of `lexicon/cues/replies*.toml` as patterns: one for each kind, made once for each lexicon."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

LONG = 5
"""Forms of so many letters or more also match with an ending (plurals, cases)."""
_CJK = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]")


@dataclass(frozen=True)
class Hit:
    """One place where words of the lexicon stand."""

    start: int
    end: int
    kind: str
    value: str | None
    rule: str
    language: str = "en"


class Forms:
    """Finds the words of the reply lexicon in a text, longest first, whole words only."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._by: dict[str, list[tuple[re.Pattern[str], str | None, str, str]]] = {}
        self._plain: dict[str, list[str]] = {}
        for row in lexicon.words:
            if row.kind.startswith(("reply_", "question_")):
                endings = row.kind == "reply_topic"
                entry = (pattern(row.forms, endings=endings), row.value, row.id, row.lang)
                self._by.setdefault(row.kind, []).append(entry)
                self._plain.setdefault(row.kind, []).extend(row.forms)

    def pattern(self, kind: str) -> re.Pattern[str] | None:
        """One pattern for all words of a kind, which may run on into what follows ('Q1')."""
        forms = sorted(self._plain.get(kind, ()), key=len, reverse=True)
        return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, forms))})", re.IGNORECASE) if forms else None

    def find(self, kind: str, text: str, language: str | None = None) -> Iterator[Hit]:
        """All places of words of one kind, in any order; with `language`, only of that language and English."""
        for compiled, value, rule, lang in self._by.get(kind, ()):
            if language is not None and lang not in ("en", language):
                continue
            for m in compiled.finditer(text):
                yield Hit(m.start(), m.end(), kind, value, rule, lang)

    def first(self, kinds: Iterable[str], text: str, language: str | None = None) -> Hit | None:
        """The first place where words of any of these kinds stand."""
        return min((h for k in kinds for h in self.find(k, text, language)), key=lambda h: h.start, default=None)

    def starts(self, kind: str, text: str, language: str | None = None) -> Hit | None:
        """The longest word of this kind at the very start of `text`."""
        hits = [h for h in self.find(kind, text, language) if not text[: h.start].strip(" \t\"'“„«(*-–—.,!¡¿")]
        return max(hits, key=lambda h: h.end, default=None)


def pattern(forms: Iterable[str], *, endings: bool = False) -> re.Pattern[str]:
    """One pattern for many forms. Apostrophes of both kinds match each other; so do spaces and hyphens."""
    return re.compile("|".join(_one(f, endings) for f in sorted(forms, key=len, reverse=True)), re.IGNORECASE)


def _one(form: str, endings: bool) -> str:
    parts = [re.escape(p) for p in re.split(r"[\s-]+", form) if p]
    body = re.sub("['’]", "['’]", r"[\s-]+".join(parts) or re.escape(form))
    if _CJK.search(form):  # a run of katakana is one word
        before = "(?<![\u30a1-\u30fa\u30fc])" if "\u30a1" <= form[0] <= "\u30fc" else ""
        after = "(?![\u30a1-\u30fa\u30fc])" if "\u30a1" <= form[-1] <= "\u30fc" else ""
        return f"{before}{body}{after}"
    before = r"(?<!\w)" if form[:1].isalnum() else ""
    tail = r"\w{0,4}" if endings and len(form) >= LONG and form[-1:].isalpha() else ""
    after = r"(?!\w)" if form[-1:].isalnum() else ""
    return f"{before}{body}{tail}{after}"


_KEPT: WeakKeyDictionary[Lexicon, Forms] = WeakKeyDictionary()


def forms_of(lexicon: Lexicon) -> Forms:
    """The patterns of this lexicon."""
    kept = _KEPT.get(lexicon)
    if kept is None:
        kept = _KEPT[lexicon] = Forms(lexicon)
    return kept
