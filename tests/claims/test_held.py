"""Claims found by their place are those that a look at every claim would find."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sayso.claims.held import Held
from sayso.model import Claim

PLACES = st.tuples(st.integers(0, 1500), st.integers(1, 600)).map(lambda p: (p[0], p[0] + p[1]))
DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("add"), PLACES),
        st.tuples(st.just("drop"), st.integers(0, 30)),
        st.tuples(st.just("amend"), st.integers(0, 30)),
    ),
    max_size=30,
)


def claim(start: int, end: int) -> Claim:
    return Claim(feature="disc.rim", polarity="present", start=start, end=end, quote="x" * (end - start))


@given(DEEDS, PLACES)
def test_as_a_list_that_is_searched_from_end_to_end(deeds: list[tuple[str, object]], place: tuple[int, int]) -> None:
    held, plain = Held(), list[Claim]()
    for deed, what in deeds:
        if deed == "add":
            new = claim(*what)  # type: ignore[misc]
            held.add(new)
            plain.append(new)
        elif plain:
            n = int(what) % len(plain)  # type: ignore[call-overload]
            if deed == "drop":
                held.drop([plain.pop(n)])
            else:
                meant = plain[n].model_copy(update={"certainty": "hedged"})
                held.amend(plain[n], certainty="hedged")
                plain[n] = list(held)[n]
                assert plain[n] == meant
    start, end = place
    assert list(held) == plain
    assert len(held) == len(plain)
    assert held.last(3) == plain[::-1][:3]
    assert held.touching(start, end) == [c for c in plain if c.start < end and start < c.end]
    assert held.begun(start, end) == [c for c in plain if start <= c.start < end]


def test_what_is_not_held_is_passed_over() -> None:
    held = Held()
    held.add(claim(3, 9))
    held.drop([claim(3, 9)])
    assert len(held) == 1


def test_nothing_begins_in_an_empty_stretch() -> None:
    held = Held()
    held.add(claim(3, 9))
    assert held.begun(3, 3) == []
