"""From what is open to one polite message.

Greedy and deterministic: take the feature most worth asking for, then the template that settles it together with most
of what else lies open at the same place. What was already asked is not asked again. The questions are then put in
groups by where the seller has to look, keeping their order otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from sayso.model import Claim, Conflict, Doubt, Question, Span

if TYPE_CHECKING:
    from sayso.audit.coverage import Coverage
    from sayso.lexicon import Lexicon
    from sayso.lexicon.questions import Letter, Template

WORTH_ASKING = 14.0
"""Below this a question costs more goodwill than its answer is worth (scale of `ask` in lexicon/profiles/)."""
WORTH_ADDING = 12.0
"""Below this a feature is not added to a question that is asked anyway."""
BESIDE_DATES = 170.0
"""How soon to ask about two dates that do not fit, on the same scale: before anything else."""
BESIDE_DOUBTS = 60.0
"""How soon to ask about a sign that hardly fits the year stated, on the same scale: after what decides."""
AGAIN = 160.0
"""How soon to ask for a second look at what does not fit in any one copy, on the same scale."""
QUOTE = 60
"""Longest quotation in a question, in characters."""

Value = Callable[[tuple[str, ...]], tuple[float, str] | None]
"""What an answer on these features is worth: the amount and its unit, money or bits."""


class TooShort(ValueError):
    """The message cannot be made as short as wished. `needs` is the length of the shortest one, in characters."""

    def __init__(self, needs: int) -> None:
        self.needs = needs
        super().__init__(f"the shortest message needs {needs} characters")


@dataclass(frozen=True)
class Asking:
    """What the buyer wishes of the message."""

    language: str = "en"
    pointed: bool = False
    max_questions: int = 5
    max_chars: int | None = None
    asked: frozenset[str] = frozenset()
    """Features that were already asked about."""
    label: str | None = None
    """For a message without a listing: the label it is about; empty for any."""
    marks: Mapping[str, str] = field(default_factory=dict)
    """Feature → the sign that settles it, by the dossier."""
    size: int | None = None
    """The size of the record in inches, where it is known: it tells how wide the blank ring is."""
    doubts: Sequence[Doubt] = ()
    """Signs that hardly fit the year stated."""
    boost: Mapping[str, float] = field(default_factory=dict)
    """Feature → how much sooner to ask, from what its answer is worth."""
    again: Mapping[str, str] = field(default_factory=dict)
    """Feature → the seller's firm words for it that do not fit his others: for one more look, before all else."""


@dataclass(frozen=True)
class _Open:
    """A feature that is worth asking for."""

    score: float
    case: str = "open"
    quotes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Chosen:
    template: Template
    features: tuple[str, ...]
    text: str


def languages(lexicon: Lexicon) -> tuple[str, ...]:
    """The languages in which questions can be put."""
    return tuple(row.id for row in lexicon.rows("letter"))


def ask_seller(
    coverage: Coverage,
    claims: Sequence[Claim],
    conflicts: Sequence[Conflict],
    lexicon: Lexicon,
    wish: Asking = Asking(),
    value: Value | None = None,
) -> tuple[tuple[Question, ...], str]:
    """The questions in the order in which to ask them, and the message that puts them. Pure.

    An unknown language falls back to English. Raises `TooShort` where `max_chars` leaves no room for one question.
    """
    language = wish.language if lexicon.letter(wish.language) else "en"
    letter = lexicon.letter(language)
    assert letter is not None, "the shipped data hold English"
    templates = _index(lexicon, language)
    pool = _open(coverage, claims, conflicts, wish, lexicon, templates)
    why = {f.feature: f.why for f in coverage.findings}
    chosen = _grouped(_choose(pool, templates, wish, letter))
    zones = _zones(letter, wish.size, lexicon)
    while chosen:
        message = _message(chosen, letter, wish, zones)
        if wish.max_chars is None or len(message) <= wish.max_chars:
            break
        if len(chosen) == 1:
            raise TooShort(len(message))
        chosen = chosen[:-1]
    else:
        return (), ""
    questions = []
    for c in chosen:
        worth = value(c.features) if value else None
        questions.append(
            Question(
                features=c.features,
                where=zones[c.template.zone],
                text=c.text,
                value=worth[0] if worth else None,
                unit=worth[1] if worth else None,  # type: ignore[arg-type]
                why=why.get(c.features[0], ""),
            )
        )
    return tuple(questions), message


def _open(
    coverage: Coverage,
    claims: Sequence[Claim],
    conflicts: Sequence[Conflict],
    wish: Asking,
    lexicon: Lexicon,
    templates: Index,
) -> dict[str, _Open]:
    pool: dict[str, _Open] = {}
    state = {f.feature: f for f in coverage.findings}
    for feature, score in coverage.ask.items():
        if score <= 0 or feature in wish.asked:
            continue
        case, quotes = "open", tuple[str, ...]()
        finding = state[feature]
        if finding.state == "conflicting":
            quotes = _clash(feature, [claims[i] for i in finding.claims], conflicts, _rivals(feature, claims, lexicon))
            case = "conflicting" if quotes else "open"
        elif finding.state == "hedged" and any(claims[i].polarity == "present" for i in finding.claims):
            quotes, case = (
                (_short(next(claims[i] for i in finding.claims if claims[i].polarity == "present").quote),),
                "hedged",
            )
        if coverage.hidden and case == "open" and ("sealed", feature) in templates:
            case = "sealed"
        pool[feature] = _Open(score + wish.boost.get(feature, 0.0), case, quotes)
    for feature, quote in wish.again.items():
        if feature not in wish.asked and (feature not in pool or pool[feature].case == "open"):
            pool[feature] = _Open(AGAIN + wish.boost.get(feature, 0.0), "hedged", (_short(quote),))
    for conflict in conflicts:
        spans = [_short(x.quote) for x in conflict.between if isinstance(x, Span)]
        if conflict.kind == "age" and len(spans) == 2 and not {"edition.reissue", "edition.year"} & wish.asked:
            known = pool.get("edition.reissue")
            if known is None or known.case == "open":
                pool["edition.reissue"] = _Open(BESIDE_DATES, "dates", tuple(spans))
                year = pool.get("edition.year")
                if year is None or year.case == "open":
                    pool["edition.year"] = _Open(max(WORTH_ADDING, year.score if year else 0), "dates", tuple(spans))
            break
    _beside_doubts(pool, wish)
    return pool


def _beside_doubts(pool: dict[str, _Open], wish: Asking) -> None:
    """Where no dates contradict, one that hardly fits: how the two go together, or a picture of what is said."""
    for doubt in wish.doubts:
        if doubt.later and not {"edition.reissue", "edition.year"} & (wish.asked | _pointed(pool)):
            quotes = tuple(_short(x.quote) for x in doubt.between)
            pool["edition.reissue"] = _Open(BESIDE_DOUBTS, "dates", quotes)
            year = pool.get("edition.year")
            pool["edition.year"] = _Open(max(WORTH_ADDING, year.score if year else 0), "dates", quotes)
            return
        photos = pool.get("terms.photos")
        if not doubt.later and photos is not None and photos.case == "open":
            pool["terms.photos"] = _Open(max(photos.score, BESIDE_DOUBTS), photos.case, photos.quotes)


def _pointed(pool: Mapping[str, _Open]) -> frozenset[str]:
    """The features about which something more pointed is to be asked already."""
    return frozenset(f for f, known in pool.items() if known.case != "open")


def _rivals(feature: str, claims: Sequence[Claim], lexicon: Lexicon) -> list[Claim]:
    """Firm claims of what cannot be true beside this feature ('reissue' beside 'original')."""
    row = lexicon.features.get(feature)
    against = row.against if row else ()
    return [c for c in claims if c.feature in against and c.certainty == "certain" and c.polarity == "present"]


def _clash(
    feature: str, said: Sequence[Claim], conflicts: Sequence[Conflict], rivals: Sequence[Claim]
) -> tuple[str, ...]:
    """The two quotations that do not agree on a feature, in the order of the text."""
    for conflict in conflicts:
        spans = [x for x in conflict.between if isinstance(x, Span)]
        if conflict.kind == "statement" and conflict.feature == feature and len(spans) == 2:
            return _short(spans[0].quote), _short(spans[1].quote)
    for n, one in enumerate(said):
        for other in [*said[n + 1 :], *rivals]:
            differ = (one.feature, one.polarity, one.value, one.certainty) != (
                other.feature,
                other.polarity,
                other.value,
                other.certainty,
            )
            if differ and one.quote.casefold() != other.quote.casefold():
                first, second = sorted((one, other), key=lambda c: c.start)
                return _short(first.quote), _short(second.quote)
    return ()


def _short(quote: str) -> str:
    """A quotation on one line, cut at a word, without quotation marks that would end the ones around it."""
    line = " ".join(quote.split()).strip("'\"‘’“”")
    if len(line) <= QUOTE:
        return line
    return line[:QUOTE].rsplit(" ", 1)[0].rstrip(",;:-") + " …"


Index = Mapping[tuple[str, str], Sequence["Template"]]
"""Templates by the case they are worded for and each feature they settle; '*' settles any."""
_INDEX: WeakKeyDictionary[Lexicon, dict[str, Index]] = WeakKeyDictionary()


def _index(lexicon: Lexicon, language: str) -> Index:
    kept = _INDEX.setdefault(lexicon, {})
    if language not in kept:
        made: dict[tuple[str, str], list[Template]] = {}
        for template in lexicon.questions(language):
            for feature in dict.fromkeys(template.features):
                made.setdefault((template.when, feature), []).append(template)
        kept[language] = made
    return kept[language]


def _choose(pool: dict[str, _Open], templates: Index, wish: Asking, letter: Letter) -> list[_Chosen]:
    left = dict(pool)
    chosen: list[_Chosen] = []
    while left and len(chosen) < wish.max_questions:
        top = max(left, key=lambda f: left[f].score)
        if left[top].score < WORTH_ASKING:
            break
        best = _best(top, left, templates)
        if best is None:
            del left[top]
            continue
        template, features = best
        text = _wording(template, features, left, wish)
        doubted = left[top].quotes[0] if left[top].case == "hedged" else ""
        if template.when == "open" and len(doubted) > 1 and letter.quoting:
            # Somebody who has said something, if with doubt, is not asked as if he had said nothing.
            text = letter.quoting.format(quote=doubted) + letter.between + text
        chosen.append(_Chosen(template, features, text))
        for feature in features:
            del left[feature]
    return chosen


def _best(top: str, left: Mapping[str, _Open], templates: Index) -> tuple[Template, tuple[str, ...]] | None:
    """The template that settles `top` and most of what else is open, and the features it settles, `top` first."""
    case = left[top].case
    for wanted in dict.fromkeys((case, "open")):
        found: list[tuple[float, Template, tuple[str, ...]]] = []
        for template in (*templates.get((wanted, top), ()), *templates.get((wanted, "*"), ())):
            features = _settles(template, top, left)
            if features:
                found.append((sum(left[f].score for f in features), template, features))
        if found:
            _, template, features = max(found, key=lambda x: x[0])
            return template, features
    return None


def _settles(template: Template, top: str, left: Mapping[str, _Open]) -> tuple[str, ...]:
    if "*" in template.features:
        wild = [f for f, o in left.items() if o.case == template.when and f != top]
        if len(template.features) == 1:
            return (top,)
        other = next((f for f in wild if left[f].quotes != left[top].quotes), None)
        return (top, other) if other else ()
    if top not in template.features:
        return ()
    for feature in template.features:
        known = left.get(feature)
        if known is None or (feature != top and known.score < WORTH_ADDING):
            return ()
        if template.when in ("conflicting", "dates") and known.case != template.when:
            return ()
        if template.when in ("open", "hedged") and feature != top and known.case in ("conflicting", "dates", "sealed"):
            return ()
    return tuple(sorted(template.features, key=lambda f: (f != top, -left[f].score)))


def _wording(template: Template, features: Sequence[str], left: Mapping[str, _Open], wish: Asking) -> str:
    text = template.text
    if wish.pointed:
        mark = next((wish.marks[f] for f in features if wish.marks.get(f)), None)
        if template.pointed_mark and mark:
            return template.pointed_mark.format(mark=mark)
        text = template.pointed or text
    quotes: list[str] = []
    for feature in features:
        if left[feature].case == template.when:
            quotes += [q for q in left[feature].quotes if q not in quotes]
    names = ("quote", "quote2", "quote3", "quote4")
    filled = {name: quotes[n] if n < len(quotes) else "" for n, name in enumerate(names)}
    return text.format(**filled)


def _grouped(chosen: list[_Chosen]) -> list[_Chosen]:
    order = list(dict.fromkeys(c.template.zone for c in chosen))
    return sorted(chosen, key=lambda c: order.index(c.template.zone))


def _zones(letter: Letter, size: int | None, lexicon: Lexicon) -> Mapping[str, str]:
    """The lines that say where to look; where the size is known, with the width of the blank ring."""
    from sayso.lexicon.geometry import least_width

    width = least_width(size, lexicon) if size else 0
    ring = letter.ring.format(width=width, size=size) if width else ""
    return {zone: text.format(ring=ring) for zone, text in letter.zones.items()}


def _message(chosen: Sequence[_Chosen], letter: Letter, wish: Asking, zones: Mapping[str, str]) -> str:
    opening = letter.opening_one if len(chosen) == 1 else letter.opening
    greeting = letter.greeting
    if wish.asked:
        opening, greeting = letter.opening_again or opening, letter.greeting_again or greeting
    if wish.label is not None:
        opening = letter.template_label.format(label=wish.label) if wish.label else letter.template_any
    lines = [greeting, "", opening]
    zone = ""
    for n, c in enumerate(chosen, 1):
        if c.template.zone != zone:
            zone = c.template.zone
            lines += ["", zones[zone]]
        lines.append(f"{n}. {c.text}")
    return "\n".join([*lines, "", letter.thanks, *([letter.signature] if letter.signature else [])])


def open_features(coverage: Coverage, asked: Collection[str] = ()) -> tuple[str, ...]:
    """What is still worth asking for, most decisive first."""
    left = [f for f, score in coverage.ask.items() if score >= WORTH_ASKING and f not in asked]
    return tuple(sorted(left, key=lambda f: -coverage.ask[f]))
