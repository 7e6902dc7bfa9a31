"""What must not grow with the number of rows. Every listing is invented."""

from __future__ import annotations

from sayso.review.partition import audit_partition
from sayso.review.rows import Raw, Settings


def rows(first: int, count: int) -> list[Raw]:
    words = "Original pressing no. {n}, word{n}ish and Qux{n}. Disc VG+, sleeve VG, lot {n}."
    return [
        Raw("w", n, record={"title": f"Wanda Pell - Song{n} LP", "text": words.format(n=n * 7919)})
        for n in range(first, first + count)
    ]


def test_words_never_seen_before_do_not_stay_in_the_vocabulary() -> None:
    from sayso.claims.tokens import pipeline

    audit_partition(rows(0, 3), Settings())
    before = len(pipeline().vocab), len(pipeline().vocab.strings)
    audit_partition(rows(3, 40), Settings())
    assert (len(pipeline().vocab), len(pipeline().vocab.strings)) == before


def test_the_process_from_which_workers_are_forked_can_load_everything() -> None:
    from sayso.review.warm import warm  # what is amiss in it is not told when it is imported

    warm()
