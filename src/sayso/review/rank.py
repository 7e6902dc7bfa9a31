"""What to do next about one audit, why, and the one question; small enough to be kept for every row."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from sayso.answer import percent
from sayso.model import Span
from sayso.report.words import Words, and_list
from sayso.review.rows import Summary

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit, Claim, Finding

VERDICTS = ("strong", "ask", "clash", "pass")
COMPARED = 24
KEPT_WORDS = 600


TINY = 0.1
"""A price below this share of what the copy would be worth, from a seller who names what makes it worth that, is asked
about before it is paid. Chosen by judgement, no source."""
SLIM = 0.25
"""Where what decides is only said with doubt, a gain below this share of the price is not worth paying before asking.
Common practice of careful buyers, no source."""
SETTLED = 0.9
"""At this chance a pressing is spoken of as the one it is; a convention of this program."""
SIGN = "deadwax.plant_mark"
EARLY = ("edition.original", "edition.first_pressing")


class Decision(NamedTuple):
    """What to do next about one copy, the one reason, and the one question."""

    verdict: str
    reason: str
    question: str = ""


def summarise(audit: Audit, lexicon: Lexicon) -> Summary:
    """The summary of an audit. Pure."""
    say = Words(lexicon)
    decision = decide(audit, lexicon)
    listing = audit.listing
    folded = fold_words(listing.text)
    ceiling = limit(audit)
    return Summary(
        id=listing.id,
        title=listing.title or listing.text[:80].replace("\n", " "),
        verdict=decision.verdict,
        score=round(score(audit, known=not is_lot(audit) and _not_in_the_odds(audit, lexicon) is None), 6),
        reason=decision.reason,
        question=decision.question,
        message=audit.message if decision.verdict != "pass" else "",
        price="" if listing.price is None else str(listing.price),
        currency=listing.currency or "",
        url=listing.url or "",
        seller=listing.seller or "",
        record=record_key(audit),
        title_key=title_key(audit),
        print_=hashlib.blake2b(folded.encode(), digest_size=12).hexdigest() if len(folded) >= 40 else "",
        words=folded[:KEPT_WORDS],
        says=tuple(_says(audit, lexicon)),
        ceiling="" if ceiling is None else str(ceiling),
        clash=bool(_hard(audit, say)),
        silent=any(f.need == "decisive" and f.state == "silent" for f in audit.findings),
    )


def limit(audit: Audit) -> Decimal | None:
    """The most to pay for the one record on offer; null where no limit is known or several are offered."""
    return None if audit.advice is None or is_lot(audit) else audit.advice.ceiling


def is_lot(audit: Audit) -> bool:
    """Whether the words speak of several records by number, so that no one set of odds is that of the offer."""
    if len({c.item for c in audit.claims if c.item is not None}) > 1:
        return True
    text = audit.listing.text
    counted = list(dict.fromkeys(int(n) for n in re.findall(r"(?m)(?:^|[\s.;,])[(\[]?(\d{1,2})[)\]]\s", text)))
    numbers = {re.sub(r"\W", "", n) for n in re.findall(r"(?<!\w)[A-Z]{2,5}[ .-]?\d{2,6}(?!\d)", text)}
    return len(counted) > 1 and counted == list(range(1, len(counted) + 1)) and len(numbers) > 1


def _hard(audit: Audit, say: Words) -> list[tuple[str, tuple[str, ...]]]:
    """(why, features) where the words contradict themselves or the dated facts.

    A jacket later than its disc is no contradiction, and several records in one lot do not contradict each other.
    """
    if is_lot(audit):
        return []
    found: list[tuple[str, tuple[str, ...]]] = []
    for conflict in audit.conflicts:
        if conflict.kind == "jacket":
            continue
        spans = [x for x in conflict.between if isinstance(x, Span)]
        features = {c.feature for c in audit.claims for x in spans if x.start < c.end and c.start < x.end}
        found.append((_joined(_quoted((_short(x.quote) for x in spans), say), conflict.why), tuple(sorted(features))))
    for finding in audit.findings:
        if finding.state == "conflicting" and not finding.feature.startswith("terms."):
            words = dict.fromkeys(_words(audit, audit.claims[i]) for i in finding.claims)
            why = (finding.why if finding.need != "none" else "") or say.say("review.both")
            found.append((_joined(_quoted(words, say), why), (finding.feature,)))
    return found


def _words(audit: Audit, claim: Claim) -> str:
    """The words of a claim with what denies them beside it ('no deep groove')."""
    if claim.polarity != "absent":
        return _short(claim.quote)
    denials = [c for c in claim.cues if c.kind in ("negation", "search") and -30 < c.start - claim.end < 30]
    start = min([claim.start, *(c.start for c in denials)])
    end = max([claim.end, *(c.end for c in denials)])
    return _short(audit.listing.text[start:end])


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 50 else text[:49] + "…"


def _quoted(words: Iterable[str], say: Words) -> str:
    said = [say.say("review.quote", what=w) for w in words][:3]
    return say.say("review.says", what=say.say("review.and").join(said)) if said else ""


def _joined(*sentences: str) -> str:
    """One sentence after another; those that are empty leave no gap."""
    return " ".join(s for s in sentences if s)


def decide(audit: Audit, lexicon: Lexicon) -> Decision:
    """What to do next about this copy, the one reason, and the one question. Pure."""
    verdict, reason, features = _decide(audit, lexicon)
    return Decision(verdict, reason, "" if verdict == "pass" else _question(audit, features))


def _question(audit: Audit, features: Collection[str]) -> str:
    """The question that belongs to the reason; else the first one."""
    fitting = [q.text for q in audit.questions if set(q.features) & set(features)]
    return next(iter([*fitting, *(q.text for q in audit.questions)]), "")


Decided = tuple[str, str, tuple[str, ...]]


def _decide(audit: Audit, lexicon: Lexicon) -> Decided:
    say = Words(lexicon)
    other = _other_thing(audit)
    if other:
        return "pass", say.say("review.no_record", words=other), ()
    if is_lot(audit):
        return "ask", say.say("review.lot"), (SIGN,)
    advice = audit.advice
    if advice is not None and advice.do == "pass":
        return "pass", _passed(audit, say), ()
    hard = _hard(audit, say)
    if hard:
        return "clash", *hard[0]
    by_state = {f.feature: f for f in audit.findings}
    decisive = [f for f in audit.findings if f.need == "decisive"]
    odd = _not_in_the_odds(audit, lexicon)
    if odd:
        return "pass" if odd[0] == "edition.country" else "ask", odd[1], (odd[0],)
    half = next((f for f in decisive if lexicon.features[f.feature].carrier == "disc" and _one_side(audit, f)), None)
    if advice is not None and advice.do == "buy":
        worth = audit.worth
        price = audit.listing.price
        sure = [f for f in decisive if f.state == "stated"]
        if worth is not None and price is not None and sure and price < TINY * float(worth.expected):
            word = _first_words(audit, sure[0])
            value, asked = _amount(worth.currency, worth.expected), _amount(worth.currency, price)
            why = say.say("review.too_cheap", words=word, worth=value, asked=asked)
            return "ask", why, (sure[0].feature,)
        cheapest = min(worth.by_pressing.values(), default=None) if worth is not None else None
        if half is not None and not (cheapest is not None and price is not None and price <= cheapest):
            return "ask", _half_reason(audit, half, say), (half.feature,)
        doubtful = next((f for f in decisive if f.state == "hedged"), None)
        gain = advice.expected_gain
        if doubtful is not None and not sure and gain is not None and price is not None and gain < SLIM * float(price):
            return "ask", _joined(say.say("review.slim"), _open_reason(audit, doubtful, say)), (doubtful.feature,)
        return "strong", _strong(audit, say), tuple(f.feature for f in decisive)
    early = any(
        audit.claims[i].attribution == "seller"
        for f in audit.findings
        if f.feature in EARLY and f.state in ("stated", "hedged")
        for i in f.claims
    )
    denied = [f for f in decisive if f.state == "denied" and lexicon.features[f.feature].carrier == "disc"]
    if advice is None:
        reissue = by_state.get("edition.reissue")
        if reissue is not None and reissue.state == "stated" and not early:
            return "pass", say.say("review.later", words=_first_words(audit, reissue)), ()
        refused = [by_state[n] for n in EARLY if n in by_state and by_state[n].state == "denied"]
        if refused and not early:
            word = _first_words(audit, refused[0])
            return "pass", say.say("review.not_first", words=word), ()
        if denied and not early:
            word = _first_words(audit, denied[0])
            return "pass", say.say("review.absent", what=say.feature(denied[0].feature), words=word), ()
        relayed = next(
            (f for f in decisive if lexicon.features[f.feature].carrier == "disc" and _relayed(audit, f)), None
        )
        if relayed is not None and not early:
            what, word = say.feature(relayed.feature), _first_words(audit, relayed)
            return "pass", say.say("review.relayed", what=what, words=word), ()
        if denied:
            what, word = say.feature(denied[0].feature), _first_words(audit, denied[0])
            return "ask", say.say("review.early_absent", what=what, words=word), (denied[0].feature,)
        if half is not None:
            return "ask", _half_reason(audit, half, say), (half.feature,)
        sign = by_state.get(SIGN)
        settled = [f for f in decisive if f.state == "stated"]
        # What only a jacket shows does not settle what is inside it: that of a sealed copy is all there is to see.
        inside = any(lexicon.features[f.feature].carrier != "jacket" for f in settled)
        whole = inside and len(settled) == len(decisive)
        if whole or (sign is not None and sign.state == "stated" and _first_mark(audit, sign, lexicon)):
            shown = settled[:2] if whole or sign is None else [sign]
            named = [say.say("review.sign", what=say.feature(f.feature), words=_first_words(audit, f)) for f in shown]
            why = say.say("review.settled", what=and_list(named))
            unknown = "" if audit.odds is not None else say.say("review.worth_unknown")
            return "strong", _joined(why, unknown, _no_limit(audit, say)), tuple(f.feature for f in decisive)
    if len(audit.listing.text.strip()) <= len(audit.listing.title) + 1:
        return "ask", _joined(say.say("review.only_title"), _over(audit, say)), (SIGN,)
    plant = _no_mark_expected(audit, lexicon)
    if plant and (sign := by_state.get(SIGN)) is not None and sign.state == "silent":
        return "ask", _joined(plant, _over(audit, say)), ("deadwax.matrix",)
    open_ = [f for f in decisive if f.state not in ("stated", "denied")]
    first = audit.questions[0].features if audit.questions else ()
    # What the pressing itself carries comes first; then the reason belongs to the question that is shown beside it.
    open_.sort(key=lambda f: (lexicon.features[f.feature].carrier != "disc", f.feature not in first))
    if audit.silence and not any(f.state == "deferred" for f in decisive):
        silent = tuple(f.feature for f in open_ if f.state == "silent")
        return "ask", _joined(audit.silence[0], _over(audit, say)), silent
    if open_:
        return "ask", _joined(_open_reason(audit, open_[0], say), _over(audit, say)), (open_[0].feature,)
    if advice is not None and audit.listing.price is None:
        return "ask", _over(audit, say), ()
    return "ask", (advice.why if advice is not None else "") or audit.answer or say.say("review.open"), ()


def _other_thing(audit: Audit) -> str:
    """The words of the title that name another thing than a record, where nothing in it names a record."""
    others, records = _title_words("not_a_record"), _title_words("is_a_record")
    title = f" {fold_words(audit.listing.title)} "
    if any(f" {word} " in title for word in records):
        return ""
    return next((word for word in others if f" {word} " in title), "")


def _first_words(audit: Audit, finding: Finding) -> str:
    return _words(audit, audit.claims[finding.claims[0]]) if finding.claims else ""


def _one_side(audit: Audit, finding: Finding) -> str:
    """'A' or 'B' where a sign of the wax is said of that side only."""
    if finding.state != "stated" or not finding.feature.startswith("deadwax."):
        return ""
    sides = {audit.claims[i].side for i in finding.claims if audit.claims[i].polarity == "present"}
    return next(iter(sides)).upper() if len(sides) == 1 and sides <= {"a", "b"} else ""  # type: ignore[union-attr]


def _relayed(audit: Audit, finding: Finding) -> bool:
    """Whether the seller passes on, against his own interest, somebody's word that it is not there."""
    claims = [audit.claims[i] for i in finding.claims]
    return bool(claims) and all(
        c.polarity == "absent" and c.certainty == "certain" and c.attribution == "third_party" for c in claims
    )


def _half_reason(audit: Audit, finding: Finding, say: Words) -> str:
    side = _one_side(audit, finding)
    return _joined(say.say("review.one_side", words=_first_words(audit, finding), side=side), _over(audit, say))


def _first_mark(audit: Audit, sign: Finding, lexicon: Lexicon) -> bool:
    """Whether the mark that is stated is that of the works which pressed first for this label."""
    from sayso.audit.labelling import find_label

    found = find_label(audit.listing, lexicon)
    if found is None:
        return False
    marked = sorted((p for p in found.label.plants if p.since is not None), key=lambda p: p.since or 0)
    values = {str(audit.claims[i].value).casefold() for i in sign.claims}
    return bool(marked and marked[0].mark) and str(marked[0].mark).casefold() in values


def _no_mark_expected(audit: Audit, lexicon: Lexicon) -> str:
    """A sentence where the number is of a time when the label was pressed by a works that left no mark."""
    from sayso.audit.labelling import find_label

    found = find_label(audit.listing, lexicon)
    if found is None or not found.eras:
        return ""
    plants = {era.plant for era in found.eras}
    known = {p.name: p for p in found.label.plants}
    if len(plants) != 1 or not all(p in known and not known[p].mark for p in plants):
        return ""
    return Words(lexicon).say("review.no_mark", number=found.number, plant=next(iter(plants)))


def _not_in_the_odds(audit: Audit, lexicon: Lexicon) -> tuple[str, str] | None:
    """(feature, reason) where the seller says it is an edition which the dossier of this record does not know."""
    dossier = lexicon.labels.get(audit.dossier or "")
    if dossier is None or audit.odds is None:
        return None
    say = Words(lexicon)
    known = {f for part in dossier.parts.values() for variant in part.values() for f in variant}
    for finding in audit.findings:
        if finding.state != "stated" or finding.feature in known:
            continue
        word = _first_words(audit, finding)
        if finding.feature == "edition.club":
            return finding.feature, say.say("review.club", words=word)
        if finding.feature == "edition.country" and dossier.country:
            values = {str(audit.claims[i].value) for i in finding.claims}
            if dossier.country not in values:
                return finding.feature, say.say("review.elsewhere", words=word, country=dossier.country)
    return None


def _strong(audit: Audit, say: Words) -> str:
    """Why it is worth its price: what it is by the words, the sign that says so, and the money."""
    odds, worth, advice, price = audit.odds, audit.worth, audit.advice, audit.listing.price
    assert advice is not None
    if odds is None or worth is None or price is None or audit.listing.auction:
        return advice.why
    best = max(odds.pressings, key=lambda p: p.p)
    gain = _amount(worth.currency, worth.expected - price - worth.costs)
    if best.p < SETTLED:
        chance = percent(odds.p_first)
        low = min((worth.by_pressing[p.id] for p in odds.pressings if p.p >= 0.01), default=None)
        if low is not None and price + worth.costs <= low:
            return say.say("review.even_least", worth=_amount(worth.currency, low), chance=chance)
        return _joined(advice.why, say.say("review.chance", chance=chance))
    sign = next((f for f in audit.findings if f.need == "decisive" and f.state in ("stated", "hedged")), None)
    name, value = (
        f"{best.name} ({percent(best.p)})",
        _amount(worth.currency, worth.by_pressing.get(best.id, worth.expected)),
    )
    if sign is not None and best.first:
        phrase = "review.it_is_by" if sign.state == "stated" else "review.it_is_by.perhaps"
        why = say.say(phrase, words=_first_words(audit, sign), name=name, worth=value, gain=gain)
    else:
        why = say.say("review.it_is", name=name, worth=value, gain=gain)
    by_grade = say.lexicon.phrases["worth.by_grade"].partition("{")[0]
    return _joined(why, next((n for n in worth.notes if n.startswith(by_grade)), ""))


def _passed(audit: Audit, say: Words) -> str:
    """Why it is not worth its price: what it is by the words, and the money."""
    odds, worth, advice, price = audit.odds, audit.worth, audit.advice, audit.listing.price
    assert advice is not None
    if odds is None or worth is None or price is None or audit.listing.auction:
        return advice.why
    best = max(odds.pressings, key=lambda p: p.p)
    sums = {"price": _amount(audit.listing.currency or worth.currency, price), "post": worth.costs}
    asked = say.say("review.asked.post" if worth.costs else "review.asked", **sums)
    if best.p >= SETTLED:
        value = _amount(worth.currency, worth.by_pressing.get(best.id, worth.expected))
        return say.say("review.poor", name=f"{best.name} ({percent(best.p)})", worth=value, asked=asked)
    live = [p for p in odds.pressings if p.p >= 0.001]
    top = max(live, key=lambda p: worth.by_pressing.get(p.id, Decimal(0)))
    if price >= worth.by_pressing.get(top.id, Decimal(0)):
        value = _amount(worth.currency, worth.by_pressing[top.id])
        return say.say("review.poor_at_best", name=top.name, worth=value, asked=asked)
    return say.say("review.poor_mean", worth=_amount(worth.currency, worth.expected), asked=asked)


def _over(audit: Audit, say: Words) -> str:
    """What the money says, for the end of a reason; nothing where it is in order or cannot be weighed."""
    advice, listing = audit.advice, audit.listing
    if advice is None or advice.ceiling is None:
        return _no_limit(audit, say)
    most = _amount(advice.currency, advice.ceiling)
    if listing.price is None:
        return say.say("review.no_price", most=most)
    if listing.price > advice.ceiling:
        return say.say("review.over", most=most, price=listing.price)
    return ""


def _no_limit(audit: Audit, say: Words) -> str:
    if audit.odds is not None and audit.advice is None and audit.listing.price is not None:
        return say.say("review.other_currency")
    return ""


def _amount(currency: str | None, amount: Decimal) -> str:
    plain = f"{amount:.0f}" if amount == amount.to_integral_value() or abs(amount) >= 20 else f"{amount:.2f}"
    return f"{currency or ''} {plain}".strip()


def _open_reason(audit: Audit, finding: Finding, say: Words) -> str:
    name = say.feature(finding.feature)
    if (
        finding.state == "hedged"
        and finding.claims
        and all(audit.claims[i].polarity == "absent" for i in finding.claims)
    ):
        said = say.say("review.open.not_found", what=name, words=_first_words(audit, finding))
    else:
        state = finding.state if finding.state in ("silent", "deferred", "unknown", "hedged") else "conflicting"
        words = _first_words(audit, finding) if state == "hedged" else ""
        said = say.say(f"review.open.{state}", what=name, words=words)
    return _joined(said, finding.why)


def score(audit: Audit, *, known: bool = True) -> float:
    """How far up within its verdict: bargains by gain for the money asked, then by odds, then by what is settled.

    `known` is false where the odds and the money are not those of the copy on offer.
    """
    listing, advice, odds = audit.listing, audit.advice, audit.odds
    gain = 0.0
    if advice is not None and known:
        if advice.expected_gain is not None:
            gain = float(advice.expected_gain) / max(float(listing.price or 0), 1.0)
        if advice.bargain:
            gain += 10.0
    weight = {"decisive": 3.0, "supporting": 1.0}
    worth = {"stated": 1.0, "hedged": 0.3, "deferred": 0.15, "denied": -1.0, "conflicting": -1.0}
    wanted = [(weight[f.need], worth.get(f.state, 0.0)) for f in audit.findings if f.need in weight]
    settled = sum(w * v for w, v in wanted) / sum(w for w, _ in wanted) if wanted else 0.0
    chance = odds.p_first if odds is not None and known else 0.0
    return max(min(gain, 1000.0), -1000.0) + 2.0 * chance + settled


def record_key(audit: Audit) -> str:
    """A key that copies of one record share: the catalogue number where one is read, else the telling title words."""
    for claim in audit.claims:
        if claim.feature == "identity.catalogue_number" and claim.polarity == "present" and claim.item is None:
            number = re.sub(r"[\W_]+", "", str(claim.value or claim.quote)).casefold()
            if len(number) >= 4 and any(c.isdigit() for c in number):
                return "number:" + number
    return "title:" + title_key(audit)


def title_key(audit: Audit) -> str:
    """The telling words of the title, each once, sorted."""
    listing = audit.listing
    words = title_words(listing.title or listing.text[:100].split("\n", 1)[0])
    return " ".join(sorted(set(words))[:12])


def title_words(title: str) -> list[str]:
    """The words of a title that tell one record from another."""
    noise = _title_words("title_noise")
    folded = fold_words(title).split()
    return [w for w in folded if w not in noise and (len(w) > 1 or not w.isascii())]


@lru_cache(maxsize=8)
def _title_words(kind: str) -> frozenset[str]:
    """Words of titles, from the lexicon, folded."""
    from sayso.lexicon.load import parse, shipped

    rows = parse(shipped() / "cues" / "columns.toml").get("word", [])
    return frozenset(fold_words(f) for r in rows if r.get("kind") == kind for f in r["forms"])


def fold_words(text: str) -> str:
    """The words alone, without case, signs and prices."""
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())


def _says(audit: Audit, lexicon: Lexicon) -> list[tuple[str, str, str]]:
    """(feature, state, value) of what tells pressings apart, the decisive first."""
    say = Words(lexicon)
    order = {"decisive": 0, "supporting": 1, "helpful": 2, "none": 3}
    out: list[tuple[str, str, str]] = []
    for finding in sorted(audit.findings, key=lambda f: order[f.need]):
        if finding.state == "silent" and finding.need not in ("decisive", "supporting"):
            continue
        values = list(dict.fromkeys(_told(audit, audit.claims[i], lexicon, say) for i in finding.claims))
        claims = [audit.claims[i] for i in finding.claims]
        missed = finding.state == "hedged" and claims and all(c.polarity == "absent" for c in claims)
        out.append((finding.feature, "not_found" if missed else finding.state, ", ".join(values)[:60]))
    return out[:COMPARED]


def _told(audit: Audit, claim: Claim, lexicon: Lexicon, say: Words) -> str:
    """What one claim comes to, in few words; what is denied says so itself."""
    word = str(claim.value) if claim.value is not None else _short(claim.quote)
    if claim.polarity == "absent":
        word = (
            _short(claim.quote)
            if _denies_itself(claim, audit.listing.language, lexicon)
            else say.say("review.no", what=word)
        )
    return say.say("review.on_side", what=word, side=claim.side) if claim.side in ("a", "b") else word


def _denies_itself(claim: Claim, language: str | None, lexicon: Lexicon) -> bool:
    """Whether the words of a claim say 'no' themselves ('no groove', 'sleeve missing'), so that none is put before."""
    if any(c.kind == "proform" for c in claim.cues):  # 'the other has none'
        return False
    quote = fold_words(claim.quote)
    phrases, words = _denials(lexicon, language)
    return quote in phrases or any(f" {word} " in f" {quote} " for word in words)


@lru_cache(maxsize=16)
def _denials(lexicon: Lexicon, language: str | None) -> tuple[frozenset[str], frozenset[str]]:
    """The terms that deny by themselves, and the words that deny others; folded."""
    own_terms, own_cues, _ = lexicon.tongue(language) if language and language != "en" else ((), (), ())
    terms = frozenset(fold_words(f) for t in (*lexicon.terms, *own_terms) if t.polarity == "absent" for f in t.forms)
    cues = (c for c in (*lexicon.cues, *own_cues) if c.kind == "negation")
    return terms, frozenset(fold_words(f) for c in cues for f in c.forms) - {""}
