"""The record drawn to scale, with what is said and unsaid of each part: one inline SVG whose unit is the millimetre.

Diameters come from the published tables in lexicon/systems/ (`disc_dimensions`); the blank ring is that of a side of
`MINUTES` minutes, because a side filled to the limit is the rare case. A part that nobody speaks of is hatched: the
eye goes where the seller is silent. Pattern and words carry the meaning, never colour alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING, Literal
from unicodedata import east_asian_width

from sayso.lexicon.geometry import METRIC, music_end
from sayso.report.fault_places import fault_place
from sayso.report.html_build import Html, el, join
from sayso.report.words import ZONES, Words

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Audit, Claim, Finding

MINUTES, LINES_PER_INCH = 18, 225
"""The worked example of a usual long-playing side (fact geom-ring-18min: music ends at about 156.6 mm)."""
Standing = Literal["said", "partly", "silent", "clash"]
PARTS = tuple(zone for zone in ZONES if zone != "words")
"""The parts in the order in which they are numbered and listed: what proves most comes first."""
JUT = 0.4
"""How far the inner sleeve and the disc are drawn out of each other, as a share of the disc's diameter."""
WEIGHTY = ("decisive", "supporting")
VINYL = frozenset({"dead wax", "playing surface", "edge"})
RIM = 0.95
"""Where the rim is pointed at, as an angle in radians from three o'clock upwards."""
FAULTS, FAULTS_STAND_AT = "condition.defects", "playing surface"
"""The one feature that is of several parts, and the part of those faults whose words name none."""
QUOTED = 48
"""Characters of one quotation in the drawing; the list beside it has it whole."""
BETWEEN, TIED = " · ", "\N{NO-BREAK SPACE}"
SMALLER = 0.86
"""How much smaller writing along a ring may become before it is cut."""


@dataclass(frozen=True)
class Part:
    """One part of the record: its number in the drawing, what was said of it, and how it stands as a whole."""

    zone: str
    number: int
    standing: Standing
    quotes: tuple[str, ...]
    """What is written on the part: the seller's own words, or that there are none."""
    missing: tuple[str, ...] = ()
    """What counts and is not mentioned, where other things are said of the part."""

    sealed: bool = False
    """Nobody can look there while the copy is sealed, so nothing is left unsaid either."""

    def how(self, say: Words) -> str:
        """How it stands, in plain words."""
        hidden = self.sealed and self.standing == "silent"
        return say.say("html.sealed" if hidden else f"html.standing.{self.standing}")

    @property
    def words(self) -> str:
        """All of it on one line."""
        return BETWEEN.join(self.quotes)


def standing(findings: Sequence[Finding]) -> Standing:
    """How a part stands: `silent` where nothing that matters is said of it, `partly` where some of it is.

    A sign the seller leaves to pictures or does not know is not said.
    """
    weighty = [f for f in findings if f.need in WEIGHTY] or list(findings)
    if any(f.state == "conflicting" for f in findings):
        return "clash"
    said = [f for f in findings if f.state in ("stated", "denied", "hedged")]
    if not said:
        return "silent"
    return "said" if all(f in said for f in weighty) else "partly"


def parts(audit: Audit, say: Words) -> list[Part]:
    """The parts of the record in the order of their numbers."""
    groups = dict(say.by_zone(audit.findings))
    faults = faults_by_place(audit, say)
    closed = any(
        c.feature == "condition.vinyl_grade" and c.value == "sealed" and c.polarity == "present" for c in audit.claims
    )
    out = []
    for number, zone in enumerate(PARTS, 1):
        findings = groups.get(zone, [])
        how = standing(findings)
        quotes = [
            _as_said(audit.claims[i], say)
            for f in findings
            if f.state in ("stated", "denied", "hedged", "conflicting")
            for i in f.claims
            if i < len(audit.claims) and (f.feature != FAULTS or i in faults.get(zone, ()))
        ]
        if faults.get(zone) and zone != FAULTS_STAND_AT:
            quotes += [_as_said(audit.claims[i], say) for i in faults[zone]]
            how = "partly" if how == "silent" else how
        shown = tuple({q.casefold(): q for q in map(_short, reversed(quotes))}.values())[::-1]
        unsaid = [f for f in findings if f.state == "silent" and f.need in WEIGHTY]
        unsaid.sort(key=lambda f: WEIGHTY.index(f.need))
        missing = tuple(say.feature(f.feature) for f in unsaid) if shown else ()
        sealed = closed and zone != "jacket"
        unsaid_words = say.say("html.sealed" if sealed else "state.silent")
        out.append(Part(zone, number, how, shown or (unsaid_words,), missing, sealed))
    return out


def faults_by_place(audit: Audit, say: Words) -> dict[str, list[int]]:
    """The claims of faults by the part of the record that has them: a split seam is none of the disc's."""
    out: dict[str, list[int]] = {}
    for finding in audit.findings:
        for i in finding.claims if finding.feature == FAULTS else ():
            if i < len(audit.claims):
                place = fault_place(audit.claims[i], audit.listing.text, say.lexicon) or FAULTS_STAND_AT
                out.setdefault(place, []).append(i)
    return out


def _as_said(claim: Claim, say: Words) -> str:
    """The quotation; where the 'no' stands outside it, with a word for that, so that nothing denied looks promised."""
    quote = " ".join(claim.quote.split())
    outside = any(c.kind == "negation" and not claim.start <= c.start < claim.end for c in claim.cues)
    return say.say("html.drawn_absent", quote=quote) if claim.polarity == "absent" and outside else quote


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
    unit = across / 301  # writing keeps its size on the page for smaller discs
    margin, step, side = 6.0, across * JUT, 34 * unit
    high = jacket + 2 * margin
    top = (high - inner) / 2
    cx, cy = margin + 2 * step + across / 2, high / 2
    wide = cx + across / 2 + side
    by_zone = {p.zone: p for p in parts(audit, say)}
    names = [f"{p.number} {say.zone(p.zone)}: {p.how(say)}" for p in by_zone.values()]

    def ring(zone: str, outer: float, hole: float) -> Html:
        part = by_zone[zone]
        way = f"{_circle(cx, cy, outer / 2)} {_circle(cx, cy, hole / 2)}"
        return join(
            el("path", d=way, fill_rule="evenodd", class_=f"part base {_slug(zone)}"),
            el("path", d=way, fill_rule="evenodd", class_="part over", fill=_fill(part, key)),
        )

    def sheet(zone: str, x: float, y: float, length: float) -> Html:
        part = by_zone[zone]
        square = {"x": _n(x), "y": _n(y), "width": _n(length), "height": _n(length), "rx": 1.5}
        return join(
            el("rect", **square, class_=f"part base {_slug(zone)}"),
            el("rect", **square, class_="part over", fill=_fill(part, key)),
        )

    not_said = f"{say.state('silent')}: "

    def unsaid(part: Part) -> tuple[str, ...]:
        return (not_said.replace(" ", TIED, 1) + "; ".join(part.missing),) if part.missing else ()

    def sleeve(zone: str, x: float, room: float) -> Html:
        part = by_zone[zone]
        lower = unsaid(part)
        return join(
            _block(part, part.quotes, x, cy - (high * 0.12 if lower else 0), room, big),
            _block(part, lower, x, cy + high * 0.2, room, big, silent=True),
        )

    def on_label(y: float) -> float:
        """How wide the paper is at this height, with a margin, beside the number that stands on it."""
        r = disc["label"] / 2 - 3 * unit
        off = abs(y - cy) + small * 0.5
        chord = 2 * (r * r - off * off) ** 0.5 * 0.96 if off < r else 0.0
        beside = 2 * (disc["label"] * 0.36 - 9.5 * unit)
        return min(chord, beside) if abs(y - cy) < small * 0.5 + 8.5 * unit else chord

    def number(zone: str, x: float, y: float) -> Html:
        part = by_zone[zone]
        return el(
            "g",
            el("circle", cx=_n(x), cy=_n(y), r=_n(8.5 * unit), class_=f"tag {part.standing}"),
            el("text", part.number, x=_n(x), y=_n(y), dy=".35em", class_="tag-n", font_size=_n(11.5 * unit)),
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
    runout, music, label, rim = (by_zone[z] for z in ("dead wax", "playing surface", "label", "edge"))
    big, fine, small = 10.5 * unit, 9.6 * unit, 7.6 * unit
    outside = across / 2 + 5 * unit
    at_rim = cx + outside * cos(RIM) + 9 * unit, cy - outside * sin(RIM)
    return el(
        "svg",
        el("title", say.say("html.drawing"), id=f"{key}-t"),
        el("desc", ". ".join(names) + ".", id=f"{key}-d"),
        el(
            "defs",
            _patterns(key),
            _arc(f"{key}-ring", cx, cy, on_ring + fine * 0.36),
            _arc(f"{key}-ring-up", cx, cy, on_ring - fine * 0.36, up=True),
            _arc(f"{key}-mid", cx, cy, middle + big * 0.36),
            _arc(f"{key}-mid-up", cx, cy, middle - big * 0.36, up=True),
            _side_arc(f"{key}-rim", cx, cy, outside),
        ),
        sheet("jacket", margin, margin, jacket),
        sheet("inner", margin + step, top, inner),
        sleeve("jacket", margin + step / 2, step * 0.88),
        sleeve("inner", margin + step * 1.42, step * 0.74),
        ring("edge", across, disc["music_from"]),
        ring("playing surface", disc["music_from"], end),
        *grooves,
        ring("dead wax", end, disc["label"]),
        closing,
        ring("label", disc["label"], stock["hole"]),
        deep,
        el("circle", cx=_n(cx), cy=_n(cy), r=_n(stock["hole"] / 2), class_="hole"),
        _along(f"{key}-ring", runout, runout.quotes, pi * on_ring * 0.86, fine),
        _along(f"{key}-ring-up", runout, runout.missing, pi * on_ring * 0.86, fine, lead=not_said),
        _along(f"{key}-mid", music, music.quotes, pi * middle * 0.86, big),
        _along(f"{key}-mid-up", music, music.missing, pi * middle * 0.86, big, lead=not_said),
        _along(f"{key}-rim", rim, rim.quotes, outside * 1.5, big),
        _block(label, label.quotes, cx, cy + disc["label"] * 0.25, on_label, small, most=4),
        _block(label, unsaid(label), cx, cy - disc["label"] * 0.25, on_label, small, most=4, silent=True),
        number("jacket", margin + 16 * unit, margin + 16 * unit),
        number("inner", margin + step + 16 * unit, top + 16 * unit),
        _leader(cx, cy, across / 2 - 2 * unit, at_rim),
        number("edge", *at_rim),
        number("playing surface", cx - middle, cy),
        number("dead wax", cx - on_ring, cy),
        number("label", cx + disc["label"] * 0.36, cy),
        viewBox=f"0 0 {_n(wide)} {_n(high)}",
        class_="record",
        role="img",
        aria_labelledby=f"{key}-t {key}-d",
    )


def _short(quote: str) -> str:
    return quote if len(quote) <= QUOTED else quote[: QUOTED - 1].rstrip() + "…"


def _n(x: float) -> str:
    return f"{x:.2f}".rstrip("0").rstrip(".")


def _slug(zone: str) -> str:
    return zone.replace(" ", "-")


def _fill(part: Part, key: str) -> str:
    name = {"said": "", "partly": "dots", "silent": "hatch", "clash": "net"}[part.standing]
    ground = "v" if part.zone in VINYL else "p"
    return f"url(#{key}-{name}-{ground})" if name else "none"


def _patterns(key: str) -> Html:
    """Silent is hatched, partly said is dotted, contradictory is crossed; said is plain.

    Each is there twice, because ink that stands out on paper (`p`) would not on black vinyl (`v`).
    """

    def tile(name: str, length: float, *marks: Html, turn: int = 0) -> Html:
        return join(
            *(
                el(
                    "pattern",
                    *marks,
                    id=f"{key}-{name}-{ground}",
                    width=length,
                    height=length,
                    patternUnits="userSpaceOnUse",
                    patternTransform=f"rotate({turn})" if turn else None,
                    class_=f"on-{ground}",
                )
                for ground in "pv"
            )
        )

    bar = el("path", d="M0 0V6", class_="ink")
    return join(
        tile("hatch", 6, bar, turn=45),
        tile("dots", 7, el("circle", cx=1.75, cy=1.75, r=0.95, class_="dot")),
        tile("net", 6, bar, el("path", d="M0 0H6", class_="ink"), turn=45),
    )


def _circle(cx: float, cy: float, r: float) -> str:
    return f"M{_n(cx - r)} {_n(cy)}a{_n(r)} {_n(r)} 0 1 0 {_n(2 * r)} 0a{_n(r)} {_n(r)} 0 1 0 {_n(-2 * r)} 0Z"


def _arc(name: str, cx: float, cy: float, r: float, *, up: bool = False) -> Html:
    """A half turn to write along, from left to right: under the middle, or over it (`up`)."""
    way = f"M{_n(cx - r)} {_n(cy)}A{_n(r)} {_n(r)} 0 0 {int(up)} {_n(cx + r)} {_n(cy)}"
    return el("path", id=name, d=way)


def _side_arc(name: str, cx: float, cy: float, r: float) -> Html:
    """The right-hand quarter outside the rim, read from above."""
    turn = 0.8
    x, y = r * cos(turn), r * sin(turn)
    return el("path", id=name, d=f"M{_n(cx + x)} {_n(cy - y)}A{_n(r)} {_n(r)} 0 0 1 {_n(cx + x)} {_n(cy + y)}")


def _span(words: str) -> float:
    """How many times its size a line is long: letters are a little less than half as wide, East Asian signs whole."""
    return sum(1.0 if east_asian_width(c) in "WF" else 0.46 for c in words)


def _cut(words: str, room: float) -> str:
    """As much of `words` as `room` (in sizes) holds, with a sign that there is more."""
    if _span(words) <= room:
        return words
    while words and _span(words) + 0.7 > room:
        words = words[:-1]
    return words.rstrip(" ·;:,/") + "…"


def _kind(part: Part, silent: bool) -> str:
    return f"writing {_slug(part.zone)} {'silent' if silent else part.standing}"


def _whole(items: Sequence[str], between: str, lead: str, room: float) -> str:
    """As many whole items as `room` (in sizes) holds; the first is cut where not even that fits."""
    for many in range(len(items), 0, -1):
        more = f"{between}…" if many < len(items) else ""
        line = lead + between.join(items[:many]) + more
        if _span(line) <= room:
            return line
    return _cut(lead + items[0], room)


def _along(path: str, part: Part, items: Sequence[str], room: float, size: float, *, lead: str = "") -> Html | None:
    """Items along a path of `room` millimetres, a little smaller where that shows all of them; `lead` marks silence."""
    if not items:
        return None
    between = "; " if lead else BETWEEN
    words = _whole(items, between, lead, room / size)
    if "…" in words:
        smaller = _whole(items, between, lead, room / (size * SMALLER))
        if len(smaller) > len(words):
            words, size = smaller, size * SMALLER
    line = el("textPath", words, href=f"#{path}", startOffset="50%")
    kind = _kind(part, bool(lead))
    # Along a path each letter is painted by itself: its rim would cover the letter before it, so the rims come first.
    return join(
        el("text", line, class_=f"{kind} rim", font_size=_n(size)),
        el("text", line, class_=f"{kind} bare", font_size=_n(size)),
    )


def _broken(word: str, room: float) -> tuple[str, str]:
    """What of a word too long for any line fits in one, and the rest of it."""
    n = 1
    while n < len(word) and _span(word[: n + 1]) <= room:
        n += 1
    return word[:n], word[n:]


def _lines(quotes: Sequence[str], rooms: Sequence[float]) -> tuple[list[str], bool]:
    """Lines no longer than `rooms` (in sizes), each quotation beginning one, and whether all of it went in."""
    out: list[str] = []
    for quote in quotes:
        line, words = "", quote.split(" ")
        while words:
            if len(out) == len(rooms):
                return out, False
            room = rooms[len(out)]
            longer = f"{line} {words[0]}" if line else words[0]
            if _span(longer) <= room:
                line = longer
                words.pop(0)
                continue
            if not line and _span(words[0]) <= max(rooms):
                out.append("")  # a wider line follows
                continue
            if not line or (_span(words[0]) > max(rooms) and room - _span(line) > 3):
                start, rest = _broken(words[0], room - (_span(line) + 0.5 if line else 0))
                line = f"{line} {start}" if line else start
                words[0] = rest
            out.append(line)
            line = ""
        if line:
            if len(out) == len(rooms):
                return out, False
            out.append(line)
    return out, True


def _block(
    part: Part,
    quotes: Sequence[str],
    x: float,
    y: float,
    room: float | Callable[[float], float],
    size: float,
    *,
    most: int = 7,
    silent: bool = False,
) -> Html | None:
    """At most `most` centred lines around a point, none wider than there is `room` at its height."""
    if not quotes:
        return None
    wide = room if callable(room) else lambda _: room
    for count in range(1, most + 1):
        places = [y + (n - (count - 1) / 2) * size * 1.24 for n in range(count)]
        rooms = [max(wide(place) / size, 2.0) for place in places]
        lines, all_in = _lines(quotes, rooms)
        if all_in:
            break
    if not all_in:
        lines[-1] = _cut(lines[-1], rooms[len(lines) - 1] - 0.7).rstrip("…") + "…"
    return el(
        "text",
        *(el("tspan", line, x=_n(x), y=_n(places[n]), dy=".35em") for n, line in enumerate(lines) if line),
        class_=_kind(part, silent),
        font_size=_n(size),
    )


def _leader(cx: float, cy: float, r: float, to: tuple[float, float]) -> Html:
    start = f"M{_n(cx + r * cos(RIM))} {_n(cy - r * sin(RIM))}"
    return el("path", d=f"{start}L{_n(to[0])} {_n(to[1])}", class_="leader")
