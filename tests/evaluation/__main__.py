"""`python -m tests.evaluation claims|check|withheld|compare|negation`."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation", description="How well listings are read.")
    commands = parser.add_subparsers(dest="command", required=True)
    claims = commands.add_parser("claims", help="score the audits of a corpus against its gold")
    claims.add_argument("--corpus", choices=("listings", "languages", "own", "blind", "all"), default="listings")
    claims.add_argument("--held-out", action="store_true", help="only the rows of 'own' that no rule was tuned to")
    claims.add_argument("--id", action="append", default=[], help="only this listing (may be repeated)")
    claims.add_argument("--worst", type=int, default=10, metavar="N")
    claims.add_argument("--json", action="store_true")
    claims.add_argument("--feature", metavar="F", help="only what concerns this feature (with --diff)")
    claims.add_argument("--diff", action="store_true", help="every wrong claim and state, with its quotes")
    commands.add_parser("check", help="fail where a figure is worse than floors.toml allows")
    withheld = commands.add_parser("withheld", help="five-way: terms learned from one part withheld from it")
    withheld.add_argument("--corpus", choices=("listings", "languages", "own", "blind", "all"), default="listings")
    compare = commands.add_parser("compare", help="gains and losses between two revisions, claim by claim")
    compare.add_argument("before")
    compare.add_argument("after")
    compare.add_argument("--corpus", choices=("listings", "languages", "own", "blind", "all"), default="all")
    negation = commands.add_parser("negation", help="assertion status beside other tools, on the same rows")
    negation.add_argument("--kit", help="the NegEx kit as JSON Lines")
    negation.add_argument("--wrong", action="store_true", help="show the rows that sayso gets wrong")
    o = parser.parse_args(argv)
    return _COMMANDS[o.command](o)


def _claims(o: argparse.Namespace) -> int:
    from tests.evaluation import corpora, show
    from tests.evaluation.run import audit_all
    from tests.evaluation.score import score

    rows = [
        r for r in corpora.load(o.corpus) if (not o.held_out or r.get("held_out")) and (not o.id or r["id"] in o.id)
    ]
    result = score(rows, audit_all(rows, corpora.overlays(o.corpus)))
    if o.json:
        print(json.dumps(result.figures()))
    elif o.diff:
        print(*show.diff(result, o.feature), sep="\n")
    else:
        print(*show.figures(result), "", *show.per_feature(result), "", sep="\n")
        print(*show.confusion(result), "", *show.worst(result, o.worst), sep="\n")
    return 0


def _check(o: argparse.Namespace) -> int:
    from tests.evaluation.floors import faults

    held = True
    for good, line in faults():
        held &= good
        print(("ok    " if good else "FELL  ") + line)
    return 0 if held else 1


def _withheld(o: argparse.Namespace) -> int:
    from tests.evaluation.withheld import report

    print(*report(o.corpus), sep="\n")
    return 0


def _compare(o: argparse.Namespace) -> int:
    from tests.evaluation.compare import report

    print(*report(o.before, o.after, o.corpus), sep="\n")
    return 0


def _negation(o: argparse.Namespace) -> int:
    from tests.evaluation.negation import report

    print(*report(o.kit, wrong=o.wrong), sep="\n")
    return 0


_COMMANDS = {
    "claims": _claims,
    "check": _check,
    "withheld": _withheld,
    "compare": _compare,
    "negation": _negation,
}

if __name__ == "__main__":
    sys.exit(main())
