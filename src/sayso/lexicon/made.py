"""What is made of a lexicon once: remembered with it, and kept with it from one run to the next."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial, wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

if TYPE_CHECKING:
    from sayso.lexicon.load import Lexicon

P = ParamSpec("P")
T = TypeVar("T")


def of_lexicon(make: Callable[Concatenate[Lexicon, P], T]) -> Callable[Concatenate[Lexicon, P], T]:
    """Marks a function whose result depends on the lexicon and a few names alone, is costly, and can be pickled.

    A name of two letters among the arguments is that of a language.
    """
    name = f"{make.__module__}.{make.__qualname__}"

    # The inner memory is the lexicon's own and outlasts the process; this outer one costs less to look at.
    @lru_cache(maxsize=64)
    @wraps(make)
    def get(lexicon: Lexicon, *args: P.args, **kwargs: P.kwargs) -> T:
        given = (*args, *kwargs.values())
        return lexicon.made((name, *given), partial(make, lexicon, *args, **kwargs))

    return get  # type: ignore[return-value]
