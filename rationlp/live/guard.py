"""The door: only this machine, only the browser that was given the key, only our own address."""

from __future__ import annotations

import secrets
from hmac import compare_digest
from http.cookies import CookieError, SimpleCookie
from typing import Any

from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "rationlp-key"
MOST_BYTES = 8_000_000
"""A longer request is no edit and no paper of a farm [bytes]; a paper comes in base64."""
POLICY = (
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none';"
    " object-src 'none'"
)
_NO_KEY = "no key: open the address that the program printed"
_USED = (
    "This address lets one browser in, once. Go on in that browser, or end `rationlp open` with"
    " Ctrl-C, start it again and open the new address."
)
_HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


class Keys:
    """The key of the first address, good once, and that of the cookie it is exchanged for."""

    def __init__(self) -> None:
        self.first = secrets.token_urlsafe(32)
        self.cookie = secrets.token_urlsafe(32)
        self._used = False

    def exchange(self, typed: str) -> bool:
        """Whether a first key is right and not used yet; from now on it is used."""
        if self._used or not compare_digest(typed.encode(), self.first.encode()):
            return False
        self._used = True
        return True


class Guard:
    """Lets through what comes from our own page; everything else gets 403, and too much 413.

    port: of the server, once it is known.
    """

    def __init__(self, app: ASGIApp, keys: Keys, port: int) -> None:
        self._app, self._keys = app, keys
        self._hosts = (f"127.0.0.1:{port}", f"localhost:{port}")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or hand it on."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *_HEADERS]
            await send(message)

        answer = self._answer(scope)
        if answer is not None:
            await answer(scope, receive, with_headers)
            return
        await self._app(scope, _limited(receive), with_headers)

    def _answer(self, scope: Scope) -> Response | None:
        """What to say instead; None to let the request through."""
        headers = {
            key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]
        }
        host = headers.get("host", "")
        if host not in self._hosts:
            return _no("another host")
        if headers.get("origin", f"http://{host}") != f"http://{host}":
            return _no("another origin")
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            typed_in = scope["path"] == "/" and scope["method"] == "GET"
            if not typed_in:
                return _no("another site")
        if scope["method"] not in ("GET", "POST"):
            return JSONResponse(_fault("a method that is not used here"), 405)
        size = headers.get("content-length", "0")
        if not size.isdigit() or int(size) > MOST_BYTES:
            return JSONResponse(_fault("more than a farm's page sends"), 413)
        query = scope["query_string"].decode("latin-1")
        let_in = _has(headers.get("cookie", ""), self._keys.cookie)
        in_the_bar = scope["method"] == "GET" and scope["path"] == "/"
        if in_the_bar and query.startswith("key="):
            return self._first(query.removeprefix("key="), let_in)
        if in_the_bar and not let_in:
            return PlainTextResponse(_NO_KEY, 403)
        if not let_in:
            return _no(_NO_KEY)
        wanted = "application/json"
        if scope["method"] == "POST" and headers.get("content-type", "").split(";")[0] != wanted:
            return JSONResponse(_fault("no JSON"), 415)
        return None

    def _first(self, typed: str, let_in: bool) -> Response:
        """The key of the address for the browser's own; who was let in before stays so."""
        if let_in:
            return RedirectResponse("/", 303)
        if not self._keys.exchange(typed):
            return PlainTextResponse(_USED, 403)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(COOKIE, self._keys.cookie, httponly=True, samesite="strict", path="/")
        return answer


def _has(text: str, key: str) -> bool:
    try:
        cookie = SimpleCookie(text).get(COOKIE)
    except CookieError:
        return False
    return cookie is not None and compare_digest(cookie.value.encode(), key.encode())


def _no(found: str) -> Response:
    return JSONResponse(_fault(found), 403)


def _fault(found: str) -> dict[str, Any]:
    remedy = "use the page that `rationlp open` opened"
    fault = {"code": "IN901", "place": "request", "path": "", "found": found, "remedy": remedy}
    return {"faults": [fault]}


def _limited(receive: Receive) -> Receive:
    """A body that grows past the most is cut off, whatever its heading said."""
    read = 0

    async def limited() -> Message:
        nonlocal read
        message = await receive()
        read += len(message.get("body", b""))
        if read > MOST_BYTES:
            return {"type": "http.disconnect"}
        return message

    return limited
