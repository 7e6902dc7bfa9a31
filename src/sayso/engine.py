"""Runs the stages in order: listing → claims → findings, conflicts, dating → odds, worth → questions → answer."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from sayso.model import Audit, Claim, Conflict, Dating, Deferral, Finding, Listing, Question

if TYPE_CHECKING:
    from sayso.audit.coverage import Coverage
    from sayso.audit.labelling import LabelFound
    from sayso.judgement import Judgement
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Label


def audit_text(text: str, lexicon: Lexicon | None = None, **options: Any) -> Audit:
    """Audit pasted words, a page or a fragment of one. Options as in `audit_listing`.

    Raises `sayso.intake.IntakeError` for empty or oversized input.
    """
    from sayso.intake import read_any
    from sayso.lexicon import load_lexicon

    lexicon = lexicon or load_lexicon()
    return audit_listing(read_any(text, lexicon=lexicon), lexicon, **options)


def audit_listing(
    listing: Listing,
    lexicon: Lexicon | None = None,
    *,
    pointed: bool = False,
    language: str | None = None,
    max_questions: int = 5,
    max_chars: int | None = None,
    asked: Collection[str] = (),
    record: str | None = None,
    **judging: Any,
) -> Audit:
    """Audit one listing. Pure: the same listing, lexicon and options give the same audit.

    `language` is that of the questions (the listing's own where there are templates for it, else English); `asked` are
    features that were asked about before; `record` names the dossier to judge by (its id or number) where the words do
    not; `judging` goes to the judgement of worth and advice.
    """
    from sayso.lexicon import load_lexicon

    lexicon = lexicon or load_lexicon()
    listing, claims, deferrals = _read(listing, lexicon)
    return conclude(
        listing,
        claims,
        deferrals,
        lexicon,
        pointed=pointed,
        language=language,
        max_questions=max_questions,
        max_chars=max_chars,
        asked=asked,
        record=record,
        **judging,
    )


def conclude(
    listing: Listing,
    claims: Sequence[Claim],
    deferrals: Sequence[Deferral],
    lexicon: Lexicon,
    *,
    pointed: bool = False,
    language: str | None = None,
    max_questions: int = 5,
    max_chars: int | None = None,
    asked: Collection[str] = (),
    record: str | None = None,
    **judging: Any,
) -> Audit:
    """From claims to the whole audit; what was said may come from the listing and from a reply folded into it. Pure.

    Raises `sayso.questions.TooShort` where `max_chars` leaves no room for one question, `LexiconError` where `record`
    names no dossier.
    """
    from sayso.answer import OPEN, answer, cautions
    from sayso.audit.coverage import cover, is_lot
    from sayso.audit.cut_letters import cut_letters
    from sayso.audit.history import by_name, history_of, tells
    from sayso.audit.labelling import find_label
    from sayso.audit.proofs import prove
    from sayso.audit.standing import standing_of
    from sayso.questions import Asking, ask_seller

    on_label = find_label(listing, lexicon)
    claims = (*claims, *cut_letters(claims, on_label.label if on_label else None, lexicon))
    standing = standing_of(claims, deferrals, lexicon)
    dossier = _dossier(listing, lexicon, record)
    decides = _decides(dossier)
    dating, conflicts = _date(listing, claims, lexicon, on_label)
    if on_label is None and dossier is not None:
        on_label = by_name(dossier, lexicon)
    history = history_of(on_label, claims, dating.bounds, lexicon)
    coverage = cover(
        standing, claims, lexicon, segments=listing.segments, decides=decides, tells=() if decides else tells(history)
    )
    judgement = None
    lot = is_lot(claims, listing.segments)
    if (dossier is not None or judging) and not lot:
        from sayso.judgement import judge, offer_of

        offer = offer_of(listing, **judging)
        found = coverage.findings
        general = None
        if dossier is None:
            from sayso.judgement.general import General

            undecided = sorted((f for f in found if f.need == "decisive" and f.state in OPEN), key=_soonest(coverage))
            general = General(
                contradicted=any(c.kind == "age" for c in conflicts),
                open=tuple(f.feature for f in undecided),
                pointed=frozenset(f.feature for f in undecided if f.state == "deferred"),
            )
        judgement = judge(
            claims, deferrals, listing, dossier, offer, lexicon, dating=dating, findings=found, general=general
        )
    odds = judgement.odds if judgement else None
    advice = judgement.advice if judgement else None
    if advice is not None and judgement is not None and not listing.auction:
        from sayso.judgement.contradicted import settle_first

        advice = settle_first(advice, coverage.findings, judgement.worth, listing.price, lexicon)
    wish = Asking(
        language=language or listing.language,
        pointed=pointed,
        max_questions=max_questions,
        max_chars=max_chars,
        asked=frozenset(asked),
        marks=decides,
        size=size_of(claims),
        doubts=dating.doubts,
        boost=_boost(judgement),
        again=_again(judgement, claims),
    )
    questions, message = ask_seller(coverage, claims, conflicts, lexicon, wish, judgement.value if judgement else None)
    return Audit(
        listing=listing,
        answer=answer(coverage, conflicts, odds, advice, questions, lexicon),
        claims=tuple(claims),
        deferrals=tuple(deferrals),
        findings=coverage.findings,
        conflicts=conflicts,
        dating=dating,
        odds=odds,
        why_no_odds=judgement.why_no_odds
        if judgement
        else lexicon.phrases["report.no_odds_lot" if lot else "report.no_dossier"],
        worth=judgement.worth if judgement else None,
        advice=advice,
        questions=questions,
        message=message,
        cautions=(
            *cautions(odds, lexicon),
            *((lexicon.phrases["caution.general"],) if odds is not None and dossier is None else ()),
            *_no_worth(judgement, lexicon),
        ),
        silence=coverage.silence,
        dossier=dossier.id if dossier is not None else None,
        history=history,
        proofs=prove(claims, listing.text, on_label.label if on_label else None, lexicon),
    )


def size_of(claims: Sequence[Claim]) -> int | None:
    """The size of the record in inches, where the seller gives one and no other."""
    told = {
        str(c.value).split()[0] for c in claims if c.feature == "format.size" and c.polarity == "present" and c.value
    }
    return int(size) if len(told) == 1 and (size := told.pop()).isdigit() else None


def _soonest(coverage: Coverage) -> Callable[[Finding], float]:
    """Sorts findings by how soon one would ask for them."""
    return lambda finding: -coverage.ask.get(finding.feature, 0.0)


def _read(listing: Listing, lexicon: Lexicon) -> tuple[Listing, tuple[Claim, ...], tuple[Deferral, ...]]:
    from sayso.claims import read_claims

    reading = read_claims(listing, lexicon)
    return reading.listing, tuple(reading.claims), tuple(reading.deferrals)


class _Read(NamedTuple):
    """What dating needs of what was read."""

    listing: Listing
    claims: Sequence[Claim]


def _date(
    listing: Listing, claims: Sequence[Claim], lexicon: Lexicon, found: LabelFound | None
) -> tuple[Dating, tuple[Conflict, ...]]:
    from sayso.audit.dating import date_listing

    return date_listing(_Read(listing, claims), lexicon, found, known=True)


def _dossier(listing: Listing, lexicon: Lexicon, record: str | None) -> Label | None:
    """The dossier named by the buyer, who may know more of the record than the listing says, or the one that fits."""
    from sayso.audit.dossier import find_dossier, named_dossier

    return named_dossier(record, lexicon) if record is not None else find_dossier(listing, lexicon)


def _no_worth(judgement: Judgement | None, lexicon: Lexicon) -> tuple[str, ...]:
    why = judgement.why_no_worth if judgement else None
    return (lexicon.phrases["caution.no_worth"].format(why=why.rstrip(".")),) if why else ()


def _decides(dossier: Label | None) -> dict[str, str]:
    """Feature → what it shows on the pressing one hopes for, by the dossier of this record."""
    out: dict[str, str] = {}
    if dossier is not None:
        firsts = dossier.counts_as_first or tuple(p.id for p in dossier.pressings[:1])
        for d in sorted(dossier.decides, key=lambda d: d.pressing not in firsts):
            out.setdefault(d.feature, d.value)
    return out


def _boost(judgement: Judgement | None) -> dict[str, float]:
    """How much sooner to ask for a feature, from what its answer is worth: the best by as much as a need can weigh."""
    if judgement is None:
        return {}
    worths = {f: amount for f, (amount, _) in judgement.values.items() if amount > 0}
    top = max(worths.values(), default=0.0)
    boost = {f: 50.0 * amount / top for f, amount in worths.items()}
    if judgement.first_question:
        boost[judgement.first_question] = 100.0
    return boost


def _again(judgement: Judgement | None, claims: Sequence[Claim]) -> dict[str, str]:
    """The seller's words for what does not fit together in any one copy, where it is worth a second look."""
    if judgement is None or judgement.first_question not in judgement.clashing:
        return {}
    firm = [c for c in claims if c.certainty == "certain" and c.feature in judgement.clashing]
    return {c.feature: c.quote for c in reversed(firm)}


def ask_without_listing(
    lexicon: Lexicon,
    *,
    label: str = "",
    kind: str | None = None,
    language: str = "en",
    pointed: bool = False,
    max_questions: int = 5,
    max_chars: int | None = None,
) -> tuple[tuple[Question, ...], str]:
    """A message for a record of which no description is at hand: of one label, of one kind of offer, or any.

    `kind` is the id of a profile. Raises `sayso.questions.TooShort`.
    """
    from sayso.audit.coverage import cover
    from sayso.questions import Asking, ask_seller

    coverage = cover({}, (), lexicon, suppose=(kind,) if kind else ())
    wish = Asking(language=language, pointed=pointed, max_questions=max_questions, max_chars=max_chars, label=label)
    return ask_seller(coverage, (), (), lexicon, wish)
