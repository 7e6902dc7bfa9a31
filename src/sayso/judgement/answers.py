"""Answers to a file of decisions: `python -m sayso.judgement.answers DECISIONS.jsonl [--reads] [--lexicon FILE …]`.

Each line of the file has `id`, `dossier`, `worth`, `currency` and `variants`; each variant is audited by itself with
the dossier laid over the lexicon, and a line {"id", "v", "p_first", "advice", "first_question", "bargain"} is printed.
`--reads` takes what a good reader took from the text (`gold.reads`) instead of reading it: a test of the odds alone.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from sayso.judgement.dossier import take
from sayso.judgement.hear import hear
from sayso.judgement.judge import Judgement, judge
from sayso.judgement.worth import Offer
from sayso.lexicon import Lexicon
from sayso.lexicon.labels import Label
from sayso.model import Audit, Claim, Cue, Deferral, Listing


def offer_in(variant: Mapping[str, Any], row: Mapping[str, Any]) -> Offer:
    """The offer of one variant."""
    auction = variant.get("auction")
    price = auction["bid"] if auction else variant.get("price")
    return Offer(
        price=None if price is None else Decimal(str(price)),
        currency=row.get("currency"),
        auction=bool(auction),
        bidders=(auction or {}).get("bidders"),
        hours_left=(auction or {}).get("hours_left"),
        worth={k: Decimal(str(v)) for k, v in row.get("worth", {}).items()},
    )


def from_reads(variant: Mapping[str, Any], read: Mapping[str, Any]) -> tuple[Listing, list[Claim], list[Deferral]]:
    """Claims as a good reader would have made them."""
    text = f"{variant['title']}\n\n{variant['text']}"
    claims: list[Claim] = []
    deferrals: list[Deferral] = []
    doubt = (Cue(kind="hedge", rule="gold", start=0, end=0, quote=""),)
    for feature, s in read["said"].items():
        state = s["state"]
        if state == "deferred":
            deferrals.append(Deferral(feature=feature, start=0, end=0, quote=""))
            continue
        unnamed = s.get("how") == "described without its name"
        claims.append(
            Claim(
                feature=feature,
                polarity="absent" if state == "denied" else "present",
                certainty={"hedged": "hedged", "unknown": "unknown"}.get(state, "certain"),  # type: ignore[arg-type]
                attribution=s.get("by", "seller"),
                value=s.get("value"),
                quote="",
                start=0,
                end=0,
                cues=doubt if state == "hedged" and not unnamed else (),
            )
        )
    return Listing(text=text, title=variant["title"]), claims, deferrals


def answers(path: Path | str, overlays: Sequence[Path | str] = (), *, reads: bool = False) -> Iterator[dict[str, Any]]:
    """One answer for each variant of each scenario in the file; `overlays` are laid over the shipped lexicon."""
    for line in Path(path).read_text(encoding="utf-8").splitlines():
        row = json.loads(line) if line.strip() else {}
        if "dossier" not in row:  # an empty line, or the first one, which says where the rows come from
            continue
        for v, answer in answered(row, overlays, reads=reads):
            yield {"id": row["id"], "v": v, **answer}


def answered(
    row: Mapping[str, Any], overlays: Sequence[Path | str] = (), *, reads: bool = False
) -> Iterator[tuple[str, dict[str, Any]]]:
    """The answers to one scenario, variant by variant."""
    with tempfile.TemporaryDirectory() as folder:
        own = Path(folder) / "dossier.json"
        own.write_text(json.dumps({"label": [row["dossier"]]}), encoding="utf-8")
        lexicon = Lexicon((*(Path(p) for p in overlays), own))
        dossier = next(x for x in reversed(lexicon.labels.values()) if x.pressings)
        for variant in row["variants"]:
            if reads:
                found = judged_reads(row, variant, lexicon, dossier)
                odds, advice, first = found.odds, found.advice, found.first_question
            else:
                audit = audited(row, variant, lexicon, dossier)
                odds, advice = audit.odds, audit.advice
                first = audit.questions[0].features[0] if audit.questions else None
            yield (
                variant["v"],
                {
                    "p_first": odds.p_first if odds else None,
                    "advice": advice.do if advice else None,
                    "first_question": first,
                    "bargain": advice.bargain if advice else False,
                },
            )


def judged_reads(row: Mapping[str, Any], variant: Mapping[str, Any], lexicon: Lexicon, dossier: Label) -> Judgement:
    """The judgement of one variant from what a good reader took from it."""
    read = row["gold"]["reads"][variant["v"]]
    listing, claims, deferrals = from_reads(variant, read)
    heard = hear(claims, deferrals, listing, take(dossier), lexicon)
    if read["seller"] in ("expert", "naive"):
        knows = read["seller"] == "expert"
        heard = replace(heard, trade_words=knows, layman_words=not knows)
    return judge(claims, deferrals, listing, dossier, offer_in(variant, row), lexicon, heard=heard)


def audited(row: Mapping[str, Any], variant: Mapping[str, Any], lexicon: Lexicon, dossier: Label) -> Audit:
    """The whole audit of one variant's text."""
    from sayso.engine import audit_listing
    from sayso.intake.text import read_text

    offer = offer_in(variant, row)
    listing = read_text(variant["text"], title=variant["title"]).model_copy(
        update={"price": offer.price, "currency": offer.currency, "auction": offer.auction}
    )
    return audit_listing(
        listing,
        lexicon,
        record=dossier.id,
        worth=offer.worth,
        bidders=offer.bidders,
        hours_left=offer.hours_left,
    )


def main(argv: list[str]) -> int:
    """Prints the answers; returns the exit code."""
    reads = "--reads" in argv
    rest = [x for x in argv if x != "--reads"]
    overlays = []
    while "--lexicon" in rest:
        i = rest.index("--lexicon")
        overlays.append(rest[i + 1])
        del rest[i : i + 2]
    if len(rest) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    for row in answers(rest[0], overlays, reads=reads):
        print(json.dumps(row))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
