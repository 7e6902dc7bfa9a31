"""The engine: any words at all give a whole, exact and repeatable audit."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from sayso.engine import audit_listing, audit_text, conclude
from sayso.intake import read_text
from sayso.lexicon import load_lexicon
from sayso.model import Audit, Claim, Listing
from sayso.report.jsonform import json_schema, to_json

LEXICON = load_lexicon()
TRADE = st.sampled_from(
    (
        *("no", "deep groove", "original", "1st press", "reissue", "not", "1958", "VG+ / NM", "matrix A-1", "®", "℗"),
        *('12"', "DG both sides", "stereo", "?", ",", ".", ":", "-", "\n", "unlike the repress", "see photos", "33⅓"),
        *("etched in run-out", "I think", "he said", "mono", "180g", "barcode", "½"),
    )
)
MARKUP = st.sampled_from(["<p>", "</p>", "<td>", "&amp;", "<b", ">", "<!--", "original", " no ", "DG", "é"])
WORDS = st.one_of(st.text(max_size=400), st.lists(TRADE, max_size=60).map(" ".join)).filter(str.strip)


def check(audit: Audit) -> None:
    text = audit.listing.text
    for item in (*audit.claims, *audit.deferrals):
        assert text[item.start : item.end] == item.quote
        for cue in item.cues:
            assert text[cue.start : cue.end] == cue.quote
    for conflict in audit.conflicts:
        assert len(conflict.between) == 2
        for side in conflict.between:
            if not isinstance(side, str):
                assert text[side.start : side.end] == side.quote
    for segment in audit.listing.segments:
        assert 0 <= segment.start <= segment.end <= len(text)
    assert [f.feature for f in audit.findings] == [f.id for f in LEXICON.features.values() if f.audited]
    assert audit.answer
    assert all(audit.cautions)


@settings(deadline=None, max_examples=60)
@given(WORDS)
def test_any_words(words: str) -> None:
    listing = read_text(words, title="x")
    audit = audit_listing(listing, LEXICON)
    check(audit)
    assert audit == audit_listing(listing, LEXICON)
    again = json.loads(to_json(audit))
    assert again["schema"] == "sayso.audit/1"


@settings(deadline=None, max_examples=40)
@given(
    st.lists(
        st.sampled_from(["<p>", "</p>", "<td>", "&amp;", "<b", ">", "<!--", "original", " no ", "DG", "é"]), min_size=1
    )
)
def test_any_markup(bits: list[str]) -> None:
    page = "<html><body>A record" + "".join(bits)
    audit = audit_text(page, LEXICON)
    check(audit)
    assert audit == audit_text(page, LEXICON)


def test_lone_surrogates_do_not_stop_the_json_form() -> None:
    audit = conclude(Listing(text="a \ud800 record"), (), (), LEXICON)
    assert json.loads(to_json(audit))["listing"]["text"] == "a ? record"


def test_the_schema_names_what_outside_checks_read() -> None:
    named = set(json_schema()["properties"])
    assert {
        "schema", "listing", "claims", "findings", "conflicts", "dating", "odds", "why_no_odds", "worth", "advice",
        "questions", "message", "cautions",
    } <= named  # fmt: skip


def test_findings_point_at_their_claims() -> None:
    claims = (Claim(feature="label.deep_groove", quote="DG", start=0, end=2),)
    audit = conclude(Listing(text="DG"), claims, (), LEXICON)
    finding = next(f for f in audit.findings if f.feature == "label.deep_groove")
    assert (finding.state, finding.claims) == ("stated", (0,))


def test_cautions_are_short_and_once() -> None:
    audit = conclude(Listing(text="x"), (), (), LEXICON)
    words = " ".join(audit.cautions)
    assert len(words) < 600
    for needed in ("no appraisal", "buyer protection", "local law", "returns"):
        assert words.count(needed) == 1
