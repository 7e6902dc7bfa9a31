"""`sayso review`."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, BinaryIO

import typer

from sayso.cli import Fault
from sayso.cli.audit import FAIL_ON
from sayso.cli.options import (
    Bidders,
    Encoding,
    Language,
    MaxBytes,
    MaxChars,
    MaxQuestions,
    MaxRegret,
    Overlays,
    Pointed,
    Sold,
    Tax,
    Worth,
)

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.review.progress import Checkpoint
    from sayso.review.rows import Done, Raw, Settings
    from sayso.review.spool import Spool

app = typer.Typer(add_completion=False, rich_markup_mode=None)

MOST_PROBLEMS = 20
"""Bad rows told one by one; the rest are counted."""
IN_HTML = 500


@app.command()
def review(
    inputs: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FILE|FOLDER|-…", help="CSV, TSV, JSON Lines, texts, saved pages, folders of them; - reads a pipe."
        ),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One sayso.audit/1 a line, in the order of the input, as they are done.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write those lines to FILE, which --resume can continue.")
    ] = None,
    csv: Annotated[str | None, typer.Option(metavar="FILE|-", help="Write the ranking as a table.")] = None,
    html: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the ranking as a web page.")] = None,
    parquet: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the ranking as Parquet.")] = None,
    ask: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write one message a seller into FOLDER.")] = None,
    top: Annotated[int, typer.Option(help="Show so many in the terminal.")] = 30,
    resume: Annotated[
        bool, typer.Option("--resume", help="Go on where an interrupted run with --out stopped.")
    ] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Stop at the first row that cannot be read.")] = False,
    column: Annotated[
        list[str] | None,
        typer.Option(metavar="MEANING=NAME", help="Which column holds what, e.g. text=Remarks (repeatable)."),
    ] = None,
    jobs: Annotated[int | None, typer.Option(help="Processes; as many as there are cores if left out.")] = None,
    cluster: Annotated[
        str | None, typer.Option(metavar="ADDRESS|local", help="Run on Dask; needs --parquet FOLDER or --out FOLDER.")
    ] = None,
    encoding: Encoding = None,
    currency: Annotated[str | None, typer.Option(help="Currency of prices that name none, such as USD.")] = None,
    worth: Worth = None,
    sold: Sold = None,
    fees: Annotated[str | None, typer.Option(metavar="AMOUNT", help="Other costs of each purchase.")] = None,
    tax: Tax = None,
    max_regret: MaxRegret = None,
    bidders: Bidders = None,
    lexicon: Overlays = None,
    pointed: Pointed = False,
    language: Language = None,
    max_questions: MaxQuestions = 5,
    max_chars: MaxChars = None,
    fail_on: Annotated[
        list[str] | None,
        typer.Option(metavar="|".join(FAIL_ON), help="Exit with 1 if this is found in any listing (repeatable)."),
    ] = None,
    max_bytes: MaxBytes = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress and no remarks on stderr.")] = False,
) -> None:
    """A wishlist or catalogue: every listing audited and ranked.

    Exit codes: 0 done; 1 --fail-on found something; 2 unusable input, or --strict met a bad row; 130 interrupted.
    """
    from sayso.cli import shared
    from sayso.intake.errors import IntakeError
    from sayso.review.rows import Settings
    from sayso.review.sources import Reading

    _check(inputs, as_json, out, csv, html, parquet, ask, resume, cluster, top, jobs, max_questions, max_chars, fail_on)
    data = shared.load(lexicon)
    options: dict[str, Any] = {
        "pointed": pointed,
        "language": shared.language(language, data),
        "max_questions": max_questions,
        "max_chars": max_chars,
        **shared.judging(worth=worth, sold=sold, max_regret=max_regret, bidders=bidders, fees=fees, tax=tax),
    }
    limit = max_bytes if max_bytes is not None else 2_000_000
    if limit < 1:
        raise Fault("--max-bytes must be 1 or more")
    ranked = bool(csv or html or parquet or ask) or not (as_json or out)
    settings = Settings(
        lexicon=tuple(str(p) for p in lexicon or ()),
        options=options,
        max_bytes=limit,
        currency=_currency(currency),
        encoding=_encoding(encoding),
        want_json=as_json or out is not None,
        want_packed=html is not None,
        want_summary=ranked or bool(fail_on),
    )
    say = (lambda _: None) if quiet else _say
    reading = Reading(
        max_bytes=limit, columns=_columns(column), currency=_currency(currency), encoding=_encoding(encoding), say=say
    )
    if cluster is not None:
        _on_cluster(cluster, inputs or [], reading, settings, out, parquet, say)
        return
    run = _Run(settings, as_json, out, resume, strict, ranked, quiet)
    try:
        run.go(inputs or ["-"], reading, jobs or os.cpu_count() or 1)
        if ranked:
            _write_ranking(run, data, csv, html, parquet, ask, top, show=not (as_json or out or csv == "-"), say=say)
    except IntakeError as error:
        raise Fault(" ".join(str(error).split())) from None
    except KeyboardInterrupt:
        _say(run.stopped())
        raise SystemExit(130) from None
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        raise SystemExit(0) from None
    except OSError as error:
        target = error.filename or out or csv or parquet or html or "the output"
        raise Fault(f"{target} cannot be written: {error.strerror}; {run.stopped()}") from None
    finally:
        run.close()
    if run.found(fail_on or ()):
        raise typer.Exit(1)


def _say(line: str) -> None:
    from sayso.report.safe import safe

    print(safe(line), file=sys.stderr)


def _check(
    inputs: list[str] | None,
    as_json: bool,
    out: Path | None,
    csv: str | None,
    html: Path | None,
    parquet: Path | None,
    ask: Path | None,
    resume: bool,
    cluster: str | None,
    top: int,
    jobs: int | None,
    max_questions: int,
    max_chars: int | None,
    fail_on: list[str] | None,
) -> None:
    if not inputs and (sys.stdin is None or sys.stdin.isatty()):
        raise Fault("nothing to review; name files or folders, or pipe a table in with -")
    if as_json and out is not None:
        raise Fault("--json prints to the screen and --out writes to a file; give one of them")
    if as_json and csv == "-":
        raise Fault("--json and --csv - both print to the screen; write one of them to a file")
    if resume and out is None:
        raise Fault("--resume needs --out FILE, the file of the interrupted run")
    if cluster is not None and out is None and parquet is None:
        raise Fault("--cluster needs --parquet FOLDER or --out FOLDER for the results")
    if cluster is not None and (as_json or csv or html or ask or resume):
        raise Fault("--cluster goes only with --parquet or --out; rank its results afterwards")
    if top < 0:
        raise Fault("--top must be 0 or more")
    if jobs is not None and jobs < 1:
        raise Fault("--jobs must be 1 or more")
    if max_questions < 0:
        raise Fault("--max-questions must be 0 or more")
    if max_chars is not None and max_chars < 1:
        raise Fault("--max-chars must be 1 or more")
    for name in fail_on or ():
        if name not in FAIL_ON:
            raise Fault(f"--fail-on: {name!r} is unknown; it takes {' or '.join(FAIL_ON)}")
    for path in (out, html, parquet, Path(csv) if csv and csv != "-" else None):
        if path is not None and not path.absolute().parent.is_dir():
            raise Fault(f"{path}: the folder {path.parent} does not exist; make it first")


def _currency(code: str | None) -> str | None:
    if code is None:
        return None
    if len(code) != 3 or not code.isascii() or not code.isalpha():
        raise Fault(f"--currency: {code!r} is no currency; use three letters, such as USD, EUR, GBP or JPY")
    return code.upper()


def _encoding(name: str | None) -> str | None:
    import codecs

    if name is None:
        return None
    try:
        return codecs.lookup(name).name if b"a".decode(name) else None
    except LookupError:
        raise Fault(f"--encoding: {name!r} is no known encoding; try utf-8, cp1252 or shift_jis") from None
    except UnicodeDecodeError:  # one of more bytes a character
        return codecs.lookup(name).name


def _columns(pairs: list[str] | None) -> dict[str, str]:
    from sayso.review.columns import MEANINGS

    out: dict[str, str] = {}
    for pair in pairs or ():
        meaning, sign, name = pair.partition("=")
        if not sign or not name.strip() or meaning.strip() not in MEANINGS:
            raise Fault(f"--column: {pair!r} must be written MEANING=NAME; meanings are {', '.join(MEANINGS)}")
        out[meaning.strip()] = name.strip()
    return out


class _Run:
    """One pass over the input: lines go out, summaries go to the spool, problems are told."""

    def __init__(
        self,
        settings: Settings,
        as_json: bool,
        out: Path | None,
        resume: bool,
        strict: bool,
        ranked: bool,
        quiet: bool,
    ) -> None:
        self.settings, self._strict, self._quiet = settings, strict, quiet
        self._as_json, self._out, self._resume = as_json, out, resume
        self._checkpoint: Checkpoint | None = None
        self._mark = (0, 0)
        """Rows done and the length of the output then."""
        self.spool: Spool | None = None
        if ranked:
            from sayso.review.spool import Spool

            self.spool = Spool()
        self.rows = self.audited = self.problems = 0
        self._silent = self._clash = False
        self._held = ""
        """What was wrong with the first row, until it is known whether it was the only one."""

    def go(self, inputs: list[str], reading: Any, jobs: int) -> None:
        from sayso.review.pool import audit_rows
        from sayso.review.progress import Checkpoint
        from sayso.review.sources import rows

        raws = rows(inputs, reading)
        file: BinaryIO | None = None
        if self._out is not None:
            self._checkpoint = Checkpoint(self._out, _job(inputs, self.settings))
            file = self._open(self._checkpoint, raws)
        elif self._as_json:
            file = getattr(sys.stdout, "buffer", None)
        bar = _progress(self._quiet or (self._as_json and sys.stdout.isatty()))
        try:
            self._drain(audit_rows(raws, self.settings, jobs, many=_many(inputs)), file, bar)
        finally:
            bar.stop()
            if self._checkpoint is not None and file is not None:
                # What was begun after the mark is cut off on resuming, so nothing of it may be waiting to be written.
                with contextlib.suppress(OSError):
                    file.flush()
                self._checkpoint.save(*self._mark, file)
                file.close()
        if self.problems > MOST_PROBLEMS:
            _say(f"… and {self.problems - MOST_PROBLEMS:,} more rows that could not be read")
        if not self.audited and not self.rows:
            raise Fault("the input holds no rows")
        if not self.audited:
            if self._held:
                raise Fault(self._held)
            many = f"none of the {self.rows:,} rows could be audited; the first reason is given above"
            raise Fault(many)

    def _open(self, checkpoint: Any, raws: Iterator[Raw]) -> BinaryIO:
        assert self._out is not None
        done, size = 0, 0
        if self._resume:
            try:
                done, size = checkpoint.load()
            except ValueError as error:
                raise Fault(f"--resume: {error}") from None
        if not done:
            new = self._out.open("wb")
            checkpoint.save(0, 0, new)  # what an earlier run noted is not true of this file
            return new
        try:
            file = self._out.open("r+b")
        except FileNotFoundError:
            raise Fault(f"--resume: {self._out} is gone; leave out --resume to start again") from None
        if file.seek(0, os.SEEK_END) < size:
            raise Fault(f"--resume: {self._out} is shorter than when it was written; start again without --resume")
        file.truncate(size)
        self._recall(file, raws, done)
        file.seek(size)
        self._mark = (done, size)
        return file

    def _recall(self, file: BinaryIO, raws: Iterator[Raw], done: int) -> None:
        """Take the rows that an earlier run finished back into the ranking; `raws` is then at the first one to do."""
        from itertools import islice

        file.seek(0)
        if not self.settings.want_summary:
            for _ in islice(raws, done):
                self.rows += 1
            self.audited = sum(1 for _ in file)
            return
        from sayso.lexicon import load_lexicon
        from sayso.review.partition import recalled

        lexicon = load_lexicon(self.settings.lexicon)
        line = file.readline()
        for raw in islice(raws, done):
            self.rows += 1
            again = recalled(raw, line.rstrip(b"\n"), self.settings, lexicon)
            if again.problem:
                self.problems += 1
                continue
            self.audited += 1
            self._note(again)
            line = file.readline()

    def _drain(self, batches: Iterator[list[Done]], file: BinaryIO | None, bar: Any) -> None:
        import time

        saved = time.monotonic()
        for batch in batches:
            for done in batch:
                self.rows += 1
                if self._held:
                    _say(f"sayso: {self._held}")
                    self._held = ""
                if done.problem:
                    self._problem(done)
                    continue
                self.audited += 1
                if done.json is not None and (self._as_json or self._out is not None):
                    if file is not None:
                        file.write(done.json + b"\n")
                    else:
                        sys.stdout.write(done.json.decode() + "\n")
                self._note(done)
            if file is not None:
                file.flush()
            bar.update(self.rows)
            if self._checkpoint is None or file is None:
                continue
            # Only whole batches count as done: Ctrl-C may come between a row and its line.
            self._mark = (self.rows, file.tell())
            if time.monotonic() - saved > 1.0:
                self._checkpoint.save(*self._mark, file)
                saved = time.monotonic()

    def _note(self, done: Done) -> None:
        if done.summary is None:
            return
        self._silent |= done.summary.silent
        self._clash |= done.summary.clash
        if self.spool is not None:
            self.spool.add(done, done.packed)

    def _problem(self, done: Done) -> None:
        self.problems += 1
        if self._strict:
            raise Fault(f"{done.where}: {done.problem}")
        if self.rows == 1:
            self._held = f"{done.where}: {done.problem}"
        elif self.problems <= MOST_PROBLEMS:
            _say(f"sayso: {done.where}: {done.problem}")

    def found(self, fail_on: list[str] | tuple[str, ...]) -> bool:
        return ("decisive-silence" in fail_on and self._silent) or ("conflict" in fail_on and self._clash)

    def stopped(self) -> str:
        done = f"stopped after {self.rows:,} rows"
        if self._out is not None:
            return f"{done}; they are in {self._out}, and --resume goes on from there"
        return done

    def close(self) -> None:
        if self.spool is not None:
            self.spool.close()


MANY = 200_000
"""Bytes of input from which other processes are started at once: more than a hundred rows of usual length."""


def _many(inputs: list[str]) -> bool:
    """Whether the files named hold so much that it is worth starting other processes before the first row is read."""
    return sum(os.path.getsize(name) for name in inputs if os.path.isfile(name)) > MANY


def _job(inputs: list[str], settings: Settings) -> str:
    import hashlib

    names = [str(Path(n).absolute()) if n != "-" else n for n in inputs]
    plain = repr((names, settings.lexicon, sorted(map(str, settings.options.items())), settings.currency))
    plain += settings.encoding or ""
    return hashlib.sha256(plain.encode("utf-8", "replace")).hexdigest()[:16]


class _NoBar:
    def update(self, done: int) -> None: ...
    def stop(self) -> None: ...


class _Bar:
    """A count on stderr; the length of a stream is not known beforehand."""

    def __init__(self) -> None:
        import time

        from rich.console import Console
        from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        self._began = time.monotonic()
        self._bar = Progress(
            SpinnerColumn(),
            TextColumn("{task.completed:,.0f} listings"),
            TextColumn("{task.fields[rate]}"),
            TimeElapsedColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        self._task = self._bar.add_task("", total=None, rate="")
        self._bar.start()

    def update(self, done: int) -> None:
        import time

        rate = done / max(time.monotonic() - self._began, 0.001)
        self._bar.update(self._task, completed=done, rate=f"{rate:,.0f} a second")

    def stop(self) -> None:
        self._bar.stop()


def _progress(off: bool) -> _Bar | _NoBar:
    return _NoBar() if off or not sys.stderr.isatty() else _Bar()


def _write_ranking(
    run: _Run,
    lexicon: Lexicon,
    csv: str | None,
    html: Path | None,
    parquet: Path | None,
    ask: Path | None,
    top: int,
    *,
    show: bool,
    say: Any,
) -> None:
    from sayso.cli import shared
    from sayso.report.words import Words
    from sayso.review import output

    spool = run.spool
    assert spool is not None
    words = Words(lexicon)
    spool.settle()
    if csv == "-":
        for line in output.csv_lines(spool.ranked(), words):
            sys.stdout.write(line)
    elif csv is not None:
        with Path(csv).open("w", encoding="utf-8", errors="replace", newline="") as file:
            file.writelines(output.csv_lines(spool.ranked(), words))
    if parquet is not None:
        try:
            output.write_parquet(spool.ranked(), parquet, words)
        except ModuleNotFoundError:
            raise Fault("--parquet needs pyarrow; install it with: pip install 'sayso[parquet]'") from None
    if html is not None:
        shared.write(html, _page(run, lexicon), "--html")
    if ask is not None:
        count = output.write_messages(spool, ask)
        say(f"{count:,} message{'s' * (count != 1)} written to {ask}")
    if show:
        import shutil

        width = max(60, min(100, shutil.get_terminal_size((80, 24)).columns))
        from sayso.report.safe import safe

        shared.emit(safe("\n".join(output.terminal(spool, lexicon, top=top, width=width))))
        if run.problems:
            say(f"{run.problems:,} row{'s' * (run.problems != 1)} could not be read")


def _page(run: _Run, lexicon: Lexicon) -> str:
    import zlib

    from sayso.model import Audit
    from sayso.report.html import wishlist_html
    from sayso.review.compare import shown

    assert run.spool is not None
    audits = [Audit.model_validate_json(zlib.decompress(blob)) for blob in run.spool.audits(IN_HTML)]
    ranks, copies = shown(run.spool, lexicon, most=IN_HTML)
    return str(wishlist_html(audits, lexicon, ranks, copies))


def _on_cluster(
    address: str,
    inputs: list[str],
    reading: Any,
    settings: Settings,
    out: Path | None,
    parquet: Path | None,
    say: Any,
) -> None:
    try:
        import distributed  # noqa: F401
    except ModuleNotFoundError:
        raise Fault("--cluster needs Dask; install it with: pip install 'sayso[cluster]'") from None
    from sayso.intake.errors import IntakeError
    from sayso.review.cluster import review_on_cluster

    target = parquet if parquet is not None else out
    assert target is not None
    try:
        rows, problems = review_on_cluster(
            address, inputs, reading, settings, target, form="parquet" if parquet is not None else "json"
        )
    except IntakeError as error:
        raise Fault(" ".join(str(error).split())) from None
    except (OSError, ValueError) as error:
        raise Fault(f"--cluster: {' '.join(str(error).split())[:300]}") from None
    say(f"{rows:,} rows in {target}, {problems:,} of them could not be read")
