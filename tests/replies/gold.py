"""The annotated conversations, and their gold claims as the program's nouns."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from sayso.model import Claim, Deferral
from sayso.replies.nouns import Asked

CORPUS = Path(__file__).resolve().parents[1] / "corpus" / "replies.jsonl"


def conversations() -> list[dict[str, Any]]:
    """The conversations; the first line of the file says where they come from."""
    return [row for line in CORPUS.open(encoding="utf-8") if "provenance" not in (row := json.loads(line))]


def asked(row: dict[str, Any]) -> list[Asked]:
    return [Asked(**q) for q in row["questions"]]


def claim(raw: dict[str, Any], start: int, segment: str) -> Claim:
    known = {k: v for k, v in raw.items() if k in Claim.model_fields and v is not None and k != "start"}
    return Claim(**known, start=start, end=start + len(raw["quote"]), segment=segment)  # type: ignore[arg-type]


def listing_claims(row: dict[str, Any]) -> list[Claim]:
    text = row["listing"]["title"] + "\n\n" + row["listing"]["text"]
    return [claim(c, max(0, text.find(c["quote"])), "description") for c in row["gold"]["listing_claims"]]


def listing_deferrals(row: dict[str, Any]) -> list[Deferral]:
    cover = row["gold"]["listing_coverage"]
    return [Deferral(feature=f, quote="", start=0, end=0) for f, state in cover.items() if state == "deferred"]


def reply_claims(row: dict[str, Any], offset: int) -> list[Claim]:
    return [claim(c, c["start"] + offset, "reply") for c in row["gold"]["claims"]]


def reply_deferrals(row: dict[str, Any], offset: int) -> list[Deferral]:
    out = []
    for d in row["gold"]["deferrals"]:
        at = row["reply"].find(d["quote"])
        out.append(
            Deferral(feature=d["feature"], quote=d["quote"], start=at + offset, end=at + offset + len(d["quote"]))
        )
    return out


def also(row: dict[str, Any], key: str) -> list[str]:
    more = row.get(key) or []
    return [more] if isinstance(more, str) else list(more)
