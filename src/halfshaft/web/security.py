"""What every answer carries and what every request must show, so that no other site can use the app behind its user's back."""

from __future__ import annotations

import ipaddress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}
LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Refuses other hosts' names and forms of other sites, and puts the headers on every answer."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str], numbers: bool) -> None:
        self.app = app
        self.hosts = hosts
        # Whether any address in numbers will do for a name: where others may come in, this computer has several.
        self.numbers = numbers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                named = {name for name, _ in message["headers"]}
                own = ((name.encode(), value.encode()) for name, value in HEADERS.items())
                message["headers"] = [*message["headers"], *(pair for pair in own if pair[0] not in named)]
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            from starlette.responses import PlainTextResponse

            await PlainTextResponse(refusal, status_code=403)(scope, receive, send_with_headers)
            return
        await self.app(scope, receive, send_with_headers)

    def _refusal(self, scope: Scope) -> str | None:
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        host = headers.get("host", "")
        # A page elsewhere may have its own name lead to this computer; then the browser sends that name.
        if host_name(host) not in self.hosts and not (self.numbers and is_number(host_name(host))):
            return "this app does not answer to that name; open it by the address that it was started with"
        if scope["method"] in SAFE:
            return None
        origin = headers.get("origin")
        if origin is not None and origin.partition("://")[2] != host:
            return "this came from a page of another site, so nothing was done"
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return "this came from a page of another site, so nothing was done"
        return None


def host_name(host: str) -> str:
    """The name in a Host header, without its port and without the brackets of IPv6."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0]


def is_number(host: str) -> bool:
    """Whether this is an address in numbers."""
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
