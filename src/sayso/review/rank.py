"""What to do next about one audit, why, and the one question; small enough to be kept for every row."""

from __future__ import annotations

import hashlib
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from sayso.review.rows import Summary

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit, Finding

VERDICTS = ("strong", "ask", "clash", "pass")
HEADINGS = {
    "strong": "Bargains and strong copies",
    "ask": "Worth a question",
    "clash": "Contradictory",
    "pass": "Not worth it",
}
COMPARED = 14
KEPT_WORDS = 600


def summarise(audit: Audit, lexicon: Lexicon) -> Summary:
    """The summary of an audit. Pure."""
    verdict, reason = decide(audit, lexicon)
    listing, advice = audit.listing, audit.advice
    folded = fold_words(listing.text)
    return Summary(
        id=listing.id,
        title=listing.title or listing.text[:80].replace("\n", " "),
        verdict=verdict,
        score=round(score(audit), 6),
        reason=reason,
        question=audit.questions[0].text if audit.questions and verdict != "pass" else "",
        message=audit.message if verdict in ("ask", "clash", "strong") else "",
        price="" if listing.price is None else str(listing.price),
        currency=listing.currency or "",
        url=listing.url or "",
        seller=listing.seller or "",
        record=record_key(audit),
        title_key=title_key(audit),
        print_=hashlib.blake2b(folded.encode(), digest_size=12).hexdigest() if len(folded) >= 40 else "",
        words=folded[:KEPT_WORDS],
        says=tuple(_says(audit, lexicon)),
        ceiling="" if advice is None or advice.ceiling is None else str(advice.ceiling),
        clash=bool(_hard(audit)),
        silent=any(f.need == "decisive" and f.state == "silent" for f in audit.findings),
    )


def _hard(audit: Audit) -> list[str]:
    """Why the words contradict themselves or the dated facts; a jacket later than its disc is no contradiction."""
    found = [c.why for c in audit.conflicts if c.kind != "jacket"]
    return found or [f.why for f in audit.findings if f.state == "conflicting" and f.need != "none"]


def decide(audit: Audit, lexicon: Lexicon) -> tuple[str, str]:
    """(verdict, reason): what to do next about this copy, and the one reason."""
    advice = audit.advice
    hard = _hard(audit)
    if advice is not None and advice.do == "pass":
        return "pass", advice.why
    if hard:
        return "clash", hard[0]
    if advice is not None and advice.do == "buy":
        return "strong", advice.why
    by_state = {f.feature: f for f in audit.findings}
    decisive = [f for f in audit.findings if f.need == "decisive"]
    denied = [f for f in decisive if f.state == "denied"]
    reissue = by_state.get("edition.reissue")
    if advice is None:
        claims_early = any(
            (f := by_state.get(name)) is not None and f.state in ("stated", "hedged")
            for name in ("edition.original", "edition.first_pressing")
        )
        if reissue is not None and reissue.state == "stated" and not claims_early:
            return "pass", "By the seller's own words it is a later issue."
        if denied and not claims_early:
            return "pass", f"The seller says that {_name(denied[0], lexicon)} is not there."
        settled = [f for f in decisive if f.state == "stated"]
        if decisive and len(settled) == len(decisive):
            named = " and ".join(_name(f, lexicon) for f in settled[:2])
            return "strong", f"The seller states what decides here: {named}; nothing in the words speaks against it."
    if advice is not None and advice.why:
        return "ask", advice.why
    if audit.silence:
        return "ask", audit.silence[0]
    open_ = [f for f in decisive if f.state not in ("stated", "denied")]
    if audit.questions:  # the reason belongs to the question that is shown beside it
        open_.sort(key=lambda f: f.feature not in audit.questions[0].features)
    if open_:
        return "ask", _open_reason(open_[0], lexicon)
    return "ask", audit.answer or "The words leave the pressing open."


def _open_reason(finding: Finding, lexicon: Lexicon) -> str:
    name = _name(finding, lexicon)
    said = {
        "silent": f"Nothing is said of {name}.",
        "deferred": f"For {name} the seller only points elsewhere.",
        "unknown": f"The seller does not know about {name}.",
        "hedged": f"The seller is not sure of {name}.",
    }.get(finding.state, f"The words on {name} contradict each other.")
    return f"{said} {finding.why}".strip()


def _name(finding: Finding, lexicon: Lexicon) -> str:
    feature = lexicon.features.get(finding.feature)
    return feature.name if feature is not None else finding.feature


def score(audit: Audit) -> float:
    """How far up within its verdict: bargains by gain for the money asked, then by odds, then by what is settled."""
    listing, advice, odds = audit.listing, audit.advice, audit.odds
    gain = 0.0
    if advice is not None:
        if advice.expected_gain is not None:
            gain = float(advice.expected_gain) / max(float(listing.price or 0), 1.0)
        if advice.bargain:
            gain += 10.0
    weight = {"decisive": 3.0, "supporting": 1.0}
    worth = {"stated": 1.0, "hedged": 0.3, "deferred": 0.15, "denied": -1.0, "conflicting": -1.0}
    wanted = [(weight[f.need], worth.get(f.state, 0.0)) for f in audit.findings if f.need in weight]
    settled = sum(w * v for w, v in wanted) / sum(w for w, _ in wanted) if wanted else 0.0
    chance = odds.p_first if odds is not None else 0.0
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
    noise = _noise()
    folded = fold_words(title).split()
    return [w for w in folded if w not in noise and (len(w) > 1 or not w.isascii())]


@lru_cache(maxsize=1)
def _noise() -> frozenset[str]:
    from sayso.lexicon.load import parse, shipped

    rows = parse(shipped() / "cues" / "columns.toml").get("word", [])
    return frozenset(f.casefold() for r in rows if r.get("kind") == "title_noise" for f in r["forms"])


def fold_words(text: str) -> str:
    """The words alone, without case, signs and prices."""
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())


def _says(audit: Audit, lexicon: Lexicon) -> list[tuple[str, str, str]]:
    """(feature, state, value) of what tells pressings apart, the decisive first."""
    order = {"decisive": 0, "supporting": 1, "helpful": 2, "none": 3}
    out: list[tuple[str, str, str]] = []
    for finding in sorted(audit.findings, key=lambda f: order[f.need]):
        if finding.state == "silent" and finding.need not in ("decisive", "supporting"):
            continue
        values = []
        for i in finding.claims:
            claim = audit.claims[i]
            word = str(claim.value) if claim.value is not None else claim.quote
            if claim.side in ("a", "b"):
                word = f"{word} (side {claim.side})"
            if word not in values:
                values.append(word)
        out.append((finding.feature, finding.state, ", ".join(values)[:60]))
    return out[:COMPARED]
