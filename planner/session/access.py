"""Who gets in: this machine's own names only, no other site's pages, and whoever has the key.

* A request names the host that it believes to speak to. A page of another site whose name was made to point here
  (DNS rebinding) names that site: only 127.0.0.1, localhost and [::1] are answered, on any port (people forward
  it), and an Origin must be the same host.
* The address that the command line prints carries a key. Whoever comes with it gets a cookie that scripts cannot
  read and other sites cannot send; without one of the two nobody gets in, other users of the machine included.
"""

from __future__ import annotations

import html
import secrets
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, quote, urlencode, urlsplit

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.responses import HTMLResponse, PlainTextResponse, Response

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["ACCESS", "Access", "Door", "is_own_host", "is_own_origin"]

OWN_NAMES = ("127.0.0.1", "localhost", "[::1]")
OPEN_PATHS = ("/_stcore/health",)
"""What tells nothing but that the server runs."""
KEY_BYTES = 32
NOT_HERE = (
    "The planner answers to 127.0.0.1, localhost and [::1] only, and to no page of another site; "
    "open the address that its command line printed.\n"
)
NO_KEY = (
    "The planner opens to those who have its key: open the whole address that its command line printed, "
    "key included. If it was started anew, it printed a new one.\n"
)
HEADERS = {"content-security-policy": "frame-ancestors 'self'", "cross-origin-resource-policy": "same-origin"}
"""No page of another site may hold ours in a frame, or take images and files from it."""
ENTRY = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Mosaic planner</title>
<meta http-equiv="refresh" content="0; url={target}"><a href="{target}">Mosaic planner</a></html>"""
"""Goes on from our own page: a mere redirect would count as another site's, and the cookie would not be sent."""


class Access:
    """The key of a server that runs, and the cookie that stands for it.

    Parameters
    ----------
    needs_key : bool
    """

    def __init__(self, needs_key: bool = True) -> None:
        self.needs_key = needs_key
        self.key = secrets.token_urlsafe(KEY_BYTES)
        self._cookie = secrets.token_urlsafe(KEY_BYTES)
        self._tickets: set[str] = set()

    def ticket(self) -> str:
        """Return a key that opens once: what opens a browser stands in the list of processes for all to read."""
        ticket = secrets.token_urlsafe(KEY_BYTES)
        self._tickets.add(ticket)
        return ticket

    def opens(self, key: str) -> bool:
        """Whether a key is the right one; a ticket is used up."""
        if key in self._tickets:
            self._tickets.discard(key)
            return True
        return _equal(key, self.key)

    def knows(self, cookie: str) -> bool:
        """Whether a cookie is ours."""
        return _equal(cookie, self._cookie)

    def set_cookie(self, response: Response, name: str) -> None:
        """Give the cookie along: for this browser until it is closed, unseen by scripts and other sites."""
        response.set_cookie(name, self._cookie, path="/", httponly=True, samesite="strict")


ACCESS = Access()
"""Of the server of this process."""


def is_own_host(host: str) -> bool:
    """Whether a Host header names this machine itself.

    >>> is_own_host("localhost:8501"), is_own_host("[::1]"), is_own_host("127.0.0.1.example:8501")
    (True, True, False)
    """
    name, colon, port = host.rpartition(":") if not host.endswith("]") else (host, "", "")
    if not colon:
        name = host
    elif not (port.isascii() and port.isdigit() and len(port) <= 5 and int(port) <= 65535):
        return False
    return name.lower() in OWN_NAMES


def is_own_origin(origin: str, host: str) -> bool:
    """Whether an Origin header is the host that was asked.

    >>> is_own_origin("http://localhost:8501", "localhost:8501"), is_own_origin("null", "localhost:8501")
    (True, False)
    """
    scheme, _, rest = origin.partition("://")
    return scheme.lower() in ("http", "https") and rest.lower() == host.lower()


class Door:
    """Stands before all that the server answers: pages, files, uploads, the websocket, the canvas' route.

    Parameters
    ----------
    app : ASGI application
    access : Access
    """

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self._app, self._access = app, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        answer = _refusal(Headers(scope=scope)) or self._at_the_lock(scope)
        if answer is None:
            await self._app(scope, receive, _with_headers(send))
        else:
            await _answered(answer, scope, receive, send)

    def _at_the_lock(self, scope: Scope) -> Response | None:
        """Return what a request that is none of another site's gets here; None lets it in."""
        headers, path = Headers(scope=scope), scope["path"]
        name = _cookie_name(headers["host"])
        known = self._access.knows(cookie_parser(headers.get("cookie", "")).get(name, ""))
        asked = parse_qsl(scope["query_string"].decode("latin-1"), keep_blank_values=True)
        key = next((value for one, value in asked if one == "key"), None)
        if not self._access.needs_key or known or path in OPEN_PATHS:
            return None if key is None else _entry(path, asked)
        if key is None or not self._access.opens(key):
            return PlainTextResponse(NO_KEY, status_code=403)
        response = _entry(path, asked)
        self._access.set_cookie(response, name)
        return response


def _refusal(headers: Headers) -> Response | None:
    """Return the answer to what comes from another site, or believes to speak to one."""
    hosts, origins = headers.getlist("host"), headers.getlist("origin")
    ours = len(hosts) == 1 and is_own_host(hosts[0]) and len(origins) <= 1
    if ours and all(is_own_origin(origin, hosts[0]) for origin in origins):
        return None
    return PlainTextResponse(NOT_HERE, status_code=400)


def _cookie_name(host: str) -> str:
    """Return the cookie's name: browsers keep one set of cookies for all ports of a host."""
    port = urlsplit(f"//{host}").port
    return f"mosaic_planner_{port or 80}"


def _entry(path: str, asked: list[tuple[str, str]]) -> Response:
    """Return the page that goes on to the same address without the key."""
    rest = urlencode([pair for pair in asked if pair[0] != "key"])
    target = "/" + quote(path.lstrip("/\\")) + (f"?{rest}" if rest else "")
    page = HTMLResponse(ENTRY.format(target=html.escape(target)), headers=HEADERS)
    page.headers["referrer-policy"] = "no-referrer"
    page.headers["cache-control"] = "no-store"
    return page


async def _answered(answer: Response, scope: Scope, receive: Receive, send: Send) -> None:
    """Send an answer; to a websocket's handshake too, as plain HTTP where the server can."""
    if scope["type"] == "http" or "websocket.http.response" in scope.get("extensions", {}):
        await answer(scope, receive, send)
    else:
        await send({"type": "websocket.close", "code": 1008})


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            found = Headers(raw=message["headers"])
            more = [(name.encode(), text.encode()) for name, text in HEADERS.items() if name not in found]
            message = {**message, "headers": [*message["headers"], *more]}
        await send(message)

    return sent


def _equal(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())
