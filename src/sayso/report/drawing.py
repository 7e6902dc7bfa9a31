"""The record drawn to scale, with what is said and unsaid of each part: one inline SVG whose unit is the millimetre.

Diameters come from the published tables in lexicon/systems/ (`disc_dimensions`); the blank ring is that of a side of
`MINUTES` minutes, because a side filled to the limit is the rare case. A part that nobody speaks of is hatched: the
eye goes where the seller is silent. Pattern and words carry the meaning, never colour alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING, Literal

from sayso.lexicon.geometry import METRIC, music_end
from sayso.report.html_build import Html, el, join
from sayso.report.words import Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit, Finding

MINUTES, LINES_PER_INCH = 18, 225
"""The worked example of a usual long-playing side (fact geom-ring-18min: music ends at about 156.6 mm)."""
Standing = Literal["said", "partly", "silent", "clash"]
PARTS = ("jacket", "inner", "edge", "playing surface", "dead wax", "label")
"""The parts in the order in which they are numbered: from the outside in."""
PAIR = 26
"""How far the inner sleeve and the disc are drawn out of the jacket, as a share of their size in per cent."""


@dataclass(frozen=True)
class Part:
    """One part of the record: its number in the drawing, what was said of it, and how it stands as a whole."""

    zone: str
    number: int
    standing: Standing
    words: str
    """What is written on the part: the seller's own words, or that there are none."""


def standing(findings: Sequence[Finding]) -> Standing:
    """How a part stands: `silent` where nothing that matters is said of it, `partly` where some of it is.

    A sign the seller leaves to pictures or does not know is not said.
    """
    weighty = [f for f in findings if f.need in ("decisive", "supporting")] or list(findings)
    if any(f.state == "conflicting" for f in findings):
        return "clash"
    said = [f for f in findings if f.state in ("stated", "denied", "hedged")]
    if not said:
        return "silent"
    return "said" if all(f in said for f in weighty) else "partly"


def parts(audit: Audit, say: Words) -> list[Part]:
    """The parts of the record in the order of their numbers."""
    groups = dict(say.by_zone(audit.findings))
    out = []
    for number, zone in enumerate(PARTS, 1):
        findings = groups.get(zone, [])
        how = standing(findings)
        quotes = [
            " ".join(audit.claims[i].quote.split())
            for f in findings
            if f.state in ("stated", "denied", "hedged", "conflicting")
            for i in f.claims
            if i < len(audit.claims)
        ]
        words = " · ".join(dict.fromkeys(q[:28] for q in quotes)) if quotes else say.state("silent")
        out.append(Part(zone, number, how, words))
    return out


def _size(audit: Audit, lexicon: Lexicon) -> str:
    sizes = lexicon.tables[METRIC].entries
    for claim in audit.claims:
        if claim.feature == "format.size" and claim.polarity == "present" and claim.value is not None:
            size = str(claim.value).rstrip('"').split(".")[0]
            if size in sizes:
                return size
    return "12"


def draw(audit: Audit, lexicon: Lexicon, *, key: str = "r") -> Html:
    """The drawing. `key` begins every id in it, so that several drawings can stand on one page."""
    say = Words(lexicon)
    size = _size(audit, lexicon)
    disc = lexicon.tables[METRIC].entries[size]
    stock = lexicon.tables["drawn_dimensions"].entries[size]
    end = disc["music_to"]
    if size == "12":
        end = max(end, music_end(MINUTES, LINES_PER_INCH, disc["music_from"]))
    jacket, inner, across = stock["jacket"], stock["inner"], disc["outside"]
    margin = 6.0
    step = across * PAIR / 100
    high = jacket + 2 * margin
    top = (high - inner) / 2
    cx, cy = margin + 2 * step + across / 2, high / 2
    wide = cx + across / 2 + 40
    by_zone = {p.zone: p for p in parts(audit, say)}
    names = [f"{p.number} {say.zone(p.zone)}: {say.say(f'html.standing.{p.standing}')}" for p in by_zone.values()]
    unit = across / 301  # writing keeps its size on the page for smaller discs

    def ring(zone: str, outer: float, hole: float) -> Html:
        part = by_zone[zone]
        way = f"{_circle(cx, cy, outer / 2)} {_circle(cx, cy, hole / 2)}"
        return join(
            el("path", d=way, fill_rule="evenodd", class_=f"part base {_slug(zone)}"),
            el("path", d=way, fill_rule="evenodd", class_="part over", fill=_fill(part, key)),
        )

    def sheet(zone: str, x: float, y: float, side: float) -> Html:
        part = by_zone[zone]
        return join(
            el("rect", x=_n(x), y=_n(y), width=_n(side), height=_n(side), rx=1.5, class_=f"part base {_slug(zone)}"),
            el(
                "rect",
                x=_n(x),
                y=_n(y),
                width=_n(side),
                height=_n(side),
                rx=1.5,
                class_="part over",
                fill=_fill(part, key),
            ),
        )

    def number(zone: str, x: float, y: float) -> Html:
        part = by_zone[zone]
        return el(
            "g",
            el("circle", cx=_n(x), cy=_n(y), r=_n(9.5 * unit), class_=f"tag {part.standing}"),
            el("text", part.number, x=_n(x), y=_n(y + 4.6 * unit), class_="tag-n", font_size=_n(13 * unit)),
        )

    grooves = [
        el("circle", cx=_n(cx), cy=_n(cy), r=_n(r), class_="groove")
        for r in (end / 2 + (disc["music_from"] - end) / 2 * k / 6 for k in range(1, 6))
    ]
    closing = el("circle", cx=_n(cx), cy=_n(cy), r=_n(disc["closing_groove"] / 2), class_="groove closing")
    pressed = next((f.state for f in audit.findings if f.feature == "label.deep_groove"), "silent")
    deep = (
        el("circle", cx=_n(cx), cy=_n(cy), r=_n(stock["pressed_ring"] / 2), class_=f"pressed {pressed}")
        if size == "12" and pressed in ("stated", "hedged")
        else None
    )
    on_ring = (end + disc["closing_groove"]) / 4
    middle = (disc["music_from"] + end) / 4
    runout, music, label = by_zone["dead wax"], by_zone["playing surface"], by_zone["label"]
    big = 13 * unit
    return el(
        "svg",
        el("title", say.say("html.drawing"), id=f"{key}-t"),
        el("desc", ". ".join(names) + ".", id=f"{key}-d"),
        el(
            "defs",
            _patterns(key),
            _arc(f"{key}-ring", cx, cy, on_ring + big * 0.36),
            _arc(f"{key}-mid", cx, cy, middle),
        ),
        sheet("jacket", margin, margin, jacket),
        sheet("inner", margin + step, top, inner),
        _upright(by_zone["jacket"], margin + step * 0.64, cy, big),
        _upright(by_zone["inner"], margin + step * 1.55, cy, big),
        ring("edge", across, disc["music_from"]),
        ring("playing surface", disc["music_from"], end),
        *grooves,
        ring("dead wax", end, disc["label"]),
        closing,
        ring("label", disc["label"], stock["hole"]),
        deep,
        el("circle", cx=_n(cx), cy=_n(cy), r=_n(stock["hole"] / 2), class_="hole"),
        _along(f"{key}-ring", runout, 2 * pi * on_ring, big),
        _along(f"{key}-mid", music, 2 * pi * middle * 0.42, big),
        _lines(label, cx, cy + disc["label"] * 0.2, disc["label"] * 0.8, 10.5 * unit),
        number("jacket", margin + step * 0.3, margin + 18 * unit),
        number("inner", margin + step * 1.25, top + 18 * unit),
        _leader(by_zone["edge"], cx, cy, across / 2 - 2 * unit, wide - 12 * unit, unit),
        number("edge", wide - 12 * unit, cy - across * 0.36),
        number("playing surface", cx, cy - middle - 22 * unit),
        number("dead wax", cx, cy - on_ring - 0.5 * unit),
        number("label", cx, cy - disc["label"] * 0.28),
        viewBox=f"0 0 {_n(wide)} {_n(high)}",
        class_="record",
        role="img",
        aria_labelledby=f"{key}-t {key}-d",
    )


def _n(x: float) -> str:
    return f"{x:.2f}".rstrip("0").rstrip(".")


def _slug(zone: str) -> str:
    return zone.replace(" ", "-")


def _fill(part: Part, key: str) -> str:
    return {"said": "none", "partly": f"url(#{key}-dots)", "silent": f"url(#{key}-hatch)", "clash": f"url(#{key}-net)"}[
        part.standing
    ]


def _patterns(key: str) -> Html:
    """Silent is hatched, partly said is dotted, contradictory is crossed; said is plain."""

    def tile(name: str, side: float, *marks: Html, turn: int = 0) -> Html:
        return el(
            "pattern",
            *marks,
            id=f"{key}-{name}",
            width=side,
            height=side,
            patternUnits="userSpaceOnUse",
            patternTransform=f"rotate({turn})" if turn else None,
        )

    bar = el("path", d="M0 0V5", class_="ink")
    return join(
        tile("hatch", 5, bar, turn=45),
        tile("dots", 6, el("circle", cx=1.5, cy=1.5, r=0.9, class_="dot")),
        tile("net", 5, bar, el("path", d="M0 0H5", class_="ink"), turn=45),
    )


def _circle(cx: float, cy: float, r: float) -> str:
    return f"M{_n(cx - r)} {_n(cy)}a{_n(r)} {_n(r)} 0 1 0 {_n(2 * r)} 0a{_n(r)} {_n(r)} 0 1 0 {_n(-2 * r)} 0Z"


def _arc(name: str, cx: float, cy: float, r: float) -> Html:
    """A whole turn to write along, from the left over the bottom, so that words stand upright in the lower half."""
    way = f"M{_n(cx - r)} {_n(cy)}A{_n(r)} {_n(r)} 0 0 0 {_n(cx + r)} {_n(cy)}"
    return el("path", id=name, d=way)


def _cut(words: str, room: float, size: float) -> str:
    """As many words as fit: half the size is the usual width of a letter."""
    fits = max(6, int(room / (size * 0.52)))
    return words if len(words) <= fits else words[: fits - 1].rstrip(" ·") + "…"


def _along(path: str, part: Part, length: float, size: float) -> Html:
    room = length / 2 * 0.94
    return el(
        "text",
        el("textPath", _cut(part.words, room, size), href=f"#{path}", startOffset="50%"),
        class_=f"writing {_slug(part.zone)} {part.standing}",
        font_size=_n(size),
    )


def _upright(part: Part, x: float, cy: float, size: float) -> Html:
    return el(
        "text",
        _cut(part.words, 230 * size / 13, size),
        x=_n(x),
        y=_n(cy),
        transform=f"rotate(-90 {_n(x)} {_n(cy)})",
        class_=f"writing {_slug(part.zone)} {part.standing}",
        font_size=_n(size),
    )


def _lines(part: Part, cx: float, y: float, room: float, size: float) -> Html:
    """At most two lines on the paper label."""
    lines: list[str] = []
    for word in part.words.split():
        if lines and len(lines[-1]) + len(word) + 1 <= room / (size * 0.52):
            lines[-1] += " " + word
        elif len(lines) < 2:
            lines.append(word)
        else:
            lines[-1] = lines[-1].rstrip(" ·…") + "…"
            break
    return el(
        "text",
        *(
            el("tspan", _cut(line, room * (1 - 0.14 * n), size), x=_n(cx), y=_n(y + n * size * 1.2))
            for n, line in enumerate(lines)
        ),
        class_=f"writing label {part.standing}",
        font_size=_n(size),
    )


def _leader(part: Part, cx: float, cy: float, r: float, x: float, unit: float) -> Html:
    turn = -pi * 0.235
    return el(
        "path",
        d=f"M{_n(cx + r * cos(turn))} {_n(cy + r * sin(turn))}L{_n(x - 9 * unit)} {_n(cy - r * 2 * 0.36 - 1)}",
        class_="leader",
    )
