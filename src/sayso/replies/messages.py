"""Where a pasted reply holds several messages, and where a seller takes back what he said."""

from __future__ import annotations

import re

from sayso.replies.words import Forms

_RULE = re.compile(r"^\s*(?:[-_=*~]{3,}|\[[^\]\n]{1,40}\]|\([^)\n]{1,30}\):?)\s*$", re.MULTILINE)


def message_starts(reply: str, forms: Forms) -> tuple[int, ...]:
    """Where each message begins: after a line that parts them, or at a line that says another one begins."""
    starts = {0}
    for m in _RULE.finditer(reply):
        if m.group().strip()[:1] in "[(" and forms.first(("reply_again",), m.group()) is None:
            continue
        if reply[: m.start()].strip() and reply[m.end() :].strip():
            starts.add(m.end())
    for m in re.finditer(r"(?:^|\n\s*\n|(?<=[.!?])\s+)([^\n]{1,60})", reply):
        hit = forms.starts("reply_again", m.group(1))
        sorry = re.match(r"(?:\w+[,:.!]?\s+)?", m.group(1))
        near = hit or (sorry and forms.starts("reply_again", m.group(1)[sorry.end() :]))
        if near and m.start(1) and reply[: m.start(1)].strip():
            starts.add(m.start(1))
    kept = [0]
    for start in sorted(starts)[1:]:
        if len(re.findall(r"\w+", reply[kept[-1] : start])) >= 2 or not kept[-1]:
            kept.append(start)
    return tuple(kept)


def retractions(reply: str, forms: Forms) -> tuple[int, ...]:
    """Where words stand that take back what was said before."""
    return tuple(sorted({h.start for h in forms.find("reply_retract", reply)}))
