"""From claims, deferrals and the listing to what the network takes as said, one statement a feature."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sayso.judgement.dossier import ABSENT, Dossier
from sayso.judgement.network import Kind, Said
from sayso.judgement.values import fitting, tokens
from sayso.model import Claim, Deferral, Listing

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

DOUBT: frozenset[str] = frozenset({"hedge", "hedged", "unknown"})
"""Kinds of cues that make a statement a doubtful one; a hedged claim without any is a thing described unnamed."""


YES_OR_NO: frozenset[str] = frozenset(
    {
        "edition.club",
        "edition.reissue",
        "edition.promo",
        "label.deep_groove",
        "label.register_mark",
        "jacket.barcode",
    }
)
"""Things that are there or not; how they are worded does not matter."""


@dataclass(frozen=True)
class Heard:
    """What was said, as the network takes it."""

    said: Mapping[str, Said]
    edition: tuple[str, bool] | None = None
    """'first', 'later' or 'not later', and whether it was said firmly."""
    years: tuple[int, ...] = ()
    """Years given for the pressing itself."""
    bought: int | None = None
    """The year in which this copy is said to have been bought new."""
    grade: bool = False
    number: bool = False
    layman_words: bool = False
    trade_words: bool = False
    returns: str | None = None
    """'free', 'yes' or 'no'; null where nothing is said of returns."""
    foreign: tuple[tuple[str, str], ...] = ()
    """Values the dossier does not know: (feature, words)."""
    quotes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def hear(
    claims: Sequence[Claim],
    deferrals: Sequence[Deferral],
    listing: Listing,
    dossier: Dossier,
    lexicon: Lexicon,
    *,
    evaded: Collection[str] = (),
) -> Heard:
    """What was said of the dossier's features, of the edition, and of the seller himself. Pure.

    `evaded` are features that were asked about and passed over.
    """
    known: dict[str, list[str]] = {}
    for variants in dossier.parts.values():
        for shows in variants.values():
            for feature, value in shows.items():
                known.setdefault(feature, []).append(str(value))
    by_feature: dict[str, list[Claim]] = {}
    for claim in claims:
        if claim.feature == "deadwax.lettering" and _of_a_mark(claim, claims):
            continue
        by_feature.setdefault(claim.feature, []).append(claim)
    pointed = {d.feature for d in deferrals}
    evaded = {*evaded, *_passed_over(listing, known, lexicon)}
    said: dict[str, Said] = {}
    foreign: list[tuple[str, str]] = []
    for feature, values in known.items():
        mine = by_feature.get(feature, ())
        if feature == "label.design":
            mine = [_told_apart(c, values, listing.text, lexicon) for c in mine]
        one = _statement(feature, mine, values, foreign)
        if one is None and feature in evaded:
            one = Said(Kind.EVADED)
        if one is None and feature in pointed:
            one = Said(Kind.DEFERRED)
        if one is not None:
            said[feature] = one
    text = listing.text
    return Heard(
        said=said,
        edition=_edition(by_feature, known),
        years=_years(by_feature.get("edition.year", ())),
        bought=_bought(text, lexicon),
        grade=any(f in by_feature for f in ("condition.vinyl_grade", "condition.jacket_grade")),
        number="identity.catalogue_number" in by_feature or _has_number(text, dossier.number),
        layman_words=_talks(text, "seller_layman", lexicon),
        trade_words=_talks(text, "seller_trade", lexicon),
        returns=_returns(by_feature.get("terms.returns", ()), lexicon),
        foreign=tuple(foreign),
        quotes={f: tuple(c.quote for c in cs) for f, cs in by_feature.items()},
    )


def _told_apart(c: Claim, known: Sequence[str], text: str, lexicon: Lexicon) -> Claim:
    """The same with its value narrowed, where its sentence has all words of only some of the designs that it may mean.

    'The owl on the label is the plain one' has the word 'owl' of two designs, and 'plain' of one.
    """
    if not c.value or c.polarity == "absent":
        return c
    meant = fitting(c.feature, str(c.value), c.side, known)
    if len(meant) < 2:
        return c
    start = max(text.rfind(x, 0, c.start) for x in ".!?\n") + 1
    ends = [e for e in (text.find(x, c.end) for x in ".!?\n") if e >= 0]
    around = text[start : min(ends, default=len(text))]
    words = set(tokens(around))
    only = [v for v in meant if set(tokens(v)) <= words]
    if len(only) != 1 or _talks(around, "design_not", lexicon):
        return c
    return c.model_copy(update={"value": only[0]})


def _of_a_mark(lettering: Claim, claims: Sequence[Claim]) -> bool:
    """Whether the word says how the plant's sign beside it was made ('a bell stamped by the label'), not the number."""

    def beside(feature: str) -> bool:
        same = [c for c in claims if c.feature == feature]
        return any(0 <= lettering.start - c.end <= 1 or 0 <= c.start - lettering.end <= 1 for c in same)

    return beside("deadwax.plant_mark") and not beside("deadwax.matrix")


def _statement(
    feature: str, claims: Sequence[Claim], known: Sequence[str], foreign: list[tuple[str, str]]
) -> Said | None:
    """One statement from all claims of a feature: the firmest that is there governs, then a denial, then doubt.

    Where the seller says both yes and no of the same side, the later words are the correction and govern. That it is no
    reissue is an adjective ('first' said in another way) and no look at what a reissue would show.
    """
    if feature == "edition.reissue":
        claims = [c for c in claims if c.polarity == "present"]
    best: tuple[int, Said] | None = None
    for c in _corrected(claims):
        one = _one(feature, c, known, foreign)
        if one is None:
            continue
        rank = _RANK[one.kind]
        if best is None or rank > best[0]:
            best = (rank, one)
        elif rank == best[0] and one.values and best[1].values:
            both = tuple(v for v in best[1].values if v in one.values)
            merged = both or tuple(dict.fromkeys((*best[1].values, *one.values)))
            best = (rank, Said(one.kind, merged))
    return best[1] if best else None


def _corrected(claims: Sequence[Claim]) -> Sequence[Claim]:
    firm = [c for c in claims if c.certainty == "certain" and c.attribution == "seller"]
    last = max(firm, key=lambda c: c.start, default=None)
    if last is None:
        return claims

    def taken_back(c: Claim) -> bool:
        same_side = c.side == last.side or None in (c.side, last.side) or "both" in (c.side, last.side)
        same_thing = c.value == last.value or None in (c.value, last.value)
        return c.polarity != last.polarity and c.start < last.start and same_side and same_thing

    return [c for c in claims if not taken_back(c)]


_RANK = {
    Kind.FIRM: 9,
    Kind.DENIED: 8,
    Kind.DESCRIBED: 7,
    Kind.HEDGED: 6,
    Kind.HEARSAY: 5,
    Kind.FAILED: 4,
    Kind.UNKNOWN: 3,
    Kind.IGNORED: 1,
}


def _one(feature: str, c: Claim, known: Sequence[str], foreign: list[tuple[str, str]]) -> Said | None:
    if c.certainty == "unknown":
        return Said(Kind.UNKNOWN)
    words = "" if c.value is None else str(c.value)
    if not words and feature in ("label.design", "label.address", "jacket.construction"):
        words = c.quote
    if feature == "label.deep_groove" and c.side in ("a", "b", "both") and not words:
        words = "both" if c.side == "both" else ""
    nothing = words.casefold().strip() in ABSENT and words != ""
    values = fitting(feature, words, c.side, known) if words and not nothing else ()
    if c.polarity == "absent" or nothing:
        if words and not nothing and not values:
            # A mark that this record never bore is denied: no denial and no comfort.
            foreign.append((feature, words))
            return None
        return Said(Kind.FAILED if c.certainty == "hedged" or c.attribution == "third_party" else Kind.DENIED, values)
    if words and not values:
        only = {v for v in known if v.casefold() not in ABSENT}
        if any(cue.rule.partition(":")[0] == "likeness" for cue in c.cues):
            # A layman's picture of something that no list holds: there is a sign, and this record has that one.
            return Said(Kind.HEDGED)
        if feature in YES_OR_NO and len(only) == 1:
            values = tuple(only)
        else:
            foreign.append((feature, words))
            return Said(Kind.IGNORED)
    if c.attribution == "third_party":
        return Said(Kind.HEARSAY, values)
    if c.certainty == "hedged":
        return Said(Kind.HEDGED if _doubted(c) else Kind.DESCRIBED, values)
    if not values and feature in ("deadwax.matrix", "deadwax.stamper_code", "label.design", "label.address"):
        return Said(Kind.IGNORED)  # named without what it reads
    return Said(Kind.FIRM, values)


def _doubted(c: Claim) -> bool:
    return any(cue.kind in DOUBT for cue in c.cues)


def _edition(by: Mapping[str, Sequence[Claim]], known: Mapping[str, object]) -> tuple[str, bool] | None:
    """The adjectives, all of them one piece of evidence."""

    def said(feature: str, polarity: str) -> list[Claim]:
        return [c for c in by.get(feature, ()) if c.polarity == polarity and c.certainty != "unknown"]

    def firm(claims: Sequence[Claim]) -> bool:
        return any(c.certainty == "certain" and c.attribution == "seller" for c in claims)

    later = [] if "edition.reissue" in known else said("edition.reissue", "present")
    later += said("edition.first_pressing", "absent") + said("edition.original", "absent")
    first = said("edition.first_pressing", "present") + said("edition.original", "present")
    if later and (firm(later) or not first):
        return None if firm(first) and firm(later) else ("later", firm(later))
    if first:
        return "first", firm(first)
    not_later = said("edition.reissue", "absent")
    return ("not later", firm(not_later)) if not_later else None


def _years(claims: Sequence[Claim]) -> tuple[int, ...]:
    """Years tied to the pressing. A bare year is the year of the music."""
    out = []
    for c in claims:
        if c.role == "pressed" and c.polarity == "present" and c.certainty == "certain":
            digits = "".join(x for x in str(c.value or "") if x.isdigit())[:4]
            if len(digits) == 4:
                out.append(int(digits))
    return tuple(dict.fromkeys(out))


def _passed_over(listing: Listing, known: Mapping[str, Sequence[str]], lexicon: Lexicon) -> set[str]:
    """Features that somebody asked about, by the listing's own words. Whether they were answered, the claims tell."""
    import re

    text = listing.text
    asks = [re.escape(f) for w in lexicon.words if w.kind == "seller_asked" for f in w.forms]
    if not asks:
        return set()
    stretches = [text[s.start : s.end] for s in listing.segments if s.kind == "question"]
    stretches += [m[0] for m in re.finditer(rf"(?<!\w)(?:{'|'.join(asks)})[^.!\n]*", text, re.I)]
    if not stretches:
        return set()
    asked = " \n ".join(stretches).casefold()
    forms: dict[str, set[str]] = {f: {v for v in values if v.casefold() not in ABSENT} for f, values in known.items()}
    for term in lexicon.terms:
        if term.feature in forms:
            forms[term.feature].update(term.forms)
    return {f for f, words in forms.items() if any(len(w) > 1 and _holds(asked, w.casefold()) for w in words)}


def _bought(text: str, lexicon: Lexicon) -> int | None:
    """'Bought new in 1959', 'a Christmas present in 1960': this very copy existed by then."""
    import re

    low = text.casefold()
    for word in lexicon.words:
        if word.kind != "bought":
            continue
        for form in word.forms:
            found = form.casefold() in low and re.search(
                rf"(?<!\w){re.escape(form)}(?!\w)[^.;!?\n]{{0,30}}?(?<!\d)(1[89]\d\d|20\d\d)(?!\d)", text, re.I
            )
            if found:
                return int(found[1])
    return None


def _holds(text: str, words: str) -> bool:
    """Whether whole words stand in a text, both in small letters."""
    at = text.find(words)
    while at >= 0:
        before, after = text[at - 1 : at] if at else "", text[at + len(words) : at + len(words) + 1]
        if not (_word_sign(before) or _word_sign(after)):
            return True
        at = text.find(words, at + 1)
    return False


def _word_sign(sign: str) -> bool:
    return sign.isalnum() or sign == "_"


def _has_number(text: str, number: str) -> bool:
    from sayso.judgement.values import tokens

    wanted = tokens(number)
    said = tokens(text)
    n = len(wanted)
    return n > 0 and any(said[i : i + n] == wanted for i in range(len(said) - n + 1))


def _talks(text: str, kind: str, lexicon: Lexicon) -> bool:
    low = text.casefold()
    return any(
        _holds(low, form.casefold()) if form[:1].isascii() else form in low
        for word in lexicon.words
        if word.kind == kind
        for form in word.forms
    )


def _returns(claims: Sequence[Claim], lexicon: Lexicon) -> str | None:
    yes = [c for c in claims if c.polarity == "present" and c.certainty == "certain"]
    if yes:
        quote = " ".join(c.quote for c in yes)
        free = _talks(quote, "returns_free", lexicon) or any("free" in str(c.value or "").casefold() for c in yes)
        return "free" if free else "yes"
    return "no" if any(c.polarity == "absent" for c in claims) else None
