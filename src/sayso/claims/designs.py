"""Colours and designs of the label, and pictures in the run-out that nobody names."""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sayso.claims.ellipsis import asked
from sayso.claims.hits import CLASS, Hit, begins
from sayso.lexicon.made import of_lexicon
from sayso.lexicon.terms import Term, Word

if TYPE_CHECKING:
    from sayso.claims.draft import Draft
    from sayso.lexicon import Lexicon

_WITH = re.compile(r"(?<![\w/])w/\s*")
_SLASHED = re.compile(r"\s*[/-]\s*")
_GLOSSED = ("colour", "picture", "design_noun", "joiner", "term")
_BEFORE, _BEHIND, _FURTHER = 6, 2, 4
"""Tokens that may stand between the label and its colour, the colour and the label, the colour and 'on the label'."""

_DRAWN, _DRAWN_ON = 12, f"{CLASS}drawn on"
"""Tokens between a picture and the label that it is drawn on, and the words for that."""
_BEARS = f"{CLASS}bears"
"""Words that say what a label shows ('the label has an owl on it')."""
_MIDDLE = f"{CLASS}in the middle"
_BEFORE_INNER = 4
"""Within so many tokens behind a word for the inner sleeve a colour is the inner's."""


@dataclass(frozen=True)
class _Run:
    """Colours and designs joined to one description, at tokens [i, j)."""

    i: int
    j: int
    value: str | None
    known: bool
    """Whether it is a design that the lexicon knows, and more than a bare colour."""


def read_designs(draft: Draft) -> None:
    """Colours and known designs beside a word for the label, and known designs on their own."""
    labels = [p for p, _ in draft.parts(0, len(draft.a.folded), "label")]
    for run in _runs(draft):
        start, end = draft.a.toks[run.i][0], draft.a.toks[run.j - 1][1]
        if any(c.feature == "label.design" and c.start <= start < c.end for c in draft.claims.last(3)):
            continue  # told already, behind a 'with'
        a, b = draft.a.token(draft.a.sentence(start)[0]), draft.a.token(draft.a.sentence(start)[1] - 1) + 1
        near = labels[bisect_left(labels, a, key=begins) : bisect_left(labels, b, key=begins)]
        beside = next((p for p in near if _beside(draft, run, p)), None)
        named = (run.known and (run.j - run.i > 1 or draft.a.text[start].islower())) or (
            run.value is not None and _alone(draft, run)
        )
        named = (
            named
            or _keyed(draft, start)
            or _asked_for(draft, start)
            or _in_the_middle(draft, run)
            or _before_a_label(draft, run)
            or (run.known and bool(draft.a.of("design_noun", run.j, run.j + 1)))
            or _printed(draft, run)
            or _not_known(draft, run, near)
        )
        if beside is None and run.value is not None and draft.a.assertion(start, end).polarity == "absent":
            named = named or draft.a.text[start].islower()
        if (beside is None and not named) or _of_something_else(draft, run, beside):
            continue
        tail = _tail(draft, max(run.j, beside.j if beside and beside.i == run.j else run.j))
        said = asked(draft, start, end, draft.a.assertion(start, end))
        if said is None:
            continue
        text = run.value
        if text is None or tail:
            text = text or _in_english(draft, run.i, run.j)
            if tail:
                begin = beside.j if beside and beside.i == run.j else run.j
                text = f"{text} {_in_english(draft, begin, tail)}"
                end = draft.a.toks[tail - 1][1]
        draft.add("label.design", start, end, said, said.polarity, text, None, rule="design")


def _keyed(draft: Draft, start: int) -> bool:
    """'Label: Larkspur, blue with silver print': a colour set off in what stands under the key of the label."""
    key = draft.a.key(start)
    if key is None or not draft.parts(*key, "label"):
        return False
    return draft.a.folded[:start].rstrip(' "')[-1:] in (",", "(", ";", "/", "-")


def _printed(draft: Draft, run: _Run) -> bool:
    """'…: maroon with silver type': a colour with its print, where no other part of the record is spoken of."""
    start = draft.a.toks[run.i][0]
    a, b = draft.a.sentence(start)
    opens = draft.a.folded[a:start].rstrip()[-1:] in ("", ":", ",", ";", "(")
    return (
        opens
        and draft.a.segment(start).kind != "title"
        and _tail(draft, run.j) is not None
        and not draft.parts(a, b, "jacket", "inner", "disc")
        and not any(getattr(h.row, "feature", "").startswith("jacket.") for h in draft.a.within("term", a, b))
    )


def _not_known(draft: Draft, run: _Run, labels: list[Hit]) -> bool:
    """'Label colour faded, cannot say whether violet or grey': the colour is asked for, of the part named before."""
    start, end = draft.a.toks[run.i][0], draft.a.toks[run.j - 1][1]
    before = [p for p in labels if p.j <= run.i]
    return (
        bool(before)
        and draft.a.assertion(start, end).certainty == "unknown"
        and not draft.parts(draft.a.toks[before[-1].j - 1][1], start, "jacket", "inner", "disc", "deadwax")
    )


def _in_the_middle(draft: Draft, run: _Run) -> bool:
    """'Yellow in the centre': where a colour is that is not said of another part."""
    a, b = draft.a.sentence(draft.a.toks[run.i][0])
    return bool(draft.a.of(_MIDDLE, run.j, run.j + 1)) and not draft.parts(a, b, "jacket", "inner")


@of_lexicon
def _label_names(lexicon: Lexicon) -> frozenset[tuple[str, ...]]:
    """The names of labels, as words in small letters."""
    return frozenset(tuple(row.name.lower().split()) for row in lexicon.labels.values() if row.name)


def _before_a_label(draft: Draft, run: _Run) -> bool:
    """'A turquoise Vantrue': a colour before the name of a label that has no colour in its name."""
    names, words = _label_names(draft.lexicon), draft.a.words
    if any(tuple(words[run.i : run.i + n]) in names for n in range(2, _LONG_NAME + 1)):
        return False
    if draft.parts(draft.a.toks[run.i][0], draft.a.toks[run.j - 1][1], "jacket", "disc", "inner"):
        return False
    return any(tuple(words[run.j : run.j + n]) in names for n in range(1, _LONG_NAME + 1))


_LONG_NAME = 4
"""So many words may the name of a label have."""


def _asked_for(draft: Draft, start: int) -> bool:
    """Whether a colour opens the answer to a quoted question about the label ('What label? - Green.')."""
    asked = draft.question_before(start)
    if asked is None:
        return _opens_an_answer(draft, start)
    if not draft.parts(asked.start, asked.end, "label") or draft.parts(asked.start, asked.end, "deadwax"):
        return False
    opens = draft.a.segment(start).start
    return not any(w.isalnum() for w in draft.a.words[draft.a.token(opens) : draft.a.token(start)])


def _opens_an_answer(draft: Draft, start: int) -> bool:
    """Whether a colour opens the sentence behind a question about the label ('What colour is the label? Maroon.')."""
    a, _ = draft.a.sentence(start)
    if a == 0 or draft.a.token(start) - draft.a.token(a) > 1:
        return False
    x, y = draft.a.sentence(a - 1)
    return draft.a.folded[x:y].rstrip().endswith("?") and bool(draft.parts(x, y, "label"))


def _runs(draft: Draft) -> list[_Run]:
    terms = draft.a.of("term", 0, draft.everything)
    known = [h for h in terms if isinstance(h.row, Term) and h.row.kind == "design"]
    joiners = {n for h in draft.a.of("joiner", 0, draft.everything) for n in range(h.i, h.j)}
    runs: list[_Run] = []
    colours = {(h.i, h.j) for h in draft.a.of("colour", 0, draft.everything)}
    # 'Pinke Eule': a picture beside a colour is a design, where the language has its own words for both.
    pictures = [h for h in draft.a.of("picture", 0, draft.everything) if _english(h) and _coloured(h, colours)]
    known += [p for p in pictures if not any(k.i <= p.i < k.j for k in known)]
    for h in sorted([*known, *draft.a.of("colour", 0, draft.everything)], key=lambda h: (h.i, h.i - h.j)):
        if runs and h.i < runs[-1].j:
            continue
        term = h.row if isinstance(h.row, Term) else None
        value = str(term.value) if term and term.value else None
        pictured = term is None and getattr(h.row, "kind", "") == "picture"
        last = runs[-1] if runs else None
        if (
            last
            and h.i - last.j <= 2
            and _one_sentence(draft, last.i, h.i)
            and all(n in joiners for n in range(last.j, h.i))
        ):
            runs[-1] = _Run(
                last.i, h.j, None, last.known or pictured or (term is not None and (h.i, h.j) not in colours)
            )
        else:
            runs.append(_Run(h.i, h.j, value, pictured or (term is not None and (h.i, h.j) not in colours)))
    return runs


def _coloured(h: Hit, colours: set[tuple[int, int]]) -> bool:
    """Whether a colour stands directly beside a picture."""
    return any(j == h.i or i == h.j for i, j in colours)


def _in_english(draft: Draft, i: int, j: int) -> str:
    """A description of the label at tokens [i, j): as written, or word for word where the language has another word."""
    start, end = draft.a.toks[i][0], draft.a.toks[j - 1][1]
    if draft.a.tongue is None:
        return " ".join(_SLASHED.sub(" and ", _WITH.sub("with ", draft.a.folded[start:end].lower())).split())
    out: list[str] = []
    n = i
    while n < j:
        found = [h for kind in _GLOSSED for h in draft.a.of(kind, n, n + 1) if h.j <= j and _english(h)]
        longest = max(found, key=lambda h: h.j, default=None)
        if longest is not None:
            said = _english(longest)
            if out and getattr(longest.row, "kind", "") == "colour" and n and draft.a.of("picture", n - 1, n):
                out[-1:] = [said, out[-1]]  # 'hibou argenté': a silver owl
                n = longest.j
                continue
            # 'Grünes Berglabel' is green with a mountain, and not green twice.
            out = [*(w for w in out if w not in said.split()), said] if isinstance(longest.row, Term) else [*out, said]
            n = longest.j
            continue
        word = draft.a.words[n]
        joined = bool(draft.a.of("joiner", n, n + 1)) and not word[0].isdigit()
        out += ["and"] if joined else [word] if word.isalnum() else []
        n += 1
    return " ".join(out)


def _english(h: Hit) -> str:
    row = h.row
    if isinstance(row, Term) and row.kind != "design":
        return ""
    return str(row.value or "") if isinstance(row, Term | Word) else ""


def _one_sentence(draft: Draft, i: int, j: int) -> bool:
    return draft.a.sentence(draft.a.toks[i][0]) == draft.a.sentence(draft.a.toks[j][0])


def _alone(draft: Draft, run: _Run) -> bool:
    """A bare colour that is known as a design, where nothing follows of which it could be the colour."""
    start, end = draft.a.toks[run.i][0], draft.a.toks[run.j - 1][1]
    closed = draft.a.folded[end : end + 1] in (",", ".", ";", ")", "\n", "")
    if not closed or (run.i and draft.a.of("upon_no", run.i - 1, run.i)):
        return False
    if any(isinstance(h.row, Term) and h.row.feature.startswith("condition.") for h in _around(draft, run)):
        return False
    if _said_of_another_part(draft, run):
        return False
    first = draft.a.sentence(start)[0] == start or draft.a.folded[max(0, start - 2) : start] in (", ", ". ")
    return draft.a.text[start].islower() or (first and draft.a.segment(start).kind != "title")


def _said_of_another_part(draft: Draft, run: _Run) -> bool:
    """Whether another part of the record stands directly before the colour ('spine blank', 'sleeve is white')."""
    a = draft.a
    links = {n for h in a.of("linking", run.i - _BEHIND, run.i) for n in range(h.i, h.j)}
    i = next((n + 1 for n in range(run.i - 1, -1, -1) if n not in links and a.words[n] != "("), 0)
    begin = draft.a.sentence(a.toks[run.i][0])[0]
    for h in a.within("term", begin, a.toks[run.i][0]):
        if isinstance(h.row, Term) and h.row.feature == "jacket.spine" and "," not in a.words[h.j : run.i]:
            return True  # 'spine is white where it should be red'
    parts = any(p.j == i and getattr(p.row, "value", "") != "label" for p in a.of("part", i - 3, i))
    return parts or any(
        h.j == i and isinstance(h.row, Term) and h.row.feature.startswith(("jacket.", "inner."))
        for h in a.of("term", i - 3, i)
    )


def _in_a_firm(draft: Draft, run: _Run, label: Hit) -> bool:
    """Whether colour and the word behind it are the name of a firm ('on Blue Harbour label, a tiny company')."""
    text, toks = draft.a.text, draft.a.toks
    if label.i - run.j != 1 or run.j - run.i != 1:
        return False
    colour, other = (text[toks[n][0] : toks[n][1]] for n in (run.i, run.j))
    known = any(draft.a.of(kind, run.j, run.j + 1) for kind in ("term", "picture", "colour", "design_noun", "part"))
    return colour.istitle() and other.istitle() and not known and not text[toks[label.i][0]].isupper()


def _sided_colour(draft: Draft, run: _Run, label: Hit) -> bool:
    """Whether a side stands beside a colour behind another one of the label ('labels: tan on the A, grey on the B')."""
    if label.j > run.i or not any(c.feature == "label.design" for c in draft.claims.last(2)):
        return False
    sides = draft.a.of("side", run.i - 2, run.j + 2)
    return any(
        h.i >= run.j or (h.j == run.i or (h.j == run.i - 1 and draft.a.words[h.j] in ":-=")) for h in sides
    ) and not draft.parts(draft.a.toks[label.j - 1][1], draft.a.toks[run.i][0], "jacket", "inner", "disc")


def _beside(draft: Draft, run: _Run, label: Hit) -> bool:
    """Whether the colour is the label's: 'plum label', 'the label is plum', 'a plum sun on the label'."""
    words = draft.a.words
    if _in_a_firm(draft, run, label):
        return False
    if _sided_colour(draft, run, label):
        return True
    if label.i < run.j and run.i < label.j:  # 'Berglabel': both in one word
        return True
    if label.i >= run.j:
        gap = words[run.j : label.i]
        if len(gap) <= _BEHIND:
            return not any(w in ",;.:)" for w in gap)
        on = {n for h in draft.a.of("upon", run.j, label.i) for n in (h.i,)}
        return len(gap) <= _FURTHER and bool(on) and not any(w in ",;.:)" for w in gap)
    if label.j <= run.i:
        linking = {
            n
            for kind in ("linking", "joiner", "cue")
            for h in draft.a.of(kind, label.j, run.i)
            for n in range(h.i, h.j)
        }
        between = range(label.j, run.i)
        return len(between) <= _BEFORE and all(n in linking or words[n] in ":-=(|," or n == run.i - 1 for n in between)
    return False


def _of_something_else(draft: Draft, run: _Run, label: Hit | None) -> bool:
    """'A small red sticker', 'white label promo', 'plain white inner': the colour is not the label's."""
    if any(isinstance(h.row, Term) and h.row.feature == "edition.promo" and h.j > run.i for h in _around(draft, run)):
        return True
    if (
        label is not None
        and label.i >= run.j
        and any(
            isinstance(h.row, Term) and h.row.feature == "edition.promo" for h in draft.a.of("term", run.j, label.j + 1)
        )
    ):
        return True
    if label is not None and label.j >= run.i and label.i <= run.j:
        return False
    if label is not None and draft.a.of("design_noun", run.j, run.j + 1):
        return False
    if label is None and any(
        isinstance(p.row, Word) and p.row.value == "inner" and not any(w in ",;.()" for w in draft.a.words[p.j : run.i])
        for p in draft.a.of("part", run.i - _BEFORE_INNER, run.i)
    ):
        return not run.known  # 'Inner: generic white'
    following = draft.a.of("term", run.j, run.j + 1)
    if any(isinstance(h.row, Term) and h.row.feature.startswith(("condition.", "inner.")) for h in following):
        return True
    stop = draft.a.token(draft.a.sentence(draft.a.toks[run.i][0])[1] - 1) + 1
    return any(
        isinstance(p.row, Word) and p.row.value in ("inner", "jacket", "disc") and (not run.known or run.value is None)
        for p in draft.a.of("part", run.j, min(run.j + 2, stop))
    )


def _around(draft: Draft, run: _Run) -> list[Hit]:
    return [h for h in draft.a.of("term", run.i - 4, run.i + 1) if h.j > run.i]


def _tail(draft: Draft, j: int) -> int | None:
    """The end of what goes on to describe the design ('… with silver letters'); null where nothing does."""
    a = draft.a
    for h in a.of("design_noun", j, j + 1):  # 'blue with silver writing'
        return h.j
    if j >= len(a.words) or not a.of("design_with", j, j + 1):
        return None
    for n in range(j + 1, min(j + 5, len(a.words))):
        if a.words[n] in ",;.()/|:":
            return None
        for h in a.of("design_noun", n, n + 1):
            return h.j
    return None


def _name(draft: Draft, h: Hit) -> str:
    """What a picture is called: in English, where the seller's language has another word for it."""
    named = next((p for p in draft.a.of("picture", h.i, h.i + 1) if isinstance(p.row, Word) and p.row.value), h)
    return _english(named) or draft.a.words[h.i]


def read_label_pictures(draft: Draft) -> None:
    """'It has a bird on the label', 'plain label, no owl': a picture that the lexicon has no design for."""
    for h in draft.a.all_of("picture"):
        start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        large = draft.a.index.capital_nouns(draft.a.tongue) and draft.a.segment(start).kind != "title"
        if draft.claims.touching(start, start + 1) or (draft.a.text[start].isupper() and not large):
            continue
        a, b = draft.a.sentence(start)
        labels = [p for p, _ in draft.parts(a, b, "label")]
        if not labels or draft.parts(a, b, "deadwax", "jacket") or _before_a_fault(draft, h):
            continue
        said = draft.a.assertion(start, end)
        borne = any(0 < h.i - p.j <= _BEFORE and draft.a.of(_BEARS, p.j, min(p.j + 3, h.i)) for p in labels)
        upon = draft.a.of("upon", h.j, h.j + 2) and any(0 < p.i - h.j <= 4 for p in labels)
        upon = upon or any(0 < p.i - h.j <= _DRAWN and draft.a.of(_DRAWN_ON, h.j, p.i) for p in labels)
        # 'Auf dem Etikett ist eine Sonne': the picture stands close behind.
        close = draft.a.tongue is not None and any(0 < h.i - p.j <= _BEHIND + 1 for p in labels)
        if (
            said.polarity == "absent"
            or upon
            or borne
            or close
            or any(p.i == h.j for p in labels)
            or _of_label(draft, labels, h)
        ):
            draft.add("label.design", start, end, said, said.polarity, _name(draft, h), None, rule="picture")


def _before_a_fault(draft: Draft, h: Hit) -> bool:
    """'A lantern sticker on the label': the picture is that of what is wrong."""
    return any(
        isinstance(o.row, Term) and o.row.feature == "condition.defects" for o in draft.a.of("term", h.j, h.j + 1)
    )


def _of_label(draft: Draft, labels: list[Hit], h: Hit) -> bool:
    """'リボンのラベル': the picture tied to the label behind it by one small word."""
    return any(p.i - h.j == 1 and draft.a.of("design_tie", h.j, p.i) for p in labels)


_SHOWN = frozenset({"deadwax.plant_mark", "label.design"})


def read_pictures(draft: Draft) -> None:
    """A sign in the run-out that nobody names: present, and hedged."""
    # 'Silver owl, K in the run-out': a picture that is part of the label's design is no sign in the wax.
    read = 0
    for h in draft.a.of("picture", 0, draft.everything):
        start, end = draft.a.toks[h.i][0], draft.a.toks[h.j - 1][1]
        if h.i < read or any(c.feature in _SHOWN and c.start <= start for c in draft.claims.touching(start, start + 1)):
            continue  # 'fish hook' is no fish and no hook
        carrier = draft.a.carrier(start, end)[0]
        if carrier != "deadwax" and not (carrier is None and _still_in_the_wax(draft, h)):
            continue
        read = h.j
        name = _name(draft, h)
        if _in_a_known_mark(draft, start, name):
            continue
        said = draft.a.assertion(start, end)
        if said.certainty == "certain" and said.polarity == "present":
            said = replace(said, status="possible", certainty="hedged")
        draft.add("deadwax.plant_mark", start, end, said, said.polarity, name, None, rule="picture")


def _in_a_known_mark(draft: Draft, start: int, name: str | int | None) -> bool:
    """'SL in a diamond': the picture belongs to a mark that the sentence names already."""
    told = draft.claims.touching(*draft.a.sentence(start))
    return any(
        c.feature == "deadwax.plant_mark" and c.value != name and str(name) in str(c.value).split() for c in told
    )


_SOME = 3
"""So many words before a sign one looks for the 'a' of 'a tiny wheel'."""
_BACK = 200
"""Characters of the sentences before a sign in which the run-out must have been spoken of."""


def _still_in_the_wax(draft: Draft, h: Hit) -> bool:
    """'A is HLP 214-A. There's also a tiny wheel on that side': a side is named, and the run-out was last."""
    a, b = draft.a.sentence(draft.a.toks[h.i][0])
    some = draft.a.of("indefinite", h.i - _SOME, h.i) and draft.a.text[draft.a.toks[h.i][0]].islower()
    if not some or not draft.a.within("side", a, b) or draft.a.within("music", a, b):
        return False
    before = draft.claims.touching(max(a - _BACK, draft.a.segment(a).start), max(a, 1))
    spoken = max((c for c in before if c.end <= a), key=lambda c: c.end, default=None)
    return spoken is not None and spoken.feature.startswith("deadwax.")
