"""The drawn time line: short lines, plain characters, nothing where nothing is dated."""

from sayso.lexicon import load_lexicon
from sayso.model import Bound, Dating, Span
from sayso.report.timeline import timeline
from sayso.report.words import Words

SAY = Words(load_lexicon(user=False))


def _bound(carrier: str, quote: str, **dates: object) -> Bound:
    span = Span(start=0, end=len(quote), quote=quote)
    return Bound(carrier=carrier, span=span, fact="x", statement="s", basis="published", source="s", **dates)


def test_nothing_dated_draws_nothing() -> None:
    assert timeline(Dating(), SAY, ["1959"]) == []


def test_claimed_year_stands_left_of_a_later_floor() -> None:
    bound = _bound("label", "Made in the EU, a long quotation that must be cut somewhere", not_before="1993-11-01")
    lines = timeline(Dating(not_before="1993-11-01", bounds=(bound,)), SAY, ["1968"])
    assert all(len(x) <= 80 for x in lines)
    bar = next(x for x in lines if "=" in x)
    mark = next(x for x in lines if "^" in x)
    assert mark.index("^") < bar.index("=")


def test_soft_signs_are_drawn_apart() -> None:
    lines = timeline(Dating(bounds=(_bound("label", "Chicago 11, Ill.", not_after="1963-07-01", hard=False),)), SAY)
    assert any("---" in x for x in lines)
    assert not any("====" in x for x in lines)
