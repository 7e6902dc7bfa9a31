"""Features, the words sellers use for them, and the cues that decide how a word is meant."""

from __future__ import annotations

import re
from math import prod
from typing import Annotated, Literal

from pydantic import AfterValidator

from sayso.lexicon.rows import Row
from sayso.model import Carrier, Polarity

_CHOICE = re.compile(r"\{([^{}]*)\}")
LONGEST = 2000
"""Characters of one form, its choices included."""
MOST = 20_000
"""So many forms may one stand for: more would fill the memory."""


def spelt_out(forms: tuple[str, ...]) -> tuple[str, ...]:
    """Each form that leaves a choice ('{small |}{tear|rip}') as all the forms it stands for; a choice may be empty."""
    for form in forms:
        if len(form) > LONGEST:
            raise ValueError(f"a form of {len(form)} characters is too long; at most {LONGEST}")
        if prod(m.group(1).count("|") + 1 for m in _CHOICE.finditer(form)) > MOST:
            raise ValueError(f"{form[:60]!r} … stands for more than {MOST} forms; write fewer choices")
    if not any("{" in form for form in forms):
        return forms
    out: dict[str, None] = {}
    for form in forms:
        heads = [""]
        at = 0
        for m in _CHOICE.finditer(form):
            heads = [head + form[at : m.start()] + choice for head in heads for choice in m.group(1).split("|")]
            at = m.end()
        out.update((" ".join((head + form[at:]).split()), None) for head in heads)
    return tuple(out)


Forms = Annotated[tuple[str, ...], AfterValidator(spelt_out)]
"""Ways of writing, in which braces may hold choices."""


class Feature(Row):
    """One of the audited features: what it is, what carries it, how a layman finds it."""

    id: str
    name: str
    """In a buyer's words, fit to stand in a sentence ('the pressing plant's mark')."""
    what: str
    carrier: Carrier
    zone: Literal["label", "dead wax", "edge", "jacket", "inner", "playing surface", "words"]
    """The part of the record where one looks."""
    proves: str
    find: str
    """How somebody who knows nothing finds it."""
    audited: bool = True
    reads: bool = False
    """It is what it reads that counts: a bare mention settles nothing."""
    always: bool = False
    """Every record has it, so that silence about it tells nothing of what is there."""
    some: bool = False
    """Whether only some labels bear it, so that silence on it tells something only where this label is known to."""
    single: bool = False
    """A copy has one value of it, so that two firm ones contradict each other."""
    against: tuple[str, ...] = ()
    """Features that cannot both be firmly claimed of one copy."""
    findable: bool = False
    """One looks for it and finds it or not, so that 'it is there' and 'no sign of it' can stand for it."""
    apart_from: tuple[str, ...] = ()
    """Classes of words in whose clause nothing is said of it ('postage in the UK' is no country of pressing)."""
    manner: bool = False
    """The value of a denial says how it is lacking ('visual only'), so any firm claim contradicts it."""


class Term(Row):
    """Words that speak of a feature.

    `forms` are matched as whole tokens, case folded unless `exact`. `value` is the value claimed; where it is null the
    form only names the feature. `polarity` is what the bare term says before any cue is heard. `needs` names contexts
    (carriers or word classes) one of which must stand in the same clause, line key or question; `after`/`before` are
    words directly following/preceding which cancel the term (`not_...`) or are required (`only_...`).
    """

    feature: str
    forms: Forms
    value: str | int | None = None
    polarity: Polarity = "present"
    exact: bool = False
    lang: str = "en"
    kind: str = "plain"
    needs: tuple[str, ...] = ()
    not_after: tuple[str, ...] = ()
    not_before: tuple[str, ...] = ()
    only_after: tuple[str, ...] = ()
    only_before: tuple[str, ...] = ()
    apart_from: tuple[str, ...] = ()
    """Classes of words in whose sentence the term means something else ('sent in stiff card')."""
    also: tuple[str, ...] = ()
    """Further features of which the same words say the same ('spine worn' is of the spine and a defect)."""
    fuzzy: bool = False
    """May be recognised when misspelt (rapidfuzz, bounded so that no term turns into another)."""
    said: bool = False
    """The value claimed is what the seller wrote, since the trade has no closed list for it; `value` is its class."""
    note: str = ""
    yes: tuple[str, ...] = ()
    """Examples in which the term must make a claim of this feature; run as tests."""
    no: tuple[str, ...] = ()
    """Examples in which it must not."""


class Cue(Row):
    """Words that decide how others are meant (NegEx/ConText: trigger, pseudo-trigger, terminator; direction)."""

    id: str
    kind: str
    forms: Forms
    direction: Literal["forward", "backward", "both", "none"] = "forward"
    lang: str = "en"
    certainty: Literal["", "certain", "hedged", "unknown"] = ""
    reach: int | None = None
    """At most this many tokens; null: to the end of the scope."""
    exact: bool = False
    verb: bool = False
    """A verb that denies its subject however far it stands ('fehlt', 'ontbreekt'); no bare particle."""
    alone: bool = False
    """Counts only where nothing of the clause follows it ('first press it is not.')."""
    lists: bool = False
    """It reaches through a list that an 'and' closes ('free of scratches, stains and tape')."""
    shared: bool = False
    """It holds too for what is named in the same breath and is of the same group ('original first pressing?')."""
    note: str = ""
    yes: tuple[str, ...] = ()
    no: tuple[str, ...] = ()


class Word(Row):
    """A class of words with one use in the grammar of listings (colours, parts of a record, pictures, units)."""

    id: str
    kind: str
    forms: Forms
    value: str | None = None
    lang: str = "en"
    note: str = ""


class WordClass(Row):
    """Words of like meaning, from which shapes are put together. A language file adds its own words to a class."""

    id: str
    name: str
    """The class that these words belong to; several rows may add to one."""
    value: str | None = None
    """What these words of the class mean, where a shape takes its value from them ('UK')."""
    forms: Forms
    lang: str = "en"


class Shape(Row):
    """Words of several classes near each other in one sentence that together speak of a feature.

    'A ridge is pressed into the paper', 'the label has a circular dent': no list holds all the ways of saying it, but
    {ring} and {label} are in each of them. A shape counts only where no term of the feature stands in the same words.
    """

    id: str
    feature: str
    parts: tuple[str, ...]
    """What must be there, the rarest first: the name of a class, or several with '|', or `part=label`: a word for that
    part of the record."""
    value: str | int | None = None
    polarity: Polarity = "present"
    said: bool = False
    """The value claimed is what the seller wrote."""
    value_of: str = ""
    """The class whose words say the value."""
    within: int = 8
    """At most this many words and signs from the first part to the last, both counted."""
    ordered: bool = False
    """The parts must follow one another as they are listed."""
    commas: bool = False
    """A comma may stand between the parts."""
    prevails: bool = False
    """It counts before a term of the feature inside its words ('made in France' before 'France')."""
    unless: tuple[str, ...] = ()
    """Classes of which none may stand between the parts or beside them."""
    needs: tuple[str, ...] = ()
    """As for terms."""
    apart_from: tuple[str, ...] = ()
    """As for terms."""
    also: tuple[str, ...] = ()
    kind: str = "plain"
    note: str = ""
    yes: tuple[str, ...]
    """Examples in which the shape must make a claim of this feature; run as tests."""
    no: tuple[str, ...]
    """Examples in which it must not."""


class Manner(Row):
    """Words of several classes near each other that together are a cue, as a shape is a term.

    'I could not honestly tell you', 'can't say for sure', 'hard to judge': a word that says one cannot and a word for
    telling are in each of them, and no list holds what may stand between.
    """

    id: str
    kind: str
    """As of a cue, or 'proform' for what stands in for a thing named before; `value` then says how it is with it."""
    parts: tuple[str, ...]
    """As of a shape; the first one opens the cue."""
    value: str | None = None
    alone: bool = False
    """Counts only where nothing of the clause follows it."""
    direction: Literal["forward", "backward", "both", "none"] = "forward"
    certainty: Literal["", "certain", "hedged", "unknown"] = ""
    reach: int | None = None
    within: int = 6
    """At most this many words from the first part to the last, both counted; no sign may stand between."""
    ordered: bool = True
    unless: tuple[str, ...] = ()
    """Classes of which none may stand between the parts or beside them."""
    note: str = ""
    yes: tuple[str, ...]
    """Examples in which it must be heard; run as tests."""
    no: tuple[str, ...]
    """Examples in which it must not."""
