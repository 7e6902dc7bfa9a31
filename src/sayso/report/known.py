"""What is known of the label, and what described marks prove, as lines that every report lays out in its own way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sayso.model import Audit, EraFit, History, Proof, Remark
    from sayso.report.words import Words


@dataclass(frozen=True)
class Known:
    """One thing known: a line, smaller lines below it (basis, source, caution), and whether it wants attention."""

    line: str
    below: tuple[str, ...] = ()
    heads: bool = False
    """It introduces the lines that follow."""
    look: bool = False
    sign: str = field(default="")


def of_label(audit: Audit, say: Words) -> list[Known]:
    """What is known of the label on offer; none where it was not recognised."""
    history = audit.history
    if history is None or not (history.eras or history.shows or history.traps):
        return []
    return [*_head(history, say), *_eras(history, say), *_shows(audit, history, say), *_rest(history, say)]


def _head(history: History, say: Words) -> Iterator[Known]:
    words = say.say("label.named", name=history.name, quote=history.span.quote) if history.span else history.name
    yield Known(words + (say.say("label.number", number=history.number) if history.number else "") + ".")


def _eras(history: History, say: Words) -> Iterator[Known]:
    merged: dict[tuple[str, str, str | None, str | None], list[EraFit]] = {}
    for era in history.eras:
        merged.setdefault((era.name, era.address, era.earliest, era.latest), []).append(era)
    for same in merged.values():
        era = same[0]
        by = dict.fromkeys(
            say.say("label.by_words", quote=e.span.quote if e.span else e.name)
            if e.by == "words"
            else say.say("label.by_number")
            for e in same
        )
        head = say.say("label.joined").join(by)
        years = say.say("label.years", low=era.earliest or "?", high=era.latest or say.say("label.open"))
        what = "; ".join(x for x in (era.name, era.address, years, era.numbers) if x)
        below = [_basis(era.basis, era.source, say)]
        if era.from_memory and "memory" not in era.basis:
            fields = ", ".join(say.lexicon.phrases.get(f"field.{f}", f.replace("_", " ")) for f in era.from_memory)
            below.append(say.say("label.from_memory", fields=fields))
        yield Known(f"{head[:1].upper()}{head[1:]}: {what}.", (*below, *((era.caution,) if era.caution else ())))
    for doubt in history.doubts:
        yield Known(doubt, look=True, sign="!")


def _shows(audit: Audit, history: History, say: Words) -> Iterator[Known]:
    if not history.shows:
        return
    yield Known(say.say("label.shows"), heads=True)
    states = {f.feature: f.state for f in audit.findings}
    for remark in history.shows:
        told = [f"{say.feature(f)}: {say.state(states[f])}" for f in remark.features if f in states]
        yield Known(remark.text + (f" ({'; '.join(told)})" if told else ""), _doubtful(remark, say), sign="*")


def _rest(history: History, say: Words) -> Iterator[Known]:
    if history.traps:
        yield Known(say.say("label.traps"), heads=True)
        for remark in history.traps:
            yield Known(remark.text, _doubtful(remark, say), sign="*")
    if history.leftover:
        yield Known(say.say("label.leftover", what=history.leftover.text), _doubtful(history.leftover, say))
    if history.source:
        yield Known(say.say("report.source", source=history.source))


def _doubtful(remark: Remark, say: Words) -> tuple[str, ...]:
    """What rests on more than the label's own sources says so; the sources themselves stand once, at the end."""
    return () if remark.basis == "published" else (_basis(remark.basis, "", say),)


def _basis(basis: str, source: str, say: Words) -> str:
    return say.say("label.basis", basis=basis) + (f": {source}" if source else "")


def of_mark(proof: Proof, say: Words) -> Known:
    """What one described mark proves, with its basis and what it leaves open."""
    since = say.say("proof.since", year=proof.not_before) if proof.not_before else ""
    line = say.say("proof.line", what=proof.proves) + since + "."
    return Known(line, tuple(x for x in (_basis(proof.basis, proof.source, say), proof.caution) if x))
