"""What the marks prove that a seller describes: pressed at, cut by, plated at; and what they leave open.

A cutting mark stays on the metalwork, and so does one of plating: later owners and other works pressed from the same
parts for years. That caution goes with each of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from sayso.audit.cut_letters import RULE
from sayso.model import Claim, Proof

if TYPE_CHECKING:
    from sayso.claims.marks import MarkHit
    from sayso.lexicon import Lexicon
    from sayso.lexicon.labels import Label

SIGNS = frozenset({"deadwax.plant_mark", "deadwax.mastering_mark", "deadwax.matrix", "deadwax.lettering"})
STAYS = frozenset({"cutting", "plating", ""})
"""Kinds of mark that are carried on by the metalwork."""


def prove(claims: Sequence[Claim], text: str, label: Label | None, lexicon: Lexicon) -> tuple[Proof, ...]:
    """What each described mark proves, in the order of the claims; a mark said to be absent proves nothing. Pure."""
    spoken = [(i, c) for i, c in enumerate(claims) if c.feature in SIGNS and c.polarity == "present"]
    if not spoken:
        return ()
    from sayso.claims.marks import marks_in

    hits = [h for h in marks_in(text, lexicon) if any(c.start < h.end and h.start < c.end for _, c in spoken)]
    out: list[Proof] = []
    for index, claim in spoken:
        own = [*_own(index, claim, label, lexicon), *_cutter(index, claim, label, lexicon)]
        out += own
        if own or claim.feature == "deadwax.lettering":
            continue
        for hit in hits:
            if hit.start < claim.end and claim.start < hit.end and _of_kind(claim, hit):
                out.append(_proof(index, hit, label, lexicon))
    seen: set[tuple[str, ...]] = set()
    kept = []
    for proof in out:
        key = (*proof.marks, proof.proves)
        if key not in seen:
            seen.add(key)
            kept.append(proof)
    return tuple(kept)


def _of_kind(claim: Claim, hit: MarkHit) -> bool:
    """A mark of the cutter is no plant mark; where the makers' marks differ in kind, both readings stand."""
    if claim.feature == "deadwax.mastering_mark":
        return hit.kind in ("cutting", "")
    if claim.feature == "deadwax.plant_mark":
        return hit.kind != "cutting"
    return True


def _proof(index: int, hit: MarkHit, label: Label | None, lexicon: Lexicon) -> Proof:
    rows = [lexicon.marks[m] for m in hit.marks]
    strong = [m for m in rows if not m.weak] or rows
    # Where several makers used one form, the label on offer may say whose it is.
    name = label.name.split(" (")[0].casefold() if label else ""
    fitting = [m for m in strong if name and any(name in x.casefold() for x in m.labels)] or strong
    weakest = next((m for m in fitting if m.basis == "memory"), fitting[0])
    caution = list(dict.fromkeys(m.caution for m in fitting if m.caution))
    kinds = {m.kind for m in fitting}
    kind = kinds.pop() if len(kinds) == 1 else ""
    if kind in STAYS and not any(lexicon.phrases["proof.metal"] in c for c in caution):
        caution.append(lexicon.phrases["proof.stays"])
    if len(fitting) > 1:
        caution.append(lexicon.phrases["proof.several"])
    return Proof(
        claim=index,
        marks=tuple(m.id for m in fitting),
        kind=kind,
        proves=" or ".join(dict.fromkeys(m.proves for m in fitting)),
        not_before=str(hit.not_before) if hit.not_before else None,
        basis=weakest.basis,
        source="; ".join(dict.fromkeys(m.source for m in fitting)),
        caution=" ".join(caution),
    )


def _own(index: int, claim: Claim, label: Label | None, lexicon: Lexicon) -> Iterator[Proof]:
    """A works that the label's own history names by its mark."""
    if label is None or claim.feature != "deadwax.plant_mark" or not claim.value:
        return
    told = str(claim.value).casefold()
    for plant in label.plants:
        if plant.mark and plant.name and plant.mark.casefold().removeprefix("letters ") == told:
            years = f" ({plant.since or '?'} to {plant.until or '?'})" if plant.since or plant.until else ""
            yield Proof(
                claim=index,
                kind="plant",
                proves=lexicon.phrases["proof.plant"].format(plant=plant.name, years=years),
                basis=plant.basis,
                source=plant.source or label.source or lexicon.phrases["proof.own"],
            )


def _cutter(index: int, claim: Claim, label: Label | None, lexicon: Lexicon) -> Iterator[Proof]:
    """Whose the letter behind the cut is, by the list of the label's cutters."""
    if label is None or claim.feature != "deadwax.mastering_mark" or not any(c.rule == RULE for c in claim.cues):
        return
    for mark in lexicon.marks.values():
        theirs = mark.read_by == "grammar" and mark.kind == "cutting" and label.name in mark.labels
        if theirs and f"1{claim.value}" in mark.written_as:
            yield Proof(
                claim=index,
                marks=(mark.id,),
                kind="cutting",
                proves=lexicon.phrases["proof.cutter"].format(letter=claim.value, who=mark.who),
                basis=mark.basis,
                source=mark.source,
                caution=" ".join(dict.fromkeys((mark.caution, lexicon.phrases["proof.stays"]))),
            )
