"""From claims to statements: what counts as what, and nothing that a seller can say stops the judgement."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.judgement.dossier import take
from sayso.judgement.hear import hear
from sayso.judgement.network import Kind, Said
from sayso.model import Claim, Deferral, Listing
from tests.judgement.common import DOSSIER, HEDGE, LEXICON, MARK, claim, say

FEATURES = [MARK, "label.design", "label.address", "deadwax.matrix", "jacket.construction", "edition.year", "x.unknown"]


def heard(*claims: Claim, deferred: str | None = None, text: str = "") -> Any:
    deferrals = [Deferral(feature=deferred, start=0, end=0, quote="")] if deferred else []
    return hear(claims, deferrals, Listing(text=text), take(DOSSIER), LEXICON)


@pytest.mark.parametrize(
    ("given_claim", "kind"),
    [
        (claim(MARK, "thistle"), Kind.FIRM),
        (claim(MARK, "thistle", polarity="absent"), Kind.DENIED),
        (claim(MARK, None, polarity="absent"), Kind.DENIED),
        (claim(MARK, "none"), Kind.DENIED),
        (claim(MARK, "thistle", certainty="hedged", cues=HEDGE), Kind.HEDGED),
        (claim(MARK, "thistle", certainty="hedged"), Kind.DESCRIBED),
        (claim(MARK, "thistle", attribution="third_party"), Kind.HEARSAY),
        (claim(MARK, None, polarity="absent", certainty="hedged"), Kind.FAILED),
        (claim(MARK, None, certainty="unknown"), Kind.UNKNOWN),
        (claim(MARK, "windlass"), Kind.IGNORED),
        (claim("deadwax.matrix", None), Kind.IGNORED),
    ],
)
def test_kinds(given_claim: Claim, kind: Kind) -> None:
    assert heard(given_claim).said[given_claim.feature].kind is kind


def test_a_claim_goes_before_a_deferral() -> None:
    assert heard(deferred=MARK).said[MARK] == Said(Kind.DEFERRED)
    assert heard(claim(MARK, "thistle"), deferred=MARK).said[MARK].kind is Kind.FIRM


def test_present_on_one_side_only_is_still_present() -> None:
    one = claim(MARK, "thistle", side="a")
    other = claim(MARK, "thistle", side="b", polarity="absent").model_copy(update={"start": 50, "end": 60})
    assert heard(one, other).said[MARK].kind is Kind.FIRM


def test_signs_of_who_sells() -> None:
    assert heard(text="From my uncle's attic").layman_words
    assert heard(text="Deep groove, flip-back jacket").trade_words
    assert heard(text="Marrowfield MF31, nice").number
    assert not heard(text="Marrowfield MF312, nice").number
    assert heard(text="bought new in 1962").bought == 1962
    assert heard(text="recorded in 1962").bought is None


claims = st.builds(
    claim,
    st.sampled_from(FEATURES),
    st.one_of(
        st.none(), st.text(max_size=12), st.integers(-5, 3000), st.sampled_from(["thistle", "none", "white", "-"])
    ),
    polarity=st.sampled_from(["present", "absent"]),
    certainty=st.sampled_from(["certain", "hedged", "unknown"]),
    attribution=st.sampled_from(["seller", "third_party"]),
    side=st.sampled_from([None, "a", "b", "both"]),
    role=st.sampled_from([None, "pressed", "released"]),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(claims, max_size=6), st.text(max_size=40), st.sampled_from([None, 0.01, 60, 1e6]))
def test_nothing_a_seller_says_stops_the_judgement(said: list[Claim], text: str, price: float | None) -> None:
    found = say(None, *said, text=text, price=price)
    if found.odds is None:  # by his own year no pressing that is known can be it
        assert found.why_no_odds
        assert any(c.feature == "edition.year" and c.role == "pressed" and c.polarity == "present" for c in said)
        return
    assert 0 <= found.odds.p_first_low <= found.odds.p_first <= found.odds.p_first_high <= 1
    assert found.advice is not None
    if price == 0.01:
        assert found.advice.do == "buy"
    if price == 1e6:
        assert found.advice.do == "pass"
