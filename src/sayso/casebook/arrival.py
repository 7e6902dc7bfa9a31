"""The record in hand against what was said: a checklist for this case, and what comes of it.

The checks stand in the order in which one inspects: parcel, jacket, inner sleeve, label, blank ring, edge, play. Each
quotes the seller's own words with their date and where they stand. What is found is one of three: as described, better,
not as described; anything else is left open. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from sayso.audit.said import spoken
from sayso.casebook.book import Case
from sayso.model import Audit, Claim, Noun

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

Result = Literal["as described", "better", "not as described", "not checked"]
RESULTS: Mapping[str, Result] = {
    "y": "as described",
    "yes": "as described",
    "as described": "as described",
    "+": "better",
    "b": "better",
    "better": "better",
    "n": "not as described",
    "no": "not as described",
    "not as described": "not as described",
    "": "not checked",
    "?": "not checked",
    "skip": "not checked",
    "not checked": "not checked",
}
ZONES = ("parcel", "jacket", "inner", "label", "dead wax", "edge", "playing surface")
"""The order of an inspection. Common practice, no source: from the outside in, and play last."""
EDITION = "edge"
"""What edition it is shows when label, blank ring and edge have been seen; terms of sale cannot be seen at all."""


class Promise(Noun):
    """What the seller said of one thing, in his words, when and where."""

    quote: str
    date: str
    source: Literal["listing", "reply"]
    polarity: Literal["present", "absent"] = "present"
    certainty: Literal["certain", "hedged", "unknown"] = "certain"
    side: str | None = None
    value: str | int | float | None = None
    stands: bool = True
    """False where he said something else later."""


class Check(Noun):
    """One thing to look at."""

    id: str
    zone: str
    feature: str | None = None
    look: str
    promises: tuple[Promise, ...] = ()


class Found(Noun):
    """What was found for one check; `seen` in the buyer's words."""

    id: str
    result: Result
    seen: str = ""


class Judged(Noun):
    """A check with what was found."""

    check: Check
    result: Result
    seen: str = ""


class Arrival(Noun):
    """What came of the inspection. `pressing` is what the copy turned out to be, by the dossier's id, where known."""

    date: str
    judged: tuple[Judged, ...]
    verdict: Literal["as described", "better", "not as described", "not checked"]
    pressing: str | None = None
    first: bool | None = None
    """Whether it turned out to be a first pressing; null where that cannot be told."""
    message: str = ""


def checklist(case: Case, lexicon: Lexicon) -> tuple[Check, ...]:
    """What to look at when the parcel comes: everything that was promised of this copy, where to look first.

    Raises `CasebookError` for a case without a listing.
    """
    said = _said(case)
    checks: list[Check] = [
        Check(id=f"parcel.{row.id.rsplit('.', 1)[-1]}", zone="parcel", look=row.forms[0])
        for row in lexicon.words
        if row.kind == "arrival_parcel"
    ]
    for feature, promises in said.items():
        known = lexicon.features.get(feature)
        if known is None:
            continue
        zone = known.zone if known.zone in ZONES else EDITION if feature.startswith("edition.") else None
        if zone is not None:
            look = lexicon.phrases["arrive.look.edition"] if feature.startswith("edition.") else known.find
            checks.append(Check(id=feature, zone=zone, feature=feature, look=look, promises=tuple(promises)))
    checks.sort(key=lambda c: ZONES.index(c.zone))
    return tuple(checks)


def _said(case: Case) -> dict[str, list[Promise]]:
    """Feature → what was promised of it, in the order in which it was said; a thing not known is no promise."""
    out: dict[str, list[Promise]] = {}
    standing: set[tuple[str, str]] = {(c.feature, c.quote) for c in case.audit.claims}
    seen: set[tuple[str, str, object, object]] = set()
    for event, audit in case.audits():
        start = event.body.get("reply", {}).get("reply_start", 0) if event.kind == "reply" else 0
        for claim in audit.claims:
            if claim.start < start or claim.certainty == "unknown":
                continue
            key = (claim.feature, claim.quote, claim.side, claim.value)
            if key in seen:
                continue
            seen.add(key)
            words = spoken(audit.listing.text, claim)
            out.setdefault(claim.feature, []).append(_promise(claim, words, event.at, event.kind, standing))
    return out


def _promise(claim: Claim, words: str, at: str, kind: str, standing: set[tuple[str, str]]) -> Promise:
    return Promise(
        quote=words,
        date=at[:10],
        source="reply" if kind == "reply" else "listing",
        polarity=claim.polarity,
        certainty=claim.certainty,
        side=claim.side,
        value=claim.value,
        stands=(claim.feature, claim.quote) in standing,
    )


def judge(
    checks: Sequence[Check],
    found: Iterable[Found],
    *,
    date: str,
    lexicon: Lexicon,
    audit: Audit,
    pressing: str | None = None,
) -> Arrival:
    """The checks with what was found, the verdict, and a short message to the seller where there is cause for one."""
    by_id = {f.id: f for f in found}
    judged = tuple(
        Judged(check=c, result=by_id[c.id].result, seen=by_id[c.id].seen)
        if c.id in by_id
        else Judged(check=c, result="not checked")
        for c in checks
    )
    results = {j.result for j in judged}
    verdict: Result = (
        "not as described"
        if "not as described" in results
        else "better"
        if "better" in results
        else "as described"
        if "as described" in results
        else "not checked"
    )
    firsts = {p.id for p in audit.odds.pressings if p.first} if audit.odds else set()
    first = pressing in firsts if pressing is not None and firsts else None
    return Arrival(
        date=date,
        judged=judged,
        verdict=verdict,
        pressing=pressing,
        first=first,
        message=_message(judged, verdict, audit, lexicon),
    )


def _message(judged: Sequence[Judged], verdict: str, audit: Audit, lexicon: Lexicon) -> str:
    """Facts alone: his words and their date, what is in hand, what is asked for. No charge, no threat."""
    say = lexicon.phrases
    title = audit.listing.title or say["arrive.message.record"]
    if verdict == "not checked":
        return ""
    if verdict != "not as described":
        whole = all(j.result != "not checked" for j in judged)
        return say["arrive.message.good" if whole else "arrive.message.so_far"].format(title=title)
    lines = [say["arrive.message.open"].format(title=title)]
    for j in judged:
        if j.result != "not as described":
            continue
        promise = next((p for p in reversed(j.check.promises) if p.stands), None)
        seen = j.seen.strip().rstrip(".") or say["arrive.message.seen"]
        if promise is None:
            lines.append(say["arrive.message.plain"].format(what=j.check.look.rstrip("."), seen=seen))
        else:
            where = say[f"arrive.source.{promise.source}"]
            lines.append(
                say["arrive.message.line"].format(quote=promise.quote, where=where, date=promise.date, seen=seen)
            )
    returns = [c for c in audit.claims if c.feature == "terms.returns" and c.polarity == "present"]
    if returns:
        lines.append(say["arrive.message.returns"].format(quote=returns[-1].quote))
    lines.append(say["arrive.message.close"])
    return "\n".join(lines)


def found_from(data: Any, checks: Sequence[Check]) -> tuple[list[Found], str | None]:
    """What a file says was found: {"deadwax.plant_mark": "n: no sign on either side", …} or a list of {"id", "result",
    "seen"}, with "pressing" where it is known. Raises ValueError saying what cannot be used.
    """
    pressing = None
    if isinstance(data, Mapping):
        data = dict(data)
        pressing = data.pop("pressing", None)
        data = data.pop("found", None) or [{"id": k, **_split(v)} for k, v in data.items()]
    if not isinstance(data, list):
        raise ValueError("it must be an object of check: result, or a list of {id, result, seen}")
    known = {c.id for c in checks}
    out = []
    for row in data:
        if not isinstance(row, Mapping) or "id" not in row:
            raise ValueError(f"{row!r} has no id")
        if row["id"] not in known:
            raise ValueError(f"there is no check {row['id']!r} in this case; there are {', '.join(sorted(known))}")
        result = RESULTS.get(str(row.get("result", "")).strip().casefold())
        if result is None:
            raise ValueError(
                f"{row['id']}: {row.get('result')!r} is no result; write y (as described), b (better), "
                "n (not as described) or ? (not checked)"
            )
        out.append(Found(id=row["id"], result=result, seen=str(row.get("seen") or "")))
    if pressing is not None and not isinstance(pressing, str):
        raise ValueError("pressing must be the id of one of the dossier's pressings")
    return out, pressing


def _split(value: object) -> dict[str, str]:
    """'n: no sign on either side' as result and what was seen."""
    head, _, seen = str(value).partition(":")
    return {"result": head, "seen": seen.strip()}
