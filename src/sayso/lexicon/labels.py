"""Labels and dossiers: what is known of a label's eras, and of the pressings of one record.

One row serves both: the history of a real label (eras, addresses, number ranges) and the dossier of one record
(`parts`, `pressings`, `leftover`, `decides`). Everything but the name is optional, so that a collector can begin with
what he knows.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from sayso.lexicon.facts import DateText, PatternText, Share, Trigger, in_order
from sayso.lexicon.rows import Row


def slug(*words: str | None) -> str:
    """An id from a name: lower case, letters and digits of any script joined by hyphens, accents left off.

    A name without a letter or digit keeps its signs as their code points, so that no id is ever empty.
    """
    name = " ".join(w for w in words if w)
    plain = unicodedata.normalize("NFKD", name.casefold())
    # Accents of Latin, Greek and Cyrillic letters go; the voiced marks of kana make other letters, and stay.
    plain = "".join(c for c in plain if not "\u0300" <= c <= "\u036f")
    made = re.sub(r"[\W_]+", "-", unicodedata.normalize("NFC", plain)).strip("-")
    return made or "-".join(f"u{ord(c):x}" for c in name if not c.isspace())


def _alike(one: str, two: str) -> bool:
    """Whether one of two values tells the other in fewer words."""
    a, b = one.casefold(), two.casefold()
    return a in b or b in a


class Said(Row):
    """One remark with the basis it rests on."""

    text: str
    basis: str = "published"
    source: str = ""
    """Left out: the sources of the label."""
    features: tuple[str, ...] = ()
    """The features of the record it speaks of; of a first pressing's remarks these decide what to look for."""
    number_from: str = ""
    number_to: str = ""
    """Only for catalogue numbers in this range (inclusive), either end left out."""
    channels: Literal["", "mono", "stereo"] = ""
    """Only for records of this kind."""


class Era(Row):
    """A design or address of the label while it was put on new records. Old stock and represses can fall later."""

    name: str = ""
    design: str = ""
    address: str = ""
    lines: tuple[str, ...] = ()
    """How the line with firm or street is given away in words; where the label is spoken of, it claims the address."""
    channels: str = ""
    earliest: DateText = None
    latest: DateText = None
    catalogue_from: str = ""
    catalogue_to: str = ""
    deep_groove: str = ""
    plant: str = ""
    basis: str = "published"
    memory_fields: tuple[str, ...] = ()
    sources: int | None = None
    source: str = ""
    caution: str = ""


class Numbers(Row):
    """Catalogue numbers issued in certain years; the ends are inclusive."""

    first: str
    last: str = ""
    earliest: DateText = None
    latest: DateText = None
    channels: str = ""
    basis: str = "published"
    source: str = ""
    caution: str = ""

    @model_validator(mode="after")
    def _in_order(self) -> Numbers:
        in_order(self.earliest, self.latest)
        return self


class Plant(Row):
    """A works that pressed for the label, and the mark by which it is known."""

    name: str = ""
    text: str = ""
    mark: str | None = None
    since: int | None = None
    until: int | None = None
    basis: str = "published"
    source: str = ""


class Pressing(Row):
    """A pressing this copy may be. `uses` gives for each part the shares of its variants; they add up to 1."""

    id: str
    name: str = ""
    years: tuple[Annotated[int, Field(ge=1877, le=2100)], ...] = ()
    """First and last year."""
    copies: float = Field(default=1.0, ge=0)
    uses: dict[str, dict[str, Share]] = Field(default_factory=dict)
    shows: dict[str, dict[str, Share]] = Field(default_factory=dict)
    """What copies of it show, feature by feature (follows from `uses` where that is given)."""
    note: str = ""


class Leftover(Row):
    """Old stock that was used up on a later pressing."""

    what: str
    feature: str = ""
    value: str = ""
    printed_until: int | None = None
    used_until: int | None = None
    on: str = ""
    share: Share | None = None


class Decider(Row):
    """The sign that settles which pressing it is."""

    feature: str
    value: str = ""
    pressing: str = ""


class Label(Row):
    """A label's history, or the dossier of one of its records."""

    id: str = ""
    """Left out: made from the name (and the number, for a dossier of one record)."""
    name: str = ""
    aliases: tuple[str, ...] = ()
    prefixes: tuple[str, ...] = ()
    """Letters of its catalogue numbers; they support a name, and never stand in for one."""
    mono_prefixes: tuple[str, ...] = ()
    stereo_prefixes: tuple[str, ...] = ()
    """Letters that this label put on mono or on stereo issues alone."""
    prefix_basis: str = "common practice, no source"
    unless: tuple[PatternText, ...] = ()
    """Words beside the name that show another thing is meant."""
    country: str = ""
    owners: tuple[Said, ...] = ()
    history: tuple[str, ...] = ()
    plants: tuple[Plant, ...] = ()
    first_pressing_features: tuple[Said, ...] = ()
    traps: tuple[Said, ...] = ()
    stock_reuse: Said | None = None
    era: tuple[Era, ...] = ()
    numbers: tuple[Numbers, ...] = ()
    sign: tuple[Trigger, ...] = ()
    """Dated signs that hold for this label alone."""
    basis: str = "published"
    source: str = ""
    caution: str = ""

    # --- the dossier of one record
    record: str = ""
    number: str = ""
    artist: str = ""
    title: str = ""
    parts: dict[str, dict[str, dict[str, str]]] = Field(default_factory=dict)
    """Part (label, plant, metal, jacket …) → variant → feature → what it shows. Features of one variant go together."""
    pressings: tuple[Pressing, ...] = ()
    leftover: tuple[Leftover, ...] = ()
    decides: tuple[Decider, ...] = ()
    counts_as_first: tuple[str, ...] = ()
    assume: dict[str, float | tuple[float, float, float]] = Field(default_factory=dict)
    """Assumptions that differ for this record: the value, or value, low and high."""
    worth: dict[str, float] = Field(default_factory=dict)
    """What a copy of each pressing is worth in VG+ condition; the buyer's own figure."""
    currency: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _named(cls, data: Any) -> Any:
        """`label` is another word for the name; the id follows from name and number."""
        if isinstance(data, dict):
            data = dict(data)
            data.setdefault("name", data.pop("label", "") or "")
            if not data["name"]:
                raise ValueError("a label needs a name")
            if not data.get("id"):
                data["id"] = slug(data["name"], data.get("number") or (data.get("record") and str(data["record"])))
        return data

    @model_validator(mode="after")
    def _whole(self) -> Label:
        """A dossier that contradicts itself is refused."""
        known = [p.id for p in self.pressings]
        if len(set(known)) != len(known):
            raise ValueError("two pressings have the same id")
        for p in self.pressings:
            if len(p.years) not in (0, 1, 2) or list(p.years) != sorted(p.years):
                raise ValueError(f"pressing {p.id}: years must be the first and the last year, in order")
            for part, shares in p.uses.items():
                missing = [v for v in shares if v not in self.parts.get(part, {})]
                if missing:
                    raise ValueError(f"pressing {p.id} uses {part} {missing[0]!r}, which [parts.{part}] does not have")
                if shares and abs(sum(shares.values()) - 1) > 0.02:
                    raise ValueError(f"pressing {p.id}: the shares of {part} add up to {sum(shares.values()):g}, not 1")
        for name in self.counts_as_first:
            if name not in known:
                raise ValueError(f"counts_as_first names {name!r}, which is no pressing here")
        for d in self.decides:
            if d.pressing and d.pressing not in known:
                raise ValueError(f"decides names the pressing {d.pressing!r}, which is not here")
        for n, e in enumerate(self.era, 1):
            try:
                in_order(e.earliest, e.latest)
            except ValueError as error:
                raise ValueError(f"era {n} {error}") from None
        for n, sign in enumerate(self.sign, 1):
            if sign.era is not None and not 1 <= sign.era <= len(self.era):
                raise ValueError(f"sign {n} belongs to era {sign.era}, but there are {len(self.era)} eras")
        if shared := set(self.mono_prefixes) & set(self.stereo_prefixes):
            raise ValueError(f"the prefix {min(shared)} is given for mono and for stereo; it cannot tell them apart")
        if self.pressings and not any(p.copies for p in self.pressings):
            raise ValueError("no pressing has any copies; give at least one a number above nought")
        if self.worth and min(self.worth.values()) < 0:
            raise ValueError("a worth is below nought")
        for name, told in self.assume.items():
            if isinstance(told, tuple) and not told[1] <= told[0] <= told[2]:
                raise ValueError(f"assume {name}: write value, low and high, with low <= value <= high")
        self._decided()
        return self

    def _decided(self) -> None:
        """What is said to settle the pressing must be shown by some part, and by the pressing that it is said to be."""
        for d in self.decides:
            showing = [
                (part, variant)
                for part, variants in self.parts.items()
                for variant, shows in variants.items()
                if d.feature in shows and (not d.value or _alike(shows[d.feature], d.value))
            ]
            if not showing and self.parts and d.value:
                raise ValueError(f"decides names {d.feature} = {d.value!r}, which no variant of [parts] shows")
            uses = {(part, v) for p in self.pressings if p.id == d.pressing for part, s in p.uses.items() for v in s}
            if uses and not uses & set(showing):
                raise ValueError(f"decides says that {d.feature} = {d.value!r} is {d.pressing}, which does not show it")

    def spoken(self) -> tuple[str, ...]:
        """The name and those it is put together from; what stands in brackets tells namesakes apart and stays."""
        plain, bracket, country = self.name.partition(" (")
        return tuple(dict.fromkeys((self.name, *(part + bracket + country for part in plain.split(" / ")))))
