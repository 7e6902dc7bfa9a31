"""`sayso lexicon`: what the tool knows, with its sources; reading a run-out; checking and adding one's own data."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from sayso.cli import Fault
from sayso.cli.options import Overlays

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon

app = typer.Typer(no_args_is_help=True, help="What the tool knows, with its sources; check or add your own.")

NOUNS = ("fact", "mark", "system", "table", "label")
AsJson = Annotated[bool, typer.Option("--json", help="As JSON.")]


def _say(line: str) -> None:
    """Print words that may come from somebody else's file."""
    from sayso.report.safe import safe

    print(safe(line))


def _load(overlays: list[Path] | None) -> Lexicon:
    from sayso.lexicon import LexiconError, load_lexicon

    try:
        lexicon = load_lexicon(overlays or ())
        for noun in NOUNS:
            lexicon.rows(noun)
    except LexiconError as error:
        _fault(error)
    return lexicon


def _fault(error: Exception) -> NoReturn:
    raise Fault(str(error)) from error


def _entries(lexicon: Lexicon) -> Iterator[tuple[str, Any]]:
    for noun in NOUNS:
        for row in lexicon.rows(noun):
            yield noun, row


def _doubts(row: Any) -> str:
    """What of an entry rests on memory: 'all', the names of fields, or nothing."""
    if "memory" in (getattr(row, "basis", "") or ""):
        return "all"
    return ", ".join((*(getattr(row, "memory_fields", ()) or ()), *_parts_from_memory(row)))


def _parts_from_memory(row: Any) -> Iterator[str]:
    """The parts of a label's history that rest on memory, as they are named in its file."""
    for n, era in enumerate(getattr(row, "era", ()), 1):
        if "memory" in era.basis:
            yield f"era {n}"
        elif era.memory_fields:
            yield f"era {n} {' and '.join(era.memory_fields)}"
    for name in ("owners", "plants", "numbers", "first_pressing_features", "traps"):
        parts: tuple[Any, ...] = getattr(row, name, None) or ()
        for n, part in enumerate(parts, 1):
            if "memory" in part.basis:
                yield f"{name} {n}"
    reuse = getattr(row, "stock_reuse", None)
    if reuse is not None and "memory" in reuse.basis:
        yield "stock_reuse"


def _short(row: Any) -> str:
    """One line that tells an entry from others."""
    for key in ("statement", "proves", "about", "name"):
        text = getattr(row, key, "")
        if text:
            name = getattr(row, "name", "")
            return f"{name}: {text}" if name and name != text else str(text)
    return ""


@app.command("list")
def list_(
    basis: Annotated[
        str, typer.Option(help="Only entries with this basis: published, 'common practice' or memory.")
    ] = "",
    kind: Annotated[str, typer.Option(help=f"Only one kind: {', '.join(NOUNS)}.")] = "",
    lexicon: Overlays = None,
    as_json: AsJson = False,
) -> None:
    """List what is known: id, kind, basis and one line. `--basis memory` shows what still wants a source."""
    if kind and kind not in NOUNS:
        raise Fault(f"no kind '{kind}'; there are {', '.join(NOUNS)}")
    if basis and basis not in ("published", "common practice", "memory"):
        raise Fault(f"no basis '{basis}'; there are published, common practice, memory")
    rows = []
    for noun, row in _entries(_load(lexicon)):
        own, doubts = getattr(row, "basis", "") or "", _doubts(row)
        wanted = not basis or (bool(doubts) if basis == "memory" else own == basis)
        if wanted and (not kind or noun == kind):
            rows.append({"id": row.id, "kind": noun, "basis": own, "from_memory": doubts, "what": _short(row)})
    if as_json:
        print(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    for entry in rows:
        doubt = f" (from memory: {entry['from_memory']})" if entry["from_memory"] not in ("", "all") else ""
        _say(f"{entry['id']}  [{entry['kind']}, {entry['basis'] or 'no basis'}{doubt}]  {entry['what']}")
    print(f"{len(rows)} entries", file=sys.stderr)


@app.command()
def show(id: str, lexicon: Overlays = None, as_json: AsJson = False) -> None:
    """Show one entry with its basis, source and caution; a label as a time table."""
    found = [(noun, row) for noun, row in _entries(_load(lexicon)) if row.id == id]
    if not found:
        from rapidfuzz import process

        near = process.extract(id, [row.id for _, row in _entries(_load(lexicon))], limit=3, score_cutoff=60)
        hint = f"; did you mean {', '.join(n[0] for n in near)}?" if near else "; `sayso lexicon list` shows all"
        raise Fault(f"no entry with the id '{id}'{hint}")
    for noun, row in found:
        if as_json:
            print(json.dumps({"kind": noun, **row.model_dump(mode="json")}, ensure_ascii=False, indent=1))
        else:
            _say("\n".join(_told(noun, row)))


FIRST = ("name", "statement", "proves", "form", "method", "who", "about", "country", "earliest", "latest")
LAST = ("basis", "memory_fields", "source", "caution")
HIDDEN = {
    "id",
    "patterns",
    "readings",
    "slots",
    "late",
    "examples",
    "letters",
    "says",
    "gives",
    "write",
    "trigger",
    "sign",
}
HIDDEN |= {"era", "parts", "pressings", "decides", "leftover"}
"""Keys that are told otherwise, or are the program's own business."""


def _told(noun: str, row: Any) -> Iterator[str]:
    """An entry in lines a sceptical buyer can follow."""
    yield f"{row.id} ({noun})"
    data = row.model_dump(mode="json")
    middle = [k for k in data if k not in (*FIRST, *LAST, *HIDDEN)]
    for key in (*FIRST, *middle):
        yield from _lines(key, data.get(key))
    if noun == "system":
        for example in row.examples:
            yield f"  example: {example.text} ({example.basis})"
    if noun == "label":
        yield from _time_table(row)
        yield from _dossier(row)
    for key in LAST:
        yield from _lines(key, data.get(key))


def _lines(key: str, value: Any) -> Iterator[str]:
    """One key: on a line, or a line for each entry of a list that is more than words."""
    if value in (None, "", [], {}, False):
        return
    name = key.replace("_", " ")
    if isinstance(value, list) and any(isinstance(v, dict) or len(str(v)) > 60 for v in value):
        yield f"  {name}:"
        for entry in value:
            yield f"    {_value(entry)}"
    else:
        yield f"  {name}: {_value(value)}"


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "; ".join(_value(v) for v in value)
    if isinstance(value, dict):
        if value.get("text"):
            return f"{value['text']} [{value.get('basis', '')}]"
        return "; ".join(f"{k} = {_inner(v)}" for k, v in value.items() if v not in (None, "", [], {}))
    return str(value)


def _dossier(label: Any) -> Iterator[str]:
    """The pressings of one record, what tells them apart, and what settles it."""
    for pressing in label.pressings:
        years = "–".join(map(str, pressing.years)) or "years not known"
        first = ", counts as first" if pressing.id in label.counts_as_first else ""
        yield f"  pressing {pressing.id}: {pressing.name} ({years}; {pressing.copies:g} copies{first})"
        for part, shares in pressing.uses.items():
            for variant, share in shares.items():
                shows = "; ".join(f"{k} = {v}" for k, v in label.parts.get(part, {}).get(variant, {}).items())
                yield f"    {share:>4.0%} {part} '{variant}': {shows}"
    for left in label.leftover:
        yield f"  used up later: {left.what}"
    for decider in label.decides:
        yield f"  settled by: {decider.feature} = {decider.value}" + (
            f" ({decider.pressing})" if decider.pressing else ""
        )


def _inner(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{k} {v}" for k, v in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


WIDTH = 40
"""Characters of the drawn time line."""


def _time_table(label: Any) -> Iterator[str]:
    """The eras of a label, one a line, with a bar drawn against the years."""
    from sayso.lexicon.check import year_of

    eras = list(getattr(label, "eras", None) or getattr(label, "era", None) or ())
    dated = [(year_of(getattr(e, "earliest", None)), year_of(getattr(e, "latest", None)), e) for e in eras]
    years = [y for first, last, _ in dated for y in (first, last) if y]
    if not years:
        return
    low, high = min(years), max(years) + 1
    scale = WIDTH / max(1, high - low)
    yield f"  time table ({low} to {high - 1}):"
    for first, last, era in dated:
        start = int(((first or low) - low) * scale)
        end = max(start + 1, int(((last or high - 1) + 1 - low) * scale))
        bar = " " * start + "█" * (end - start)
        span = f"{first or '?'}–{last or '?'}"
        what = "; ".join(
            str(x) for x in (getattr(era, "design", ""), getattr(era, "address", ""), getattr(era, "channels", "")) if x
        )
        doubt = "" if getattr(era, "basis", "published") == "published" else f" [{era.basis}]"
        recalled = [] if doubt else [f.replace("_", " ") for f in getattr(era, "memory_fields", None) or ()]
        if recalled:
            doubt = f" [from memory: {', '.join(recalled)}]"
        yield f"    {span:>11} |{bar:<{WIDTH}}| {what}{doubt}"
        caution = getattr(era, "caution", "")
        if caution:
            yield f"                {caution}"


@app.command()
def check(
    files: Annotated[
        list[Path] | None, typer.Argument(help="Files or folders; without any, all that is in use.")
    ] = None,
    lexicon: Overlays = None,
    as_json: AsJson = False,
) -> None:
    """Check data files: spelling of keys, ids, sources, references, words claimed twice, eras, worked examples."""
    from sayso.claims.runout_check import example_problems
    from sayso.lexicon import LexiconError, load_lexicon
    from sayso.lexicon.check import Problem, summary
    from sayso.lexicon.check import check as check_files
    from sayso.lexicon.load import shipped, user_folder

    paths = list(files or ())
    problems: list[Problem] = []
    try:
        if paths:
            problems += check_files(paths, base=load_lexicon(lexicon or (), user=False))
            merged = [*(lexicon or ()), *paths]
        else:
            problems += check_files([shipped()])
            own = user_folder()
            merged = [*([own] if own.is_dir() else []), *(lexicon or ())]
            if merged:
                problems += check_files(merged)
        if not any(p.grade == "error" for p in problems):
            for system, what in example_problems(load_lexicon(merged, user=False)):
                problems.append(Problem("worked examples", f"system {system}", what))
    except LexiconError as error:
        _fault(error)
    count = summary(problems)
    if as_json:
        print(json.dumps([vars(p) for p in problems], ensure_ascii=False, indent=1))
    else:
        for problem in problems:
            _say(f"{problem.grade}: {problem}")
        told = (f"{n} {word}" + ("" if n == 1 else "s") for word, n in count.items())
        print(", ".join(told), file=sys.stderr)
    if count["error"]:
        raise typer.Exit(1)


@app.command()
def read(
    text: Annotated[
        str, typer.Argument(help="A run-out as you see it or as the seller typed it; - reads standard input.")
    ],
    label: Annotated[
        str, typer.Option(help="The record's label, such as 'Parlophone (UK)'; it chooses the grammar.")
    ] = "",
    lexicon: Overlays = None,
    as_json: AsJson = False,
) -> None:
    """Read a run-out: what each part is, what it bounds, and what is unusual."""
    from sayso.claims.runout import read_runout

    if text == "-":
        text = sys.stdin.read()
    got = read_runout(text, label or None, _load(lexicon))
    if as_json:
        print(json.dumps(got, ensure_ascii=False, indent=1))
        return
    _say(got.get("system_name") or "No maker's grammar: only what is certain of any label.")
    shown = ("side", "as_written", "start", "end", "soft", "marks")
    for side in got.sides:
        _say(f"  {'side ' + side['side'] if side['side'] else 'side not said'}: {side['as_written']}")
        for key, value in side.items():
            if key not in shown and value is not None:
                soft = " (from memory)" if key in side.get("soft", ()) else ""
                _say(f"    {key.replace('_', ' ')}: {value}{soft}")
    if got.get("tax_code"):
        _say(f"  tax letters: {got['tax_code']}")
    for bound in got["bounds"]:
        weight = "" if bound["hard"] else ", a hint only"
        _say(f"  not before {bound['not_before']}{weight}: {bound['why']} ({bound['source']})")
    for odd in got["unusual"]:
        _say(f"  note: {odd['text']}")
    if got["left_over"]:
        _say(f"  not read: {got['left_over']}")
    if got.get("caution"):
        _say(f"  caution: {got['caution']}")


new = typer.Typer(no_args_is_help=True, help="Print a file to fill in.")
app.add_typer(new, name="new")


@new.command("label")
def new_label(
    name: Annotated[str, typer.Argument(help="The label's name.")],
    out: Annotated[
        Path | None, typer.Option(help="Write to this file instead; an existing file is left alone.")
    ] = None,
) -> None:
    """Print a commented dossier of a label to fill in: save it in your own folder and run `sayso lexicon check`."""
    from sayso.lexicon.dossier_form import form
    from sayso.lexicon.load import user_folder

    if not name.strip() or any(ord(c) < 32 for c in name):
        raise Fault("the label needs a name of one line")
    text = form(name.strip(), user_folder())
    if out is None:
        print(text, end="")
        return
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise Fault(f"{out} exists already; choose another name with --out") from error
    except OSError as error:
        raise Fault(f"{out} cannot be written ({error.strerror})") from error
