"""Signs in the run-out told by what they look like, whatever that is: 'a bit like a small ear', 'a tiny hat'."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sayso.claims.index import Hit
from sayso.claims.signs import of_the_wax

if TYPE_CHECKING:
    from sayso.claims.draft import Draft

_FEATURE = "deadwax.plant_mark"
_LEADERS = frozenset({":", "=", ".", "-"})
_LONGEST = 4
"""So many words may tell what a sign looks like ('sideways snail thing')."""
_LED = 3
"""So many words may stand between the article and the first word of the likeness."""


def read_unnamed(draft: Draft) -> None:
    """A likeness of something that no list of pictures holds: a plant's mark, hedged, since nobody says what it is.

    Two ways of leading to it: words that liken ('resembling', 'some kind of', 'in the shape of'), and a small thing
    told as found ('there is an odd little …'). In both the run-out is spoken of, and what is named is no part of the
    record, no fault, no number and nothing that another step has read.
    """
    a = draft.a
    for h in a.all_of("likened"):
        _likeness(draft, h, strong=True)
    for h in a.all_of("naive"):
        if any(o.j == h.i for o in a.of("indefinite", h.i - 2, h.i)) or any(
            o.j == h.i for o in a.of("naive", h.i - 3, h.i)
        ):
            _likeness(draft, h, strong=False)


def read_keyed_marks(draft: Draft) -> None:
    """'Plant: small key symbol', 'Plant mark .... Wave': what stands under a key for the works' mark is that mark."""
    a = draft.a
    for h in a.all_of("plant_lead"):
        at = a.toks[h.i][0]
        if not draft.claiming(at) or h.j >= len(a.words):
            continue
        line = a.line(at)
        n = h.j
        while n < len(a.words) and a.words[n] in _LEADERS and a.toks[n][0] < line[1]:
            n += 1
        if n == h.j or n >= len(a.words) or a.toks[n][0] >= line[1] or a.folded[line[0] : at].strip(" -*•·\t"):
            continue
        span = _noun(draft, n, line[1])
        if span is None or a.of("no_mark", span[0], span[0] + 1):
            continue
        start, stop = a.toks[span[0]][0], a.toks[span[1] - 1][1]
        held = [c for c in draft.claims.touching(at, stop) if c.feature == _FEATURE]
        if any(c.value is not None or c.polarity == "absent" for c in held):
            continue
        draft.drop(held)
        said = a.assertion(start, stop)
        draft.add(_FEATURE, start, stop, said, said.polarity, a.text[start:stop].lower(), None, rule="keyed mark")


def _likeness(draft: Draft, h: Hit, *, strong: bool) -> None:
    a = draft.a
    at = a.toks[h.i][0]
    if not draft.claiming(at) or a.segment(at).kind == "title":
        return
    begin, end = a.sentence(at)
    if draft.parts(begin, end, "jacket", "inner") or not of_the_wax(draft, at):
        return
    named = draft.parts(begin, end, "deadwax")
    if not named and not strong:
        return
    # 'Played maybe a dozen times' goes on about the music, though the run-out was spoken of just before.
    if not named and any(not c.feature.startswith("deadwax.") for c in draft.claims.begun(begin, end)):
        return
    span = _noun(draft, h.j, end)
    if span is None:
        return
    i, j = span
    start, stop = a.toks[i][0], a.toks[j - 1][1]
    if draft.claims.touching(start, stop):
        return
    # Nothing is likened twice: the nearer words have told it already.
    if any(c.feature == _FEATURE for c in draft.claims.begun(max(begin, start - 59), min(end, start + 60))):
        return
    said = a.assertion(start, stop)
    if said.about != "this_copy":
        return
    if said.certainty == "certain" and said.polarity == "present":
        said = replace(said, status="possible", certainty="hedged")
    draft.add(_FEATURE, start, stop, said, said.polarity, a.text[start:stop].lower(), None, rule="likeness")


def _noun(draft: Draft, n: int, end: int) -> tuple[int, int] | None:
    """The words that name what is seen, behind articles and small adjectives; null where they name no such thing."""
    a = draft.a
    led = 0
    while n < len(a.words) and led < _LED and any(a.of(k, n, n + 1) for k in ("indefinite", "naive", "picture_lead")):
        n = max(o.j for k in ("indefinite", "naive", "picture_lead") for o in a.of(k, n, n + 1))
        led += 1
    first = n
    while (
        n < len(a.words)
        and n - first < _LONGEST
        and a.toks[n][0] < end
        and a.words[n].replace("'", "").isalpha()
        and not a.of("picture_end", n, n + 1)
    ):
        n += 1
    if n == first:
        return None
    spoilt = ("no_picture", "part", "term", "grade_weak", "side", "cut_word", "class fault")
    if any(o.i < n and first < o.j for k in spoilt for o in a.of(k, max(0, first - 4), n)):
        return None
    last = n
    while last - 1 > first and a.of("picture_shape", last - 1, last):
        last -= 1  # 'a pretzel shape'
    return (first, last) if len(a.words[last - 1]) >= 3 else None
