"""`sayso page`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from sayso.cli import Fault
from sayso.cli.options import Casebook, Overlays

if TYPE_CHECKING:
    import socket

    from sayso.lexicon import Lexicon

app = typer.Typer(add_completion=False, rich_markup_mode=None)

HOST = "127.0.0.1"
USUAL_PORT = 33450
"""Taken where it is free, so that the address of a case still leads to it the next time."""


@app.command()
def page(
    port: Annotated[
        int | None, typer.Option(help=f"Port on this machine; 0 takes a free one. {USUAL_PORT} where it is free.")
    ] = None,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the browser.")] = False,
    case: Annotated[int | None, typer.Option(metavar="NUMBER", help="Begin at this case.")] = None,
    lexicon: Overlays = None,
    casebook: Casebook = None,
) -> None:
    """The same in a browser, on this machine only: paste, ask, keep, check the parcel."""
    from sayso.cli import shared

    try:
        import uvicorn

        from sayso.page.app import make_app
    except ModuleNotFoundError as error:
        raise Fault(f"the page needs {error.name}; install it with: pip install 'sayso[page]'") from None
    if port is not None and not 0 <= port <= 65535:
        raise Fault("--port must be between 0 and 65535")
    data = shared.load(lexicon)
    door = _door(port)
    port = door.getsockname()[1]
    address = f"http://{HOST}:{port}/{f'cases/{case}' if case is not None else ''}"
    print(f"Open {address} in a browser on this machine. Ctrl-C ends it.", flush=True)
    _warm(data)
    if not no_open:
        _open_soon(address)
    config = uvicorn.Config(
        make_app(data, port, casebook),
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        ws="none",
        limit_concurrency=40,
        timeout_keep_alive=15,
        h11_max_incomplete_event_size=64_000,
    )
    uvicorn.Server(config).run(sockets=[door])


def _door(port: int | None) -> socket.socket:
    """A socket that already listens: whoever follows the address at once waits instead of being turned away."""
    import socket

    fault: OSError | None = None
    for choice in (USUAL_PORT, 0) if port is None else (port,):
        door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            door.bind((HOST, choice))
            door.listen(64)
        except OSError as error:
            door.close()
            fault = error
        else:
            return door
    why = fault.strerror if fault else ""
    raise Fault(f"--port: {port} cannot be used ({why}); choose another, or leave it out")


def _warm(lexicon: Lexicon) -> None:
    """Read what the first audit needs while the user is still pasting."""
    import threading

    from sayso.engine import audit_text

    threading.Thread(target=audit_text, args=("A record.", lexicon), daemon=True).start()


def _open_soon(address: str) -> None:
    """Open the browser once the page answers, which it does within moments of starting."""
    import threading
    import webbrowser

    timer = threading.Timer(0.7, webbrowser.open, [address])
    timer.daemon = True
    timer.start()
