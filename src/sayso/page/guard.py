"""What stands before every request: whom it may come from, how large it may be, how long it may take, what may run.

The page is for the browser of this machine alone. A name that leads here from elsewhere (DNS rebinding) is stopped by
the Host header; a form on another site by Origin and Sec-Fetch-Site (Fetch Metadata, W3C).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

MOST_BYTES = 6_000_000
MOST_SECONDS = 60.0
LONGER = {"/wishlist": 180.0}
"""Where many listings are read at once."""
POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; connect-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
    (b"cache-control", b"no-store"),
)

Refusal = Callable[[int, str], Any]


class Guard:
    """ASGI middleware. `refuse(status, phrase)` gives the response for what is turned away."""

    def __init__(self, app: Any, *, port: int, refuse: Refusal, seconds: float = MOST_SECONDS) -> None:
        self.app, self.refuse, self.seconds = app, refuse, seconds
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        started = False

        async def dressed(message: Any) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                message = {**message, "headers": [*message["headers"], *HEADERS]}
            await send(message)

        refused = self._refused(scope)
        if refused is not None:
            await self.refuse(*refused)(scope, receive, dressed)
            return
        try:
            async with asyncio.timeout(LONGER.get(scope["path"], self.seconds)):
                body = await self._body(receive)
                if body is None:
                    await self.refuse(413, "page.fault.big")(scope, receive, dressed)
                    return
                await self.app(scope, _replay(body, receive), dressed)
        except TimeoutError:
            if not started:
                await self.refuse(503, "page.fault.slow")(scope, receive, dressed)

    def _refused(self, scope: Any) -> tuple[int, str] | None:
        headers: dict[bytes, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name.lower(), []).append(value.decode("latin-1"))
        if headers.get(b"host", [""]) not in ([host] for host in self.hosts):
            return 421, "page.fault.refused"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "page.fault.missing"
        if scope["method"] == "POST":
            origin = headers.get(b"origin", [])
            if len(origin) != 1 or origin[0] not in self.origins:
                return 403, "page.fault.refused"
            if headers.get(b"sec-fetch-site", ["same-origin"]) != ["same-origin"]:
                return 403, "page.fault.refused"
        length = headers.get(b"content-length", ["0"])[0]
        if not length.isdigit() or int(length) > MOST_BYTES:
            return 413, "page.fault.big"
        return None

    async def _body(self, receive: Any) -> bytes | None:
        """The whole body, or null where it is larger than is taken, whatever its head says."""
        out = bytearray()
        while True:
            message = await receive()
            if message["type"] != "http.request":
                return bytes(out)
            out += message.get("body", b"")
            if len(out) > MOST_BYTES:
                return None
            if not message.get("more_body", False):
                return bytes(out)


def _replay(body: bytes, receive: Any) -> Any:
    given = False

    async def again() -> Any:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again
