"""Labels and dossiers: what is known of a label's eras, and of the pressings of one record.

One row serves both: the history of a real label (eras, addresses, number ranges) and the dossier of one record
(`parts`, `pressings`, `leftover`, `decides`). Everything but the name is optional, so that a collector can begin with
what he knows.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Any, Literal

from pydantic import Field, model_validator

from sayso.lexicon.facts import DateText, PatternText, Share, Trigger
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
    years: tuple[int, ...] = ()
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
            if e.earliest and e.latest and e.earliest > e.latest:
                raise ValueError(f"era {n} ends ({e.latest}) before it begins ({e.earliest})")
        return self

    def spoken(self) -> tuple[str, ...]:
        """The name and those it is put together from; what stands in brackets tells namesakes apart and stays."""
        plain, bracket, country = self.name.partition(" (")
        return tuple(dict.fromkeys((self.name, *(part + bracket + country for part in plain.split(" / ")))))
