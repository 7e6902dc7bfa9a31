"""What kind of saying a sentence is: a bare yes, an evasion, a courtesy, a machine's reply; what kind a question is."""

from __future__ import annotations

import re
from collections.abc import Sequence

from sayso.replies.layout import words_of
from sayso.replies.nouns import Manner
from sayso.replies.words import Forms, Hit

POLAR = ("reply_counter", "reply_yes", "reply_no", "reply_both", "reply_none", "reply_maybe", "reply_maybe_not")
_NUMBERS = re.compile(r"(?<![\w.,/-])(\d{1,2})(?![\w/-]|[.,]\d|\s?[%€$£\"”])")
_FEW = 8
"""A sentence of at most so many words that begins with a courtesy is one."""
_HEAD = 300
"""Where a machine says that it is one, in characters from the start."""


class Kinds:
    """Looks sentences and questions up in the reply lexicon."""

    def __init__(self, forms: Forms) -> None:
        self._forms = forms

    def manner(self, text: str, *, said: bool) -> tuple[Manner, str]:
        """How a sentence meets a question, and the entry that says so. With a claim in it, it is an answer."""
        for kind, manner in (
            ("reply_ignorant", "ignorance"),
            ("reply_pointer", "evasion"),
            ("reply_later", "later"),
            ("reply_brush", "evasion"),
        ):
            hit = self._forms.first((kind,), text)
            if hit is not None and not said:
                return manner, hit.rule  # type: ignore[return-value]
        if text.rstrip().endswith(("?", "？")) and not said:
            hit = self._forms.first(("reply_back",), text)
            return "question_back", hit.rule if hit else "a question back"
        return "answer", ""

    def other(self, text: str, *, topical: bool, last: bool) -> str:
        """'courtesy' or 'price' for a sentence that speaks to no question, else ''. `last`: only a name can follow."""
        if covered_whole(list(self._forms.find("reply_again", text)), text):
            return "courtesy"
        courtesy = list(self._forms.find("reply_courtesy", text))
        count = len(words_of(text))
        if courtesy and not topical and not self.leads_polar(text):
            covered = len({n for h in courtesy for n in range(h.start, h.end)})
            starts = min(h.start for h in courtesy) <= 2
            if covered * 2 >= len(text.strip()) or (starts and count <= _FEW):
                return "courtesy"
        if courtesy and covered_whole(courtesy, text):
            return "courtesy"
        if not topical and (self._forms.first(("reply_price",), text) or _MONEY.search(text)):
            return "price"
        if last and count <= 2 and not topical and self._name(text):
            return "courtesy"
        return ""

    def _name(self, text: str) -> bool:
        """A short line of capitalised words without an answer in it: a signature."""
        return not self._forms.first(POLAR, text) and bool(re.fullmatch(r"(?:[A-Z][\w'’.-]*\s*){1,2}", text.strip()))

    def machine(self, reply: str) -> bool:
        """Whether the reply says of itself that a machine wrote it."""
        return self._forms.first(("reply_auto",), reply[:_HEAD]) is not None

    def leads_polar(self, text: str) -> bool:
        """Whether a sentence begins with yes, no, both or neither, or is short and ends with it."""
        for kind in POLAR:
            hit = self._forms.starts(kind, text)
            if hit and not (self._alone(text[hit.start : hit.end]) and re.match(r"\s*\w", text[hit.end :])):
                return True
        if len(words_of(text)) > _FEW:
            return False
        end = text.rstrip(" .!,")
        return any(h.end >= len(end) for kind in ("reply_yes", "reply_no") for h in self._forms.find(kind, text))

    def _alone(self, words: str) -> bool:
        hit = self._forms.starts("reply_alone", words)
        return hit is not None and hit.end == len(words)

    def looked(self, text: str) -> bool:
        """Whether a short sentence says no more than that nothing was found."""
        return len(words_of(text)) <= _FEW and self._forms.first(("reply_failed",), text) is not None

    def bare(self, text: str, most: int) -> bool:
        """A few words that begin with yes, no, both or neither, or say that nothing is known."""
        few = len(words_of(text)) <= most
        return few and (self.leads_polar(text) or self._forms.first(("reply_ignorant",), text) is not None)

    def polar(self, question: str) -> bool:
        """Whether yes or no answers the question: no question word begins it or the part after its last comma."""
        parts = [p for p in re.split(r"[.!:;。]\s*", question) if re.search(r"\w", p)] or [question]
        return not any(self._opens(part) for part in parts)

    def _opens(self, part: str) -> bool:
        return any(
            len(words_of(part[: h.start])) <= 1 or _is_cjk(part[h.start : h.end])
            for h in self._forms.find("question_word", part)
        )

    def rest(self, text: str) -> bool:
        """Whether a sentence speaks of all that is left."""
        return self._forms.first(("reply_rest",), text) is not None

    def ordinals(self, text: str, order: Sequence[int]) -> tuple[int, ...]:
        """The questions a sentence points to by their place: 'your first three', 'as for the last', 'question 2'."""
        if self.rest(text) and self._forms.starts("reply_rest", text):
            return ()
        head = text[:60]
        listed = self._listed(head, order)
        if listed:
            return listed
        near = list(self._forms.find("reply_question", head))
        for hit in sorted(self._forms.find("reply_ordinal", head), key=lambda h: h.start):
            if hit.value is None:
                continue
            value = int(hit.value)
            if value == -1:
                count = self._count_after(head, hit)
                return tuple(order[-count:])
            beside = any(abs(h.start - hit.end) <= 12 or abs(hit.start - h.end) <= 12 for h in near)
            alone = hit.start <= 8 and bool(re.match(r"\s*[:,.)–-]", head[hit.end :]))
            if (beside or alone) and value <= len(order):
                count = self._count_after(head, hit)
                return tuple(order[value - 1 : value - 1 + count])
        return ()

    def _listed(self, head: str, order: Sequence[int]) -> tuple[int, ...]:
        """'No to 1 and 2', 'for 3 it is …': numbers behind a word that points to them."""
        for hit in sorted(self._forms.find("reply_to", head), key=lambda h: h.start):
            lead = head[: hit.start].strip(" ,.;:–-")
            if lead and not self.leads_polar(lead):
                continue
            word = self._forms.starts("reply_question", head[hit.end :])
            at = hit.end + (word.end if word else 0)
            numbers: list[int] = []
            while m := _NUMBERS.match(head, at + len(head[at:]) - len(head[at:].lstrip(" #"))):
                numbers.append(int(m.group(1)))
                join = re.match(r"[ ]*(?:[,&+/]|\w{1,3}(?= ))", head[m.end() :])
                if join is None or (join.group().strip().isalpha() and not self._joins(join.group().strip())):
                    at = m.end()
                    break
                at = m.end() + join.end()
            chosen = tuple(order[n - 1] for n in numbers if 1 <= n <= len(order))
            if chosen and len(chosen) == len(numbers):
                return chosen
        return ()

    def _joins(self, word: str) -> bool:
        hit = self._forms.starts("reply_and", word)
        return hit is not None and hit.end == len(word)

    def all_left(self, text: str) -> bool:
        """Whether a yes or no is said to all of them, or to all that are left: 'no to all of it', 'the rest: no'."""
        if len(words_of(text)) > _FEW:
            return False
        every = self._forms.first(("reply_every", "reply_rest"), text)
        return every is not None and self.leads_polar(text)

    def _count_after(self, head: str, ordinal: Hit) -> int:
        count = self._forms.starts("reply_count", head[ordinal.end :])
        return int(count.value) if count and count.value else 1


_MONEY = re.compile(r"[$€£¥]\s?\d|\d\s?(?:[$€£¥]|EUR|USD|GBP|JPY|円)")


def covered_whole(hits: Sequence[Hit], text: str) -> bool:
    """Whether the words found are all there is, but for a name or a sign."""
    covered = len({n for h in hits for n in range(h.start, h.end)})
    return covered >= 0.8 * max(1, len(text.strip(" .!,-–\n")))


def _is_cjk(text: str) -> bool:
    return any("\u3040" <= c <= "\u30ff" or "\u3400" <= c <= "\u9fff" for c in text)
