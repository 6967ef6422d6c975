"""The server of the page: a free port of this machine, one key, and an end when nobody looks."""

from __future__ import annotations

import asyncio
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from rationlp.live.app import Live, application
from rationlp.live.guard import Guard, Keys

GRACE_S = 30.0
"""So long after its last page was closed the program waits for another one [s]."""


def serve(
    folder: Path | None,
    where: Path,
    say: Callable[[str], None],
    browser: bool = True,
    port: int = 0,
    grace_s: float = GRACE_S,
) -> None:
    """Show a farm in the browser until Ctrl-C, or until its last page is closed.

    folder: of the farm, None to make one inside `where`. say: told of the address. port: 0 for any
    that is free. Raises InputError where the farm cannot be read, OSError for a port in use.
    """
    serve_live(Live(folder, where), say, browser, port, grace_s)


def serve_live(
    live: Live,
    say: Callable[[str], None],
    browser: bool = True,
    port: int = 0,
    grace_s: float = GRACE_S,
) -> None:
    """The same of a farm that is at the table already."""
    keys = Keys()
    with socket.socket() as door:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind(("127.0.0.1", port))
        number = door.getsockname()[1]
        app = Guard(application(live), keys, number)
        settings = uvicorn.Config(
            app, log_level="error", access_log=False, lifespan="on", ws="none", loop="asyncio",
            timeout_graceful_shutdown=1, server_header=False,
        )  # fmt: skip
        server = uvicorn.Server(settings)
        address = f"http://127.0.0.1:{number}/?key={keys.first}"
        asyncio.run(_run(server, door, live, (address, say, browser, grace_s)))


async def _run(
    server: uvicorn.Server,
    door: socket.socket,
    live: Live,
    opening: tuple[str, Callable[[str], None], bool, float],
) -> None:
    address, say, browser, grace_s = opening
    ending = asyncio.create_task(_end_when_left(server, live, grace_s))
    serving = asyncio.create_task(server.serve(sockets=[door]))
    while not server.started and not serving.done():
        await asyncio.sleep(0.01)
    say(address)
    if browser:
        await asyncio.to_thread(webbrowser.open, address)
    await serving
    ending.cancel()


async def _end_when_left(server: uvicorn.Server, live: Live, grace_s: float) -> None:
    """End the server when no page has been open for a while; never before the first."""
    alone = 0.0
    while True:
        await asyncio.sleep(0.25)
        alone = 0.0 if live.pages or not live.seen else alone + 0.25
        if alone >= grace_s:
            server.should_exit = True
            return
