"""A claim of a reply, where its passage says something without the words of a term."""

from __future__ import annotations

from sayso.model import Certainty, Claim, Cue, Polarity, Side
from sayso.replies.nouns import Passage


def make(
    feature: str,
    p: Passage,
    offset: int,
    a: int,
    b: int,
    polarity: Polarity,
    certainty: Certainty,
    value: str | None,
    rule: str,
    side: Side | None = None,
) -> Claim:
    """A claim that stands at `p.quote[a:b]`."""
    while a < b and p.quote[a].isspace():
        a += 1
    quote = p.quote[a:b].rstrip()
    start = offset + p.start + a
    cue = Cue(kind="question", rule=rule, start=start, end=start + len(quote), quote=quote)
    return Claim(
        feature=feature,
        polarity=polarity,
        certainty=certainty,
        value=value,
        side=side,
        quote=quote,
        start=start,
        end=start + len(quote),
        segment="reply",
        cues=(cue,),
    )
