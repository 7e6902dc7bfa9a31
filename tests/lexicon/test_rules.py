"""Rules that the language files of the lexicon keep, beyond what their schema can say."""

from __future__ import annotations

from collections import defaultdict

import pytest

from sayso.claims.spelling import bare, compounds_of
from sayso.lexicon import load_lexicon

LANGUAGES = ("de", "fr", "nl", "it", "es", "ja")
LEXICON = load_lexicon(user=False)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_word_for_a_colour_means_one_colour(language: str) -> None:
    meanings: dict[str, set[str]] = defaultdict(set)
    for row in LEXICON.tongue(language)[2]:
        if row.kind == "colour":
            for form in row.forms:
                meanings[form].add(row.value or "")
    assert {form: colours for form, colours in meanings.items() if len(colours) > 1} == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_words_that_keep_their_accents_have_some(language: str) -> None:
    kept = {f for row in LEXICON.tongue(language)[2] if row.kind == "kept_accents" for f in row.forms}
    assert {word for word in kept if bare(word) == word} == set()


@pytest.mark.parametrize("language", ["de", "nl"])
def test_a_compound_is_cut_before_its_longest_last_part(language: str) -> None:
    compounds = compounds_of(LEXICON.tongue(language)[2])
    assert compounds.heads
    assert [len(h) for h in compounds.heads] == sorted((len(h) for h in compounds.heads), reverse=True)
    for head in compounds.heads:
        cut = compounds.cut(f"zzz{head}", (frozenset({"zzz"}),))
        assert cut is not None
        assert f"zzz{head}"[cut[0] :] in compounds.heads


def test_languages_stay_apart() -> None:
    """A row in one language's file says that language, so that it is read there alone."""
    wrong = {
        (language, row.lang)
        for language in LANGUAGES
        for rows in LEXICON.tongue(language)
        for row in rows
        if row.lang != language
    }
    assert wrong == set()
