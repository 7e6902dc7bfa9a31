"""Which words of a reply answer which question.

The ways are tried from the firmest down: questions quoted in the reply, numbers before the answers, as many bare
answers as there were questions, and else what each sentence speaks of. Pure; the words it goes by are in
`lexicon/cues/replies*.toml`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sayso.model import Claim, Side
from sayso.replies.kinds import POLAR, Kinds
from sayso.replies.layout import Piece, pieces_of, sentences
from sayso.replies.mail import mail_parts
from sayso.replies.messages import message_starts, retractions
from sayso.replies.nouns import Aligned, Asked, Courtesy, How, Manner, Passage
from sayso.replies.numbers import Block, blocks_of, meant
from sayso.replies.tables import Cell, cells
from sayso.replies.topics import CLAIM, Fit, Topics
from sayso.replies.words import Forms, forms_of

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

_COUNT_ONLY = re.compile(r"\W*\d{1,2}\W*")
_SLASHES = re.compile(r"\s/\s")
BARE = 4
"""An answer of at most so many words can be one of a bare list."""


@dataclass(frozen=True)
class Unit:
    """A sentence of the seller's, with what it is laid beside."""

    start: int
    end: int
    text: str
    group: tuple[int, ...] = ()
    """The questions quoted straight above it."""
    questions: tuple[int, ...] = ()
    how: How = "topic"
    manner: Manner = "answer"
    other: str = ""
    """What it is where it speaks to no question: courtesy, price, machine."""
    rule: str = ""
    fits: tuple[Fit, ...] = field(default=())
    side: Side | None = None


def align(
    reply: str,
    asked: Sequence[Asked],
    lexicon: Lexicon,
    *,
    claims: Sequence[Claim] = (),
    stems: Sequence[tuple[str, str]] = (),
) -> Aligned:
    """The passages of a reply and the questions they speak to.

    `claims` are what the sentences say without knowing the questions, with offsets into `reply`; they help where words
    of the question are not repeated; so do `stems`, the catalogue numbers of the record (`runout.stems_of`).
    """
    forms = forms_of(lexicon)
    kinds = Kinds(forms)
    topics = Topics(asked, forms, lexicon, stems)
    mail = mail_parts(reply, forms)
    pieces, unrecorded = _named(pieces_of(reply, asked, mail.theirs), reply, topics)
    set_out = cells(reply, topics, forms)
    units = _set_out([_greeted(u, forms) for u in _units(reply, pieces)], set_out, reply)
    blocks = blocks_of(_blanked(reply, pieces), forms.pattern("reply_label"), forms.pattern("reply_and"))
    units = _cut(units, [b.mark for b in blocks])
    machine = kinds.machine(reply)
    late = {u.start for i, u in enumerate(units) if i and i >= len(units) - 2 and units[i - 1].group == u.group}
    below = mail.signature or (len(reply), len(reply))
    units = [
        _judged(u, kinds, topics, claims, machine or below[0] <= u.start < below[1], u.start in late) for u in units
    ]
    units = [u if u.how != "quote" else replace(u, other="") for u in units]
    quoted = _by_quotes(units, pieces, asked, topics, kinds)
    if quoted is not None:
        units = quoted
    else:
        units = (
            _by_numbers(units, reply, blocks, asked, topics, claims) or _by_order(units, asked, topics, kinds) or units
        )
        units = _by_topic(units, asked, topics, kinds)
    units = _general(units, asked, kinds)
    passages = [
        Passage(
            start=u.start,
            end=u.end,
            quote=u.text,
            questions=u.questions,
            how=u.how,
            manner=u.manner,
            rule=u.rule,
            side=u.side,
        )
        for u in units
        if u.questions
    ]
    others = [
        Courtesy(start=p.start, end=p.end, quote=reply[p.start : p.end], kind="quoted") for p in pieces if p.quoted
    ]
    heads = {c.head for c in set_out}
    others += [Courtesy(start=a, end=b, quote=reply[a:b], kind="quoted") for a, b in heads]
    for u in units:
        if not u.questions:
            kind = u.other if u.other in ("courtesy", "price", "machine") else "other"
            others.append(Courtesy(start=u.start, end=u.end, quote=u.text, kind=kind))  # type: ignore[arg-type]
    return Aligned(
        passages=tuple(passages),
        quoted=unrecorded,
        others=tuple(sorted(others, key=lambda o: o.start)),
        messages=message_starts(reply, forms),
        retracts=retractions(reply, forms),
    )


def _named(pieces: Sequence[Piece], reply: str, topics: Topics) -> tuple[list[Piece], tuple[Asked, ...]]:
    """Quoted questions in words other than those on record: the question they mean, or one that is not on record."""
    out: list[Piece] = []
    unrecorded: list[Asked] = []
    for piece in pieces:
        if not piece.quoted or piece.question is not None:
            out.append(piece)
            continue
        for a, b in sentences(reply, piece.start, piece.end):
            text = reply[a:b].lstrip(" \t>»|")
            if not text.endswith(("?", "\uff1f")):
                out.append(Piece(a, b, True))
                continue
            best = [f for f in topics.fit(text) if f.sure or f.score >= 2.0]
            number = best[0].question if best else -len(unrecorded) - 1
            if not best:
                unrecorded.append(Asked(n=number, features=topics.features(text), text=text))
            out.append(Piece(a, b, True, number, True))
    return out, tuple(unrecorded)


def _units(reply: str, pieces: Sequence[Piece]) -> list[Unit]:
    units: list[Unit] = []
    group: tuple[int, ...] = ()
    fresh = True
    for piece in pieces:
        if piece.quoted:
            group = group if not fresh else ()
            fresh = False
            if piece.question is not None and piece.question not in group:
                group = (*group, piece.question)
            continue
        fresh = True
        for a, b in sentences(reply, piece.start, piece.end):
            if not _COUNT_ONLY.fullmatch(reply[a:b]):
                units.append(Unit(a, b, reply[a:b], group))
    return units


def _set_out(units: Sequence[Unit], set_out: Sequence[Cell], reply: str) -> list[Unit]:
    """The units with those of a table, or of a line with an arrow, in place of what they were cut from."""
    spans = [(min(c.head[0], c.start), c.end) for c in set_out]
    kept = [u for u in units if not any(u.start < b and a < u.end for a, b in spans)]
    made = [
        Unit(c.start, c.end, reply[c.start : c.end], questions=(c.question,), how="quote", rule="head", side=c.side)
        for c in set_out
    ]
    return sorted([*kept, *made], key=lambda u: u.start)


def _greeted(unit: Unit, forms: Forms) -> Unit:
    """The sentence without the greeting it begins with ('Hi, no to both'), or the 'and' before a yes or no."""
    lead = forms.starts("reply_lead", unit.text)
    behind = re.match(r",?[ ]+(?=\S)", unit.text[lead.end :]) if lead else None
    if lead is not None and behind is not None:
        at = lead.end + behind.end()
        if any(forms.starts(kind, unit.text[at:]) for kind in POLAR):
            return replace(unit, start=unit.start + at, text=unit.text[at:])
    hit = forms.starts("reply_greeting", unit.text)
    m = re.match(r"(?:[ ]\w+)?[ \t]*[,!.:\u3001–-][ \t]*(?=\S)", unit.text[hit.end :]) if hit else None
    if hit is None or m is None:
        return unit
    start = unit.start + hit.end + m.end()
    return replace(unit, start=start, text=unit.text[hit.end + m.end() :])


def _judged(unit: Unit, kinds: Kinds, topics: Topics, claims: Sequence[Claim], machine: bool, last: bool) -> Unit:
    inside = [c for c in claims if unit.start <= c.start < unit.end]
    fits = topics.fit(unit.text, inside)
    manner, rule = kinds.manner(unit.text, said=any(c.certainty != "unknown" for c in inside))
    other = "machine" if machine else kinds.other(unit.text, topical=bool(fits) or bool(inside), last=last)
    return replace(unit, fits=tuple(fits), manner=manner, rule=rule or unit.rule, other=other)


def _open(units: Sequence[Unit]) -> list[Unit]:
    """The units that may speak to a question."""
    return [u for u in units if not u.other]


# --- by quoted questions -------------------------------------------------------------------------------------
def _by_quotes(
    units: Sequence[Unit], pieces: Sequence[Piece], asked: Sequence[Asked], topics: Topics, kinds: Kinds
) -> list[Unit] | None:
    """Answers below (or inside) the questions they quote; null where nothing stands below any."""
    if not any(u.group for u in _open(units)):
        return None
    out: list[Unit] = []
    groups: dict[tuple[int, ...], list[Unit]] = {}
    for u in units:
        groups.setdefault(u.group, []).append(u)
    placed: dict[int, Unit] = {}
    for group, members in groups.items():
        live = _open(members)
        if not group:
            placed |= {u.start: u for u in _by_topic(members, asked, topics, kinds)}
            continue
        few = [q for q in asked if q.n in group]
        if len(group) == 1:
            done = [replace(u, questions=_beside(u, group, first=i == 0), how="quote") for i, u in enumerate(live)]
        elif len(live) == len(group):
            done = _by_order(live, few, topics, kinds) or [
                replace(u, questions=(q.n,), how="quote") if _all_fit(live, few, kinds) else _within(u, group)
                for u, q in zip(live, few, strict=True)
            ]
        else:
            done = [_within(u, group) for u in live]
        placed |= {u.start: u for u in done}
    for u in units:
        out.append(placed.get(u.start, u))
    return out


def _beside(unit: Unit, group: tuple[int, ...], *, first: bool) -> tuple[int, ...]:
    """What stands under one question answers it; further sentences may speak of another."""
    others = tuple(f.question for f in unit.fits if f.score >= CLAIM)
    return group if first or not others or set(others) & set(group) else others


def _within(unit: Unit, group: tuple[int, ...]) -> Unit:
    """One of several questions quoted in a row: what the words fit, or else the last, which stands straight above."""
    best = [f.question for f in unit.fits if f.question in group and f.score >= 1.0]
    return replace(unit, questions=(best[0] if best else group[-1],), how="quote")


# --- by numbers ----------------------------------------------------------------------------------------------
def _by_numbers(
    units: Sequence[Unit],
    reply: str,
    blocks: Sequence[Block],
    asked: Sequence[Asked],
    topics: Topics,
    claims: Sequence[Claim],
) -> list[Unit] | None:
    if not blocks:
        return None
    order = [q.n for q in asked]
    fit: dict[tuple[int, int], float] = {}
    for each in blocks:
        inside = [c for c in claims if each.start <= c.start < each.end]
        for f in topics.fit(reply[each.start : each.end], inside, best=False):
            fit[each.number, f.question] = f.score
    ways = meant([b.number for b in blocks], order, fit)
    out = []
    for u in units:
        block: Block | None = next((b for b in reversed(blocks) if b.mark <= u.start < b.end), None)
        # A paragraph below the last number speaks for itself.
        apart = block is blocks[-1] and "\n\n" in reply[block.start : u.start] if block else True
        if block is None or apart or u.other or block.number not in ways:
            out.append(u)
            continue
        start = max(u.start, block.start)
        if start >= u.end:
            continue
        by = order.index(ways[block.number]) - (block.number - 1)
        more = tuple(order[n - 1 + by] for n in block.also if 0 <= n - 1 + by < len(order))
        told = tuple(dict.fromkeys((ways[block.number], *more)))
        out.append(replace(u, start=start, text=reply[start : u.end], questions=told, how="number"))
    return out if any(u.how == "number" for u in out) else None


def _cut(units: Sequence[Unit], marks: Sequence[int]) -> list[Unit]:
    """Sentences parted where a number inside them opens the next answer ('a) none b) a kind of bead')."""
    out = []
    for u in units:
        ends = [m for m in marks if u.start < m < u.end] + [u.end]
        at = u.start
        for end in ends:
            text = u.text[at - u.start : end - u.start]
            kept = text.strip()
            if kept:
                start = at + text.index(kept)
                out.append(u if kept == u.text else replace(u, start=start, end=start + len(kept), text=kept))
            at = end
    return out


def _blanked(reply: str, pieces: Sequence[Piece]) -> str:
    """The reply with the buyer's own words blanked, so that his numbers are not taken for the seller's."""
    chars = list(reply)
    for p in pieces:
        if p.quoted:
            chars[p.start : p.end] = [c if c == "\n" else " " for c in reply[p.start : p.end]]
    return "".join(chars)


# --- by order ------------------------------------------------------------------------------------------------
def _by_order(units: Sequence[Unit], asked: Sequence[Asked], topics: Topics, kinds: Kinds) -> list[Unit] | None:
    """As many answers as questions, the first of them bare, and none that fits another question better."""
    live = _open(units)
    if any(kinds.all_left(u.text) for u in live):
        return None
    polar = [q for q in asked if kinds.polar(q.text)]
    for parts in (live, _listed(live), _split(live)):
        bare = sum(kinds.bare(u.text, BARE) for u in parts)
        slashed = len(live) == 1 and len(parts) == len(_SLASHES.findall(live[0].text)) + 1
        whole = parts is live and len(parts) == len(asked) and _each_in_place(parts, asked, kinds)
        if len(parts) < 2 or (bare * 2 < len(parts) and not whole and not (slashed and bare)):
            continue
        for few in (asked, polar):
            if len(parts) == len(few) and all(_fits_place(u, q.n) for u, q in zip(parts, few, strict=True)):
                placed = {u.start: replace(u, questions=(q.n,), how="order") for u, q in zip(parts, few, strict=True)}
                gone = {(u.start, u.end) for u in live}
                rest = [u for u in units if (u.start, u.end) not in gone]
                return sorted([*rest, *placed.values()], key=lambda u: u.start)
    return None


def _fits_place(unit: Unit, question: int) -> bool:
    return not unit.fits or any(f.question == question for f in unit.fits) or unit.fits[0].score < 1.5


def _all_fit(units: Sequence[Unit], asked: Sequence[Asked], kinds: Kinds) -> bool:
    """Whether each sentence speaks of the question at its place, or is a yes or no that speaks of no other."""
    return all(
        any(f.question == q.n for f in u.fits) or (kinds.leads_polar(u.text) and _fits_place(u, q.n))
        for u, q in zip(units, asked, strict=True)
    )


def _each_in_place(units: Sequence[Unit], asked: Sequence[Asked], kinds: Kinds) -> bool:
    """Whether each sentence speaks of the question at its place, or speaks of none and only says yes, no or unknown."""
    idle = sum(not u.fits for u in units)
    return 0 < idle < len(units) and all(
        any(f.question == q.n for f in u.fits)
        or (not u.fits and (kinds.leads_polar(u.text) or u.manner == "ignorance"))
        for u, q in zip(units, asked, strict=True)
    )


def _split(units: Sequence[Unit]) -> list[Unit]:
    """Sentences parted at commas and slashes: 'yes, no, both'."""
    out = []
    for u in units:
        at = u.start
        for m in re.finditer(r"[,;/、]\s*|$", u.text):
            end = u.start + m.start()
            text = u.text[at - u.start : end - u.start].rstrip()
            if re.search(r"\w", text):
                out.append(replace(u, start=at, end=at + len(text), text=text, fits=()))
            at = u.start + m.end()
    return out


def _listed(units: Sequence[Unit]) -> list[Unit]:
    """A sentence parted at its semicolons, behind the colon that opens the list: 'To your questions: no; yes; both.'"""
    out = []
    for u in units:
        if ";" not in u.text:
            out.append(u)
            continue
        opens = re.match(r"[^;:]*:(?=\s)", u.text)
        for m in re.finditer(r"[^;]+", u.text[opens.end() if opens else 0 :]):
            text = m.group()
            start = u.start + (opens.end() if opens else 0) + m.start() + len(text) - len(text.lstrip())
            out.append(replace(u, start=start, end=start + len(text.strip()), text=text.strip(), fits=()))
    return out


# --- by what is spoken of ------------------------------------------------------------------------------------
def _by_topic(units: Sequence[Unit], asked: Sequence[Asked], topics: Topics, kinds: Kinds) -> list[Unit]:
    order = [q.n for q in asked]
    polar = [q.n for q in asked if kinds.polar(q.text)]
    taken = {n for u in units for n in u.questions}
    taken |= {u.fits[0].question for u in _open(units) if u.fits and u.fits[0].score >= 1.0}
    last: int | None = None
    out: list[Unit] = []
    for i, u in enumerate(units):
        if u.questions or u.other:
            out.append(u)
            last = u.questions[-1] if u.questions else last
            continue
        pointed = kinds.ordinals(u.text, order)
        before = out[-1] if out else None
        # 'The bar code? No idea.'
        echoed = before.questions if before and before.text.endswith(("?", "\uff1f")) and before.end <= u.start else ()
        yes_no = (kinds.leads_polar(u.text) or kinds.looked(u.text)) and u.manner == "answer"
        left = kinds.all_left(u.text) and u.manner == "answer" and [n for n in order if n not in taken]
        if left:
            u = replace(u, questions=tuple(left), how="number", rule="all that is left")
            taken |= set(left)
        elif pointed:
            u = replace(u, questions=pointed, how="number")
        elif echoed and (yes_no or u.manner == "ignorance"):
            u = replace(u, questions=echoed, how="quote")
        elif u.manner in ("evasion", "later", "question_back") and not any(f.sure or f.zone for f in u.fits):
            pass  # words in common alone tie no evasion to one question
        elif u.fits and (u.fits[0].score >= 1.0 or not yes_no):
            top = u.fits[0].score
            if top >= 1.0 or u.manner != "answer":
                # 'I cannot read those scratches' meets every question about them.
                vague = u.manner != "answer"
                best = tuple(
                    f.question for f in u.fits if f.score >= max(top - 0.25, 0.5) or f.sure or (vague and f.zone)
                )
                u = replace(u, questions=best, how="topic", rule=u.rule or u.fits[0].rule)
        elif yes_no:
            ahead = [n for n in polar if n not in taken]
            later = [n for n in ahead if last is None or order.index(n) >= order.index(last)]
            chosen = (later or ahead)[:1]
            if not chosen and last is None and len(order) == 1:
                chosen = order[:1]
            if chosen:
                u = replace(u, questions=tuple(chosen), how="order", rule="next open yes-or-no question")
                taken.add(chosen[0])
        follows = u.manner == "answer" or (u.manner == "ignorance" and not kinds.rest(u.text))
        if not u.questions and last is None and len(order) == 1 and follows and u.manner == "answer":
            u = replace(u, questions=tuple(order), how="follows", rule="the only question")
        if not u.questions and last is not None and follows and not _apart(units, i):
            u = replace(u, questions=(last,), how="topic" if u.manner == "ignorance" else "follows")
        if u.questions and u.how != "follows":
            last = u.questions[-1]
        out.append(u)
    return out


def _apart(units: Sequence[Unit], i: int) -> bool:
    return i == 0 or units[i - 1].other != ""


# --- to all questions at once --------------------------------------------------------------------------------
def _general(units: Sequence[Unit], asked: Sequence[Asked], kinds: Kinds) -> list[Unit]:
    """Evasions that name no question speak to every question that nothing else speaks to."""
    met = {n for u in units for n in u.questions if u.how != "follows"}
    open_ = tuple(q.n for q in asked if q.n not in met)
    if not open_:
        return list(units)
    answered = any(u.questions and u.how != "follows" and u.manner == "answer" for u in units)

    def general(u: Unit) -> bool:
        if u.other or (u.questions and u.how != "follows"):
            return False
        if u.manner in ("evasion", "later"):
            return True
        if u.manner == "question_back":
            return not answered
        return u.manner == "ignorance" and (not answered or kinds.rest(u.text))

    out = [replace(u, questions=open_, how="general") if general(u) else u for u in units]
    if any(u.questions for u in out):
        return out
    # Words that meet no question and are neither courtesy nor a price: talk in place of an answer.
    talk: Callable[[Unit], bool] = lambda u: not u.other  # noqa: E731
    return [replace(u, questions=open_, how="general", manner="evasion", rule="talk") if talk(u) else u for u in out]
