"""Prints scores for people."""

from __future__ import annotations

from collections.abc import Iterator

from tests.evaluation.score import Reading, Score, value_agrees


def figures(score: Score) -> Iterator[str]:
    for name, value in score.figures().items():
        yield f"{name:30} {value:.4f}" if isinstance(value, float) else f"{name:30} {value}"


def per_feature(score: Score) -> Iterator[str]:
    yield "per feature                    gold  seen   hit  wrong states"
    for feature, c in sorted(score.per.items()):
        yield f"{feature:30} {c['gold']:4}  {c['seen']:4}  {c['hit']:4}  {c['cell_bad']:4}"


def confusion(score: Score) -> Iterator[str]:
    yield "states, truth → told (errors)"
    for (truth, told), count in score.confusion.most_common():
        if truth != told:
            yield f"  {truth:12} → {told:12} {count}"


def worst(score: Score, number: int) -> Iterator[str]:
    yield "worst listings"
    bad = sorted(((len(r.states), r.id, r.states) for r in score.readings if r.states), reverse=True)
    for count, name, states in bad[:number]:
        yield f"  {name} ({count}): " + "; ".join(f"{f}: is {truth}, told {told}" for f, truth, told in states)


def diff(score: Score, feature: str | None = None) -> Iterator[str]:
    """Every wrong claim and state, listing by listing, in the words of the listing."""
    for reading in score.readings:
        lines = list(_wrong(reading, feature))
        if lines:
            yield f"{reading.id} [{', '.join(reading.gold.get('phenomena', ()))}]"
            yield from (f"  {line}" for line in lines)


def _wrong(reading: Reading, feature: str | None) -> Iterator[str]:
    def ours(claim: object) -> bool:
        return feature is None or claim["feature"] == feature  # type: ignore[index]

    loose = {id(g): s for g, s in reading.loose}
    explained = set()
    for gold in filter(ours, reading.missing):
        seen = loose.get(id(gold))
        if seen is not None and seen.get("certainty") != gold.get("certainty"):
            explained.add(id(seen))
            yield f"certainty {_claim(gold)}  read as {seen['certainty']}{_cues(seen)}"
        else:
            yield f"missing   {_claim(gold)}"
    for seen in filter(ours, reading.extra):
        if id(seen) not in explained:
            yield f"extra     {_claim(seen)}{_cues(seen)}"
    for gold, seen in reading.strict:
        if ours(gold) and value_agrees(gold, seen) is False:
            yield f"value     {_claim(gold)}  read as {seen.get('value')!r}"
        if ours(gold) and gold.get("side") != seen.get("side"):
            yield f"(side)    {_claim(gold)}  read as {seen.get('side')}"
    for trap in filter(ours, reading.trapped):
        yield f"TRAPPED   {trap['feature']} “{trap['quote']}” ({trap['why']})"
    for name, truth, told in reading.states:
        if feature in (None, name):
            yield f"STATE     {name}: is {truth}, told {told}"


def _claim(c: dict[str, object]) -> str:
    more = [str(c[k]) for k in ("side", "value", "role", "item") if c.get(k) is not None]
    if c.get("attribution") == "third_party":
        more.append("third party")
    inside = f" ({', '.join(more)})" if more else ""
    return f"{c['feature']} {c['polarity']} {c.get('certainty') or 'certain'}{inside} “{c['quote']}”"


def _cues(c: dict[str, object]) -> str:
    cues = c.get("cues") or ()
    told = [f"{q['kind']} “{q['quote']}” {q['rule']}" for q in cues]  # type: ignore[index, attr-defined]
    return f"  ← {'; '.join(told)}" if told else ""
