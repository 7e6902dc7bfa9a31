"""What must not grow with the number of rows. Every listing is invented."""

from __future__ import annotations

import pytest

from sayso.review.partition import audit_partition
from sayso.review.rows import Raw, Settings


def rows(first: int, count: int) -> list[Raw]:
    words = "Original pressing no. {n}, word{n}ish and Qux{n}. Disc VG+, sleeve VG, lot {n}."
    return [
        Raw("w", n, record={"title": f"Wanda Pell - Song{n} LP", "text": words.format(n=n * 7919)})
        for n in range(first, first + count)
    ]


def test_no_more_than_so_many_words_are_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    from sayso.audit.bounds import rulebook
    from sayso.claims import index
    from sayso.lexicon import load_lexicon, sieve

    monkeypatch.setattr(sieve, "KEPT", 100)
    monkeypatch.setattr(index, "KEPT", 10)
    index.index_of(load_lexicon()).cache.clear()  # what other tests of this process had it remember
    audit_partition(rows(0, 3), Settings())
    audit_partition(rows(3, 40), Settings())
    lexicon = load_lexicon()
    assert 0 < len(rulebook(lexicon).sieve._known) <= 100
    assert len(index.index_of(lexicon).cache) <= 11


def test_the_process_from_which_workers_are_forked_can_load_everything() -> None:
    from sayso.review.warm import warm  # what is amiss in it is not told when it is imported

    warm()
