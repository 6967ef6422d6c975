"""Requests to the page's application without a server or a port."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from functools import cache
from threading import Thread
from typing import Any

from rationlp.live.app import Live, application
from rationlp.live.guard import COOKIE, Guard, Keys

PORT = 8123
HOST = f"127.0.0.1:{PORT}"
PATIENCE_S = 120.0
"""So long an answer may take on a slow machine [s]."""


@cache
def _loop() -> asyncio.AbstractEventLoop:
    """The loop in which every application of a test run answers, as a server has one."""
    loop = asyncio.new_event_loop()
    for_ever = asyncio.Event().wait()
    Thread(target=loop.run_until_complete, args=(for_ever,), daemon=True).start()
    return loop


class Answer:
    """Status, headings and body of an answer."""

    def __init__(self, status: int, headers: Mapping[str, str], body: bytes) -> None:
        self.status, self.headers, self.body = status, headers, body

    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


class Browser:
    """What a browser would send to a farm's page."""

    def __init__(self, live: Live) -> None:
        self.keys, self.live = Keys(), live
        self.app = Guard(application(live), self.keys, PORT)
        self.headers = {"host": HOST, "cookie": f"{COOKIE}={self.keys.cookie}"}

    def get(self, path: str, **headers: str) -> Answer:
        """GET an address."""
        return self._ask("GET", path, b"", headers)

    def post(self, path: str, content: Any, **headers: str) -> Answer:
        """POST content as JSON."""
        packed = json.dumps(content).encode()
        return self._ask("POST", path, packed, {"content-type": "application/json", **headers})

    def _ask(self, method: str, path: str, body: bytes, headers: Mapping[str, str]) -> Answer:
        address, _, query = path.partition("?")
        heads = {**self.headers, "content-length": str(len(body)), **headers}
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
            "scheme": "http", "path": address, "raw_path": address.encode(),
            "query_string": query.encode(), "client": ("127.0.0.1", 5),
            "server": ("127.0.0.1", PORT),
            "headers": [(_spelt(name), text.encode()) for name, text in heads.items()],
        }  # fmt: skip
        said: list[Any] = []

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            said.append(message)

        asked = self.app(scope, receive, send)
        asyncio.run_coroutine_threadsafe(asked, _loop()).result(PATIENCE_S)
        found = {k.decode().lower(): v.decode() for k, v in said[0]["headers"]}
        return Answer(said[0]["status"], found, b"".join(one.get("body", b"") for one in said[1:]))


def _spelt(name: str) -> bytes:
    """A heading as it goes over the line: `content_length` is content-length."""
    return name.lower().replace("_", "-").encode()
