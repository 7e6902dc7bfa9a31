"""The claims of one listing while they are gathered: in the order in which they were made, and by their place.

A pasted catalogue holds thousands of claims. What asks for those near a place, takes one back or amends it must not
look at all of them each time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from sayso.model import Claim

_STRETCH = 256
"""Characters of a stretch of the text by which claims are found again."""


class Held:
    """Claims, each under a number that it keeps when it is amended."""

    __slots__ = ("_claims", "_next", "_numbers", "_places")

    def __init__(self) -> None:
        self._claims: dict[int, Claim] = {}
        self._numbers: dict[int, int] = {}
        """The identity of a claim → its number."""
        self._places: dict[int, list[int]] = {}
        """Stretches of the text → the numbers of the claims that touch them."""
        self._next = 0

    def __iter__(self) -> Iterator[Claim]:
        """As they stand now: what is added on the way is not met."""
        return iter(tuple(self._claims.values()))

    def __len__(self) -> int:
        return len(self._claims)

    def last(self, most: int) -> list[Claim]:
        """The claims made last, the newest first."""
        return list(islice(reversed(self._claims.values()), most))

    def add(self, claim: Claim) -> None:
        self._put(self._next, claim)
        self._next += 1

    def amend(self, claim: Claim, **update: Any) -> None:
        """Puts a claim with other values in the place of this one."""
        number = self._numbers[id(claim)]
        self._take(number)
        self._put(number, claim.model_copy(update=update))

    def drop(self, claims: Sequence[Claim]) -> None:
        """Takes claims back; those that are not held are passed over."""
        for claim in claims:
            number = self._numbers.get(id(claim))
            if number is not None:
                self._take(number)
                del self._claims[number]

    def touching(self, start: int, end: int) -> list[Claim]:
        """Those that share a sign with `text[start:end]`, in the order in which they were made."""
        places = range(start // _STRETCH, (end - 1) // _STRETCH + 1)
        near = {n for place in places for n in self._places.get(place, ())}
        found = [self._claims[n] for n in sorted(near)]
        return [c for c in found if c.start < end and start < c.end]

    def begun(self, start: int, end: int) -> list[Claim]:
        """Those that begin in `text[start:end]`, in the order in which they were made."""
        return [c for c in self.touching(start, end) if c.start >= start] if start < end else []

    def _put(self, number: int, claim: Claim) -> None:
        self._claims[number] = claim
        self._numbers[id(claim)] = number
        for place in _places_of(claim):
            self._places.setdefault(place, []).append(number)

    def _take(self, number: int) -> None:
        claim = self._claims[number]
        del self._numbers[id(claim)]
        for place in _places_of(claim):
            self._places[place].remove(number)


def _places_of(claim: Claim) -> range:
    return range(claim.start // _STRETCH, (claim.end - 1) // _STRETCH + 1)


__all__ = ["Held"]
