"""What a buyer needs to know, by what is claimed; and the sentences the program speaks in."""

from __future__ import annotations

from pydantic import field_validator

from sayso.lexicon.places import places
from sayso.lexicon.rows import Row
from sayso.model import Need as Level


class Profile(Row):
    """A kind of offer, such as 'sold as an original'.

    It applies where one of the tests in `when` holds (always, where there is none) and none of those in `unless`. A
    test is `feature=state|state` (the state of a finding), `feature~text` (a claimed value holding the text, case
    folded), `feature>=number` (all claimed values begin with so high a number) or a bare word of the program's own:
    `lot` (several records in one offer). Profiles are read in file order;
    needs of a later one replace those of an earlier one, feature by feature.
    """

    id: str
    name: str
    """Fits after 'This reads as'."""
    when: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    speaks: int = 0
    """Of the profiles that fit, the one with the highest number gives the answer its words (`answer.ID.…`)."""


class Need(Row):
    """What one feature is worth knowing under one profile.

    `ask` (0 to 100) is how soon to ask for it; `why` is one plain sentence for the buyer.
    """

    profile: str
    feature: str
    need: Level
    ask: int = 0
    clash: int = 0
    """How much sooner to ask where the listing contradicts itself on it."""
    hidden: bool = False
    """Nobody can look at it on such a copy: it is not asked for, even where it would settle the pressing."""
    why: str


class Openness(Row):
    """How much of `ask` remains when a feature stands in a given state. `bare` is stated without its value."""

    id: str
    factor: float
    plus: int = 0
    why: str = ""


class Phrase(Row):
    """A sentence or word shown to the user, with {places} to fill."""

    id: str
    text: str

    @field_validator("text")
    @classmethod
    def _plain(cls, value: str) -> str:
        places(value)
        return value
