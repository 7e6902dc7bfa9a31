"""`sayso schema`."""

from __future__ import annotations

import typer

app = typer.Typer(add_completion=False)


@app.command()
def schema() -> None:
    """Print the JSON Schema of an audit (sayso.audit/1)."""
    import json

    from sayso.report.jsonform import json_schema

    print(json.dumps(json_schema(), indent=2))
