"""A reply from paste to `sayso.reply/1`; and the same for a file of conversations, to measure with.

`python -m sayso.replies.answers CONVERSATIONS.jsonl [--lexicon FILE]…` prints a line a conversation.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sayso.model import Audit, Listing
from sayso.replies.fold import changes, fold, states, withdraw
from sayso.replies.nouns import Asked, Reply, ReplyError
from sayso.replies.outcomes import outcomes
from sayso.replies.read import read_reply

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

LONGEST = 200_000
"""A reply longer than this many characters is refused: it is no reply."""


def questions_from(rows: object) -> tuple[Asked, ...]:
    """Questions from their JSON form [{"n", "features", "text"}]. Raises `ReplyError`."""
    from pydantic import ValidationError

    if isinstance(rows, Mapping):
        rows = rows.get("questions")
    if not isinstance(rows, Sequence) or isinstance(rows, str) or not rows:
        raise ReplyError('the questions must be a list such as [{"n": 1, "features": ["deadwax.matrix"], "text": "…"}]')
    asked = []
    for i, row in enumerate(rows, 1):
        if not isinstance(row, Mapping):
            raise ReplyError(f"question {i} must be an object with n, features and text")
        try:
            asked.append(Asked.model_validate({"n": i} | {k: row[k] for k in ("n", "features", "text") if k in row}))
        except ValidationError as error:
            first = error.errors()[0]
            raise ReplyError(f"question {i}: {'.'.join(map(str, first['loc']))}: {first['msg']}") from None
    if len({q.n for q in asked}) < len(asked):
        raise ReplyError("two questions have the same number; give each its own n")
    return tuple(asked)


def answer_reply(
    before: Audit,
    reply: str,
    asked: Sequence[Asked],
    lexicon: Lexicon,
    *,
    asked_before: Collection[str] = (),
    **options: Any,
) -> Reply:
    """The reply folded into what was said before. Pure.

    `before` is the audit of the listing (or of an earlier reply); `asked_before` are features asked for in earlier
    messages; `options` go to `sayso.engine.conclude`. Raises `ReplyError` for an empty or overlong reply.
    """
    from sayso.engine import conclude
    from sayso.intake.draft import tidy
    from sayso.replies.mail import readable

    if len(reply) > LONGEST:
        raise ReplyError(f"the reply has {len(reply):,} characters; paste only the seller's message")
    text = tidy(readable(tidy(reply))).strip()
    if not text:
        raise ReplyError("the reply is empty; paste the seller's words, or name a file that holds them")
    unknown = sorted({f for q in asked for f in q.features} - set(lexicon.features))
    if unknown:
        raise ReplyError(f"there is no feature {unknown[0]!r}; `sayso lexicon list` shows them")
    read = read_reply(before.listing, text, asked, lexicon)
    turns = [read.start + at for at in (*read.aligned.messages[1:], *read.aligned.retracts)]
    said, withdrawn = withdraw(read.claims, turns, lexicon)
    claims, deferrals, gone = fold(before.claims, before.deferrals, said, read.deferrals, lexicon)
    reads = {f.id for f in lexicon.features.values() if f.reads}
    told = outcomes(asked, read.aligned, said, read.deferrals, offset=read.start, reads=reads)
    met = {f for q, o in zip(asked, told, strict=True) if o.outcome != "unanswered" for f in q.features}
    audit = conclude(read.listing, claims, deferrals, lexicon, asked={*asked_before, *met}, **options)
    return Reply(
        per_question=told,
        changes=changes(
            asked,
            states(before.claims, before.deferrals, lexicon),
            states(claims, deferrals, lexicon),
            before.claims,
            claims,
            said,
            (*gone, *withdrawn),
            read.listing.text,
        ),
        superseded=(*gone, *withdrawn),
        passages=read.aligned.passages,
        reply_start=read.start,
        odds_before=before.odds.p_first if before.odds else None,
        audit=audit,
    )


def refold(now: Audit, earlier: Sequence[tuple[str, Sequence[Asked]]], lexicon: Lexicon, **options: Any) -> Audit:
    """A changed listing together with the replies that came before it (their words, what was asked). Pure.

    What the seller wrote in his messages still holds; where listing and message differ, the listing is now the later.
    """
    from sayso.engine import conclude

    audit = now
    before = options.pop("asked", ())
    for text, asked in earlier:
        audit = answer_reply(audit, text, asked, lexicon, asked_before=before, **options).audit
    end = len(now.listing.text)
    told = [c for c in audit.claims if c.start >= end]
    pointed = [d for d in audit.deferrals if d.start >= end]
    claims, deferrals, _ = fold(told, pointed, now.claims, now.deferrals, lexicon)
    return conclude(audit.listing, claims, deferrals, lexicon, asked=before, **options)


def to_json(reply: Reply, *, indent: int | None = None, **more: Any) -> str:
    """The reply as `sayso.reply/1`; `more` are further keys. Lone surrogates come out as '?'."""
    data = {"schema": "sayso.reply/1", **more} | reply.model_dump(mode="json", by_alias=True)
    return json.dumps(data, ensure_ascii=False, indent=indent).encode("utf-8", "replace").decode("utf-8")


def conversations(rows: Iterable[Mapping[str, Any]], lexicon: Lexicon) -> Iterable[tuple[str, Reply]]:
    """Id and result of each conversation {"id", "listing": {"title", "text"}, "questions", "reply"}."""
    from sayso.engine import audit_listing
    from sayso.intake.text import read_text

    for row in rows:
        if "reply" not in row:
            continue
        words = row["listing"]
        listing: Listing = read_text(words["text"], title=words["title"], id=row["id"], lexicon=lexicon)
        yield (
            row["id"],
            answer_reply(audit_listing(listing, lexicon), row["reply"], questions_from(row["questions"]), lexicon),
        )


def main(argv: Sequence[str]) -> int:
    """Reads a file of conversations and prints `sayso.reply/1` with the id, a line each."""
    import argparse

    from sayso.lexicon import load_lexicon

    parser = argparse.ArgumentParser(prog="python -m sayso.replies.answers", description=main.__doc__)
    parser.add_argument("conversations", type=Path, help="JSON Lines: id, listing {title, text}, questions, reply")
    parser.add_argument("overlays", type=Path, nargs="*", help="as --lexicon")
    parser.add_argument(
        "--lexicon", type=Path, action="append", default=[], metavar="FILE", help="an overlay: a file or a folder"
    )
    o = parser.parse_args(argv)
    lexicon = load_lexicon((*o.overlays, *o.lexicon))
    with o.conversations.open(encoding="utf-8") as lines:
        rows = [json.loads(line) for line in lines if line.strip()]
    for id, reply in conversations(rows, lexicon):
        print(to_json(reply, id=id))
    return 0


if __name__ == "__main__":
    import sys

    sys.exit(main(sys.argv[1:]))
