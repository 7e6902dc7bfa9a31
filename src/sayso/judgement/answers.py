"""Answers to a file of decisions: `python -m sayso.judgement.answers DECISIONS.jsonl [--reads] [--lexicon FILE …]`.

Each line of the file has `id`, `dossier`, `worth`, `currency` and `variants`; each variant is audited by itself with
the dossier laid over the lexicon, and a line {"id", "v", "p_first", "advice", "first_question", "bargain"} is printed.
`--reads` takes what a good reader took from the text (`gold.reads`) instead of reading it: a test of the odds alone.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from sayso.judgement.hear import Heard, hear
from sayso.judgement.judge import Judgement, judge
from sayso.judgement.worth import Offer
from sayso.lexicon import Lexicon, load_lexicon
from sayso.model import Claim, Cue, Deferral, Listing


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


def judged(row: Mapping[str, Any], lexicon: Lexicon, *, reads: bool = False) -> Iterator[tuple[str, Judgement]]:
    """The judgement of each variant of one scenario."""
    dossier = row["dossier"]
    for variant in row["variants"]:
        offer = offer_in(variant, row)
        heard: Heard | None = None
        if reads:
            from dataclasses import replace

            from sayso.judgement.dossier import take

            read = row["gold"]["reads"][variant["v"]]
            listing, claims, deferrals = from_reads(variant, read)
            heard = hear(claims, deferrals, listing, take(dossier), lexicon)
            if read["seller"] == "expert":
                heard = replace(heard, trade_words=True)
            elif read["seller"] == "naive":
                heard = replace(heard, layman_words=True)
        else:
            listing, claims, deferrals = _read(variant, lexicon, offer)
        yield variant["v"], judge(claims, deferrals, listing, dossier, offer, lexicon, heard=heard)


def _read(variant: Mapping[str, Any], lexicon: Lexicon, offer: Offer) -> tuple[Listing, list[Claim], list[Deferral]]:
    from sayso.claims import read_claims
    from sayso.intake.text import read_text

    listing = read_text(variant["text"], title=variant["title"])
    reading = read_claims(listing, lexicon)
    return reading.listing, list(reading.claims), list(reading.deferrals)


def answers(path: Path | str, lexicon: Lexicon, *, reads: bool = False) -> Iterator[dict[str, Any]]:
    """One answer for each variant of each scenario in the file."""
    for line in Path(path).read_text(encoding="utf-8").splitlines():
        row = json.loads(line) if line.strip() else {}
        if "dossier" not in row:  # an empty line, or the first one, which says where the rows come from
            continue
        for v, judgement in judged(row, lexicon, reads=reads):
            yield {
                "id": row["id"],
                "v": v,
                "p_first": judgement.odds.p_first if judgement.odds else None,
                "advice": judgement.advice.do if judgement.advice else None,
                "first_question": judgement.first_question,
                "bargain": judgement.advice.bargain if judgement.advice else False,
            }


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
    lexicon = load_lexicon(overlays, user=False)
    for row in answers(rest[0], lexicon, reads=reads):
        print(json.dumps(row))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
