"""What is known of the label on offer: which eras fit, what a first pressing should show, the traps; with sources.

An era is where a design was put on new records. What does not fit it is a question and never a charge: old stock is
used up later, and most of it rests on collectors' word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from sayso.audit.labelling import LabelFound, eras_of, same_series, spelt
from sayso.model import Bound, Claim, EraFit, History, Remark, Span

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Era, Label, Said

SEEN = frozenset({"label.address", "label.design"})
"""Features by which an era is recognised in the seller's words."""


def history_of(
    found: LabelFound | None, claims: Sequence[Claim], bounds: Sequence[Bound], lexicon: Lexicon
) -> History | None:
    """The history of the label found, as far as it bears on this listing; null where no label was found. Pure."""
    if found is None:
        return None
    label = found.label
    channels = _channels(claims)
    eras = [_fit(e, label, "number", None) for e in eras_of(label, found.number, channels)]
    by_words = list(_by_words(label, claims, bounds))
    return History(
        label=label.id,
        name=label.name,
        span=found.span,
        number=found.number,
        eras=(*eras, *by_words),
        shows=tuple(_remarks(label.first_pressing_features, found, channels)),
        traps=tuple(_remarks(label.traps, found, channels)),
        leftover=next(_remarks((label.stock_reuse,) if label.stock_reuse else (), found, channels), None),
        doubts=(*_later_label(eras, by_words, lexicon), *_doubts(by_words, claims, lexicon)),
        source=label.source,
    )


def tells(history: History | None) -> dict[str, str]:
    """Feature → why it decides on this label: the first remark on first pressings that speaks of it."""
    out: dict[str, str] = {}
    for remark in history.shows if history else ():
        for feature in remark.features:
            out.setdefault(feature, remark.text)
    return out


def by_name(label: Label, lexicon: Lexicon) -> LabelFound | None:
    """The history of the label of a dossier the buyer named; null where only the dossier is known."""
    row = next((x for x in lexicon.labels.values() if x.name == label.name and (x.era or x.sign)), None)
    number = label.number or None
    return LabelFound(row, None, number, eras_of(row, number)) if row else None


def _channels(claims: Sequence[Claim]) -> str:
    """'mono' or 'stereo', where the listing says so and says nothing else."""
    said = {
        word
        for c in claims
        if c.feature == "format.channels" and c.polarity == "present"
        for word in ("mono", "stereo")
        if word in str(c.value).casefold()
    }
    return said.pop() if len(said) == 1 else ""


def _remarks(rows: Iterable[Said], found: LabelFound, channels: str) -> Iterator[Remark]:
    for row in rows:
        if row.channels and channels and row.channels != channels:
            continue
        if found.number and not within(found.number, row.number_from, row.number_to):
            continue
        yield Remark(
            text=row.text,
            features=row.features,
            basis=row.basis,
            source=_source(row.source, row.basis, found.label),
        )


def _source(own: str, basis: str, label: Label) -> str:
    """Its own source; what is published without one rests on the label's; what is not published has none."""
    return own or (label.source if basis == "published" else "")


def within(number: str, first: str, last: str) -> bool:
    """Whether a catalogue number lies in a range, either end of which may be open; of another series it does not."""
    letters, value = spelt(number)
    for end, above in ((first, True), (last, False)):
        if not end:
            continue
        series, limit = spelt(end)
        if not same_series(series, letters):
            return False
        if value is not None and limit is not None and (value < limit if above else value > limit):
            return False
    return True


def _fit(era: Era, label: Label, by: str, span: Span | None) -> EraFit:
    return EraFit(
        name=era.name or era.design or era.address,
        address=era.address if (era.name or era.design) else "",
        channels=era.channels,
        earliest=era.earliest,
        latest=era.latest,
        numbers=" to ".join(n for n in (era.catalogue_from, era.catalogue_to) if n),
        by=by,  # type: ignore[arg-type]
        span=span,
        basis=era.basis,
        source=_source(era.source, era.basis, label),
        caution=era.caution,
        from_memory=era.memory_fields,
    )


def _by_words(label: Label, claims: Sequence[Claim], bounds: Sequence[Bound]) -> Iterator[EraFit]:
    seen: set[int] = set()
    for bound in bounds:
        m = re.fullmatch(rf"label\.{re.escape(label.id)}\.era(\d+)", bound.fact)
        if m and int(m[1]) not in seen and int(m[1]) <= len(label.era):
            seen.add(int(m[1]))
            yield _fit(label.era[int(m[1]) - 1], label, "words", bound.span)
    told = [c for c in claims if c.feature in SEEN and c.polarity == "present" and c.value]
    # A design tells more than the line below it, which several designs may share.
    for claim in sorted(told, key=lambda c: c.feature != "label.design"):
        fitting = _fitting(label, claim, plain=not seen)
        if claim.feature == "label.address" and len(fitting) == 1 and seen and not set(fitting) & seen:
            shared = label.era[fitting[0] - 1]
            if any(_reads_as(label.era[n - 1], shared) for n in seen):
                continue
        if len(fitting) == 1 and fitting[0] not in seen:
            seen.add(fitting[0])
            span = Span(start=claim.start, end=claim.end, quote=claim.quote)
            yield _fit(label.era[fitting[0] - 1], label, "words", span)


def _fitting(label: Label, claim: Claim, *, plain: bool) -> list[int]:
    """The numbers of the eras that a claim of address or design fits; one that fits several tells none of them.

    What a design is called in another language has its English value, by which the signs of the label know it; colours
    alone (`plain`) count where nothing more is said.
    """
    told = str(claim.value).casefold()
    if claim.feature == "label.address":
        return [n for n, era in enumerate(label.era, 1) if era.address and era.address.casefold() == told]
    named = [n for n, era in enumerate(label.era, 1) if era.design.casefold() == told]
    if named:
        return named
    signs = {s.era for s in label.sign if s.era and any(re.search(p, told, re.IGNORECASE) for p in (*s.patterns,))}
    if signs:
        return sorted(signs)
    return [n for n, era in enumerate(label.era, 1) if _coloured(era.design, told)] if plain else []


def _coloured(design: str, told: str) -> bool:
    """Whether the ground of a design is the first colour told, and it has the others ('blue', 'blue, in silver')."""
    words, wanted = re.findall(r"[a-z]+", design.casefold()), re.findall(r"[a-z]+", told)
    at = words.index("on") + 1 if "on" in words[:4] else 0
    return bool(wanted) and wanted[0] in words[at : at + 1] and set(wanted) - {"and", "with", "on"} <= set(words)


def _reads_as(era: Era, shared: Era) -> bool:
    """Whether an era bears the line of another one, or nothing is known of its line."""
    words = f"{era.design} {era.address} {' '.join(era.lines)}".casefold()
    return not era.address or any(line.casefold() in words for line in (shared.address, *shared.lines) if line)


def _later_label(numbered: Sequence[EraFit], by_words: Sequence[EraFit], lexicon: Lexicon) -> Iterator[str]:
    """A label that came after the number was new: most such copies were pressed again later."""
    ends = [e.latest[:4] for e in numbered if e.latest]
    if not ends or len(ends) < len(numbered):
        return
    for era in by_words:
        if era.earliest and era.earliest[:4] > max(ends):
            said = era.span.quote if era.span else era.name
            yield lexicon.phrases["history.later_label"].format(said=said, year=era.earliest[:4], limit=max(ends))
            return


def _doubts(eras: Sequence[EraFit], claims: Sequence[Claim], lexicon: Lexicon) -> Iterator[str]:
    """Years the seller gives this copy that lie outside an era his words point to."""
    for era in eras:
        for claim in claims:
            if claim.feature != "edition.year" or claim.polarity != "present" or claim.role in ("released", "recorded"):
                continue
            year = str(claim.value)[:4]
            if not year.isdigit():
                continue
            key = ""
            if era.earliest and year < era.earliest[:4]:
                key, limit = "history.before", era.earliest[:4]
            elif era.latest and year > era.latest[:4]:
                key, limit = "history.after", era.latest[:4]
            if key:
                said = era.span.quote if era.span else era.name
                yield lexicon.phrases[key].format(said=said, year=year, limit=limit)
                break
