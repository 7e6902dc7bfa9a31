"""The command line: one thin module a command, imported only when that command runs."""

from __future__ import annotations

import contextlib
import os
import sys
from importlib import import_module
from typing import Any

COMMANDS: dict[str, tuple[str, str]] = {
    # command: (module with a typer app named `app`, one line for --help)
    "audit": ("sayso.cli.audit", "One listing: what is said, what is unsaid, what to ask, how much to pay."),
    "review": ("sayso.cli.review", "A wishlist or catalogue: every listing audited and ranked."),
    "ask": ("sayso.cli.ask", "Just the message to send to the seller."),
    "reply": ("sayso.cli.reply", "Fold the seller's answer in and see what changed."),
    "cases": ("sayso.cli.cases", "The casebook: what was said when."),
    "arrive": ("sayso.cli.arrive", "The record in hand against what was said."),
    "lexicon": ("sayso.cli.lexicon", "What the tool knows, with its sources; check or add your own."),
    "page": ("sayso.cli.page", "The same in a browser, on this machine only."),
    "schema": ("sayso.cli.schema", "Print the JSON Schema of an audit."),
}


class Fault(Exception):
    """Unusable input or arguments: one line for the user, exit code 2."""


COLLECT_AFTER = 100_000
"""New objects between two looks for garbage; what a listing leaves behind is far less."""


def main(argv: list[str] | None = None) -> None:
    """Run the program; exits with 0 (done), 1 (--fail-on found something) or 2 (unusable input or arguments)."""
    import gc

    import typer.main
    from typer.core import TyperGroup

    # A third of the start went into looking for garbage among the words of the lexicon, which stay to the end.
    gc.set_threshold(COLLECT_AFTER, *gc.get_threshold()[1:])

    # Typer's own group, not click's: newer versions of typer carry their own copy of click, with its own exceptions.
    class Lazy(TyperGroup):
        def list_commands(self, ctx: Any) -> list[str]:
            return list(COMMANDS)

        def get_command(self, ctx: Any, cmd_name: str) -> Any:
            if cmd_name not in COMMANDS:
                return None
            command = typer.main.get_command(import_module(COMMANDS[cmd_name][0]).app)
            command.name = cmd_name
            return command

        def format_commands(self, ctx: Any, formatter: Any) -> None:
            with formatter.section("Commands"):
                formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    # Plain help and errors: the boxed ones would import every command just to list them.
    group = Lazy(name="sayso", help="Audits what a seller says about a record before you pay.", rich_markup_mode=None)
    if not (sys.argv[1:] if argv is None else argv):
        argv = ["--help"]
    try:
        code = group.main(args=argv, prog_name="sayso", standalone_mode=False)
    except Fault as fault:
        from sayso.report.safe import safe

        # A file's name or a line of an import can hold anything.
        print(f"sayso: {safe(str(fault))}", file=sys.stderr)
        sys.exit(2)
    except (KeyboardInterrupt, EOFError):
        sys.exit(130)
    except BrokenPipeError:
        # Whoever read has seen enough; what is left in the buffer goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.exit(0)
    except OSError as error:
        # Files are opened where their faults are told; what is left is an output that cannot be written.
        print(f"sayso: cannot go on: {error.strerror or error}; is the disk full?", file=sys.stderr)
        sys.exit(2)
    except Exception as error:
        # Wrong arguments, in one line like every other fault. By its method, since typer may bring its own click.
        message = getattr(error, "format_message", None)
        if message is None:
            if type(error).__name__ == "Abort":
                sys.exit(130)
            raise
        where = getattr(getattr(error, "ctx", None), "command_path", "sayso")
        words = " ".join(message().split()).rstrip(".")
        if words:  # empty where the help was shown for want of arguments
            print(f"sayso: {words}; see '{where} --help'", file=sys.stderr)
        sys.exit(2)
    _keep()
    sys.exit(code if isinstance(code, int) else 0)


def _keep() -> None:
    """When all is said: what was made of the lexicon stays for the next start."""
    load = sys.modules.get("sayso.lexicon.load")
    if load is not None:
        with contextlib.suppress(OSError, KeyboardInterrupt):  # nobody waits for it any more
            sys.stdout.flush()
            load.keep_loaded()
