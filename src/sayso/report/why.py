"""Why a feature stands as it does: the words, the cues that decided, where their reach ended, the rule that won."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sayso.engine import size_of
from sayso.lexicon.geometry import least_width, ring_in_words
from sayso.model import Audit, Claim, Cue, Span
from sayso.report.safe import safe
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon


def explain(audit: Audit, feature: str, lexicon: Lexicon) -> str:
    """A plain account of one feature. Raises KeyError for an unknown feature."""
    say = Words(lexicon)
    row = lexicon.features[feature]
    finding = next((f for f in audit.findings if f.feature == feature), None)
    lines = [f"{row.name[:1].upper()}{row.name[1:]} ({feature})", f"  {row.what}", f"  Proves: {row.proves}"]
    if finding is not None:
        lines += [f"  Here: {say.state(finding.state)}; {say.need(finding.need)}. {finding.why}"]
    lines.append(f"  Where to look: {row.find}")
    size = size_of(audit.claims)
    if row.zone == "dead wax" and size and least_width(size, lexicon):
        lines.append(f"  That ring: {ring_in_words(size, lexicon)}.")
    shown = 0
    for n, claim in enumerate(audit.claims):
        if claim.feature != feature:
            continue
        shown += 1
        said = [claim.polarity, claim.certainty, "by a third party" if claim.attribution == "third_party" else ""]
        more = [f"{k} {v}" for k in ("side", "value", "role", "item") if (v := getattr(claim, k)) is not None]
        head = ", ".join(x for x in (*said, *more) if x)
        place = f"at {claim.start}-{claim.end}, in the {claim.segment}"
        lines += ["", f"  claim {n}: {_quoted(claim)} {place}: {head}"]
        lines += [f"    {_cue(cue)}" for cue in claim.cues] or ["    no cue changed how the words were meant"]
    for deferral in audit.deferrals:
        if deferral.feature == feature:
            shown += 1
            lines += ["", f"  left open by the seller: {_quoted(deferral)} at {deferral.start}-{deferral.end}"]
            lines += [f"    {_cue(cue)}" for cue in deferral.cues]
    odds = audit.odds
    if odds is not None and odds.most_sensitive_id is not None and any(feature in m.features for m in odds.moved_by):
        lines += ["", f"  {say.say('why.assumption', name=odds.most_sensitive_id)}"]
    if not shown:
        lines += ["", "  No words in the listing speak of it."]
    return "\n".join(lines)


def _cue(cue: Cue) -> str:
    return f"{cue.kind.replace('_', ' ')}: {_quoted(cue)} at {cue.start}-{cue.end} (rule {cue.rule})"


def _quoted(span: Claim | Span) -> str:
    return f'"{safe(" ".join(span.quote.split()))}"'
