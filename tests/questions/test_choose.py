"""Which questions are asked, in which order and words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sayso.audit.coverage import Standing, cover
from sayso.engine import audit_text
from sayso.lexicon import load_lexicon
from sayso.model import Claim, Conflict, Span
from sayso.questions import Asking, TooShort, ask_seller, languages

LEXICON = load_lexicon()
AUDITED = [f.id for f in LEXICON.features.values() if f.audited]
STATES = ("stated", "denied", "hedged", "unknown", "deferred", "silent", "conflicting")
CORPUS = Path(__file__).parents[1] / "corpus" / "listings.jsonl"
ORIGINAL = {"edition.original": Standing("stated")}


def ask(standing: dict[str, Standing], claims: tuple[Claim, ...] = (), conflicts=(), decides=None, **wish):  # type: ignore[no-untyped-def]
    coverage = cover(standing, claims, LEXICON, decides=decides)
    return ask_seller(coverage, claims, conflicts, LEXICON, Asking(**wish))


def test_decisive_silence_comes_first() -> None:
    questions, message = ask(ORIGINAL)
    assert questions[0].features[0] == "deadwax.plant_mark"
    assert message.index(questions[0].text) < message.index(questions[1].text)


def test_five_at_most_by_default_and_each_once() -> None:
    questions, message = ask({})
    features = [f for q in questions for f in q.features]
    assert len(questions) == 5
    assert len(features) == len(set(features))
    assert all(f"{n}. {q.text}" in message for n, q in enumerate(questions, 1))


def test_questions_for_one_place_stand_together() -> None:
    questions, message = ask({}, max_questions=9)
    places = [q.where for q in questions]
    assert len(dict.fromkeys(places)) == sum(a != b for a, b in zip([None, *places], places, strict=False))
    assert all(message.count(place) == 1 for place in set(places))


def test_what_was_asked_is_not_asked_again() -> None:
    first, _ = ask(ORIGINAL)
    asked = frozenset(f for q in first for f in q.features)
    again, _ = ask(ORIGINAL, asked=asked)
    assert not asked & {f for q in again for f in q.features}


def test_what_is_said_or_denied_is_not_asked() -> None:
    questions, _ = ask({f: Standing("stated") for f in AUDITED})
    assert questions == ()
    questions, message = ask({f: Standing("denied") for f in AUDITED})
    assert (questions, message) == ((), "")


def test_open_wording_does_not_name_what_is_hoped_for() -> None:
    decides = {"deadwax.plant_mark": "a small wheel"}
    _, message = ask(ORIGINAL, decides=decides, marks=decides)
    assert "wheel" not in message
    assert "first pressing" not in message
    _, pointed = ask(ORIGINAL, decides=decides, marks=decides, pointed=True)
    assert "a small wheel" in pointed


def test_contradictions_are_quoted_back() -> None:
    claims = (
        Claim(feature="jacket.cut_mark", polarity="absent", quote="no cut-outs", start=0, end=11),
        Claim(feature="jacket.cut_mark", quote="a notch at the opening", start=20, end=42),
    )
    questions, _ = ask({"jacket.cut_mark": Standing("conflicting", (0, 1))}, claims)
    assert questions[0].features == ("jacket.cut_mark",)
    assert "no cut-outs" in questions[0].text
    assert "a notch at the opening" in questions[0].text


def test_dates_that_do_not_fit_are_asked_about_first() -> None:
    clash = Conflict(
        kind="age",
        between=(Span(start=0, end=4, quote="1958"), Span(start=9, end=20, quote="barcode on back")),
        why="…",
    )
    questions, _ = ask(ORIGINAL, conflicts=(clash,))
    assert "edition.reissue" in questions[0].features
    assert "1958" in questions[0].text
    assert "barcode on back" in questions[0].text


def test_braces_in_the_sellers_words_are_only_words() -> None:
    claims = (Claim(feature="deadwax.plant_mark", certainty="hedged", quote="a {mark} of sorts {0}", start=0, end=9),)
    questions, _ = ask({**ORIGINAL, "deadwax.plant_mark": Standing("hedged", (0,))}, claims)
    assert "a {mark} of sorts {0}" in questions[0].text


def test_a_short_message_keeps_the_first_questions() -> None:
    full, message = ask(ORIGINAL)
    short, cut = ask(ORIGINAL, max_chars=len(message) - 1)
    assert short == full[: len(short)]
    assert len(short) < len(full)
    assert len(cut) < len(message)


def test_too_short_says_what_is_needed() -> None:
    with pytest.raises(TooShort) as error:
        ask(ORIGINAL, max_chars=20)
    fits, message = ask(ORIGINAL, max_chars=error.value.needs)
    assert len(fits) == 1
    assert len(message) == error.value.needs


@given(
    st.dictionaries(st.sampled_from(AUDITED), st.sampled_from(STATES)),
    st.sampled_from(languages(LEXICON)),
    st.booleans(),
    st.integers(0, 12),
)
def test_any_states_give_whole_questions(states: dict[str, str], language: str, pointed: bool, most: int) -> None:
    standing = {f: Standing(s) for f, s in states.items()}  # type: ignore[arg-type]
    questions, message = ask(standing, language=language, pointed=pointed, max_questions=most)
    assert len(questions) <= most
    assert (questions, message) == ask(standing, language=language, pointed=pointed, max_questions=most)
    features = [f for q in questions for f in q.features]
    assert len(features) == len(set(features))
    assert 1 <= max((len(q.features) for q in questions), default=1) <= 3
    assert "{" not in message
    assert "''" not in message
    assert "「」" not in message


def test_an_unknown_language_falls_back_to_english() -> None:
    assert ask(ORIGINAL, language="xx") == ask(ORIGINAL, language="en")


@pytest.mark.parametrize("language", [x for x in languages(LEXICON) if x != "en"])
def test_every_language_asks_the_same(language: str) -> None:
    def shape(lang: str) -> list[tuple[object, ...]]:
        return [
            (t.id.partition(".")[2], t.features, t.when, t.zone, sorted(p for p in PLACES if p in t.text))
            for t in LEXICON.questions(lang)
        ]

    assert shape(language) == shape("en")
    assert set(LEXICON.letter(language).zones) == set(LEXICON.letter("en").zones)  # type: ignore[union-attr]


PLACES = ("{quote}", "{quote2}", "{quote3}", "{quote4}", "{mark}")


@pytest.mark.parametrize("feature", AUDITED)
def test_every_feature_can_be_asked_for(feature: str) -> None:
    assert any(t.features == (feature,) and t.when == "open" for t in LEXICON.questions("en"))


# Words a seller who knows nothing would have to look up. Common practice, no source.
JARGON = ("matrix", "stamper", "mother", "deadwax", "dead wax", "run-out", "runout", "deep groove", "plant")


def test_open_english_questions_need_no_knowledge() -> None:
    for template in LEXICON.questions("en"):
        assert not [w for w in JARGON if w in template.text.lower()], template.id
        assert len(template.text) <= 260, template.id


def test_first_five_questions_cover_what_annotators_would_ask() -> None:
    """Given the annotators' own reading of a listing, the questions agree with theirs (tests/corpus/README.md)."""
    hit = total = first = count = 0
    for line in CORPUS.read_text(encoding="utf-8").splitlines():
        if line.startswith("#") or not line.strip():
            continue
        row = json.loads(line)
        if "must_ask" not in row or "coverage" not in row:
            continue
        claims = tuple(
            Claim(
                feature=c["feature"],
                polarity=c["polarity"],
                certainty=c["certainty"],
                value=c.get("value"),
                quote=c["quote"],
                start=0,
                end=0,
                item=c.get("item"),
            )
            for c in row["claims"]
        )
        standing = {
            f: Standing(s, tuple(i for i, c in enumerate(claims) if c.feature == f)) for f, s in row["coverage"].items()
        }
        questions, _ = ask(standing, claims)
        asked = {f for q in questions for f in q.features}
        hit += sum(f in asked for f in row["must_ask"])
        total += len(row["must_ask"])
        first += bool(questions) and row["must_ask"][0] in questions[0].features
        count += 1
    assert count >= 80
    assert hit / total >= 0.85
    assert first / count >= 0.7


def test_a_seller_of_a_sealed_copy_is_asked_only_what_can_be_seen_from_outside() -> None:
    from sayso import audit_text

    text = "Marrow Quintet - Harbour Dues, original 1964, still sealed\n\nFactory sealed, never opened."
    asked = {f for q in audit_text(text).questions for f in q.features}
    assert "jacket.barcode" in asked
    assert not any(f.startswith(("deadwax.", "label.", "inner.")) for f in asked)
    message = audit_text(text).message
    assert "photos of the wrap" in message
    assert "label" not in message


def test_somebody_who_said_something_is_not_asked_as_if_he_had_said_nothing() -> None:
    own = audit_text(
        "Old LP\n\nI think the label has a deep groove. I would call the record VG+ but I am no grader.", LEXICON
    )
    texts = {f: q.text for q in own.questions for f in q.features}
    assert texts["condition.vinyl_grade"].startswith("You write 'VG+'.")
    assert "How would you grade" not in texts["condition.vinyl_grade"]
    if "label.deep_groove" in texts:
        assert texts["label.deep_groove"].startswith("You write 'deep groove'.")
