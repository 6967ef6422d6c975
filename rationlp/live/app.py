"""The addresses of the page: what each answers, and nothing but that."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import asynccontextmanager, suppress
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from rationlp.errors import InputError, RationError
from rationlp.live.apart import apart
from rationlp.live.edits import fault_of
from rationlp.live.handles import things
from rationlp.live.place_asked import LONG, PLACES
from rationlp.live.table import Table

Json = dict[str, Any]
PAGE = Path(__file__).resolve().parents[1] / "page"
PING_S, LOOK_S = 15.0, 2.0
"""So often an open page hears that we are there, and the folder is looked at [s]."""
MOST_EDITS = 200
"""Edits in one request."""
_TYPES = {
    ".html": "text/html", ".js": "text/javascript", ".css": "text/css",
    ".svg": "image/svg+xml", ".txt": "text/plain",
}  # fmt: skip


class Live:
    """The program behind the page. folder: of the farm, None where one is still to be made inside
    `where`.
    """

    def __init__(self, folder: Path | None, where: Path) -> None:
        self.where = where
        self.table: Table | None = None if folder is None else Table(folder, self.tell)
        self.pages: set[asyncio.Queue[tuple[str, Json]]] = set()
        self.seen = False
        self._loop: asyncio.AbstractEventLoop | None = None
        self._told_of: list[str] = []

    def tell(self, event: str, content: Json) -> None:
        """Tell every open page of an event; from any thread."""
        if self._loop is not None:
            with suppress(RuntimeError):  # the loop has ended: nobody is there to be told
                self._loop.call_soon_threadsafe(self._put, event, content)

    def _put(self, event: str, content: Json) -> None:
        for queue in self.pages:
            if event == "state":
                _drop_older(queue)
            queue.put_nowait((event, content))

    @asynccontextmanager
    async def life(self, app: Starlette) -> AsyncIterator[None]:
        """From the first answer asked for to the end of the processes that solve."""
        self._loop = asyncio.get_running_loop()
        if self.table is not None:
            self.table.start()
        looking = asyncio.create_task(self._look())
        yield
        looking.cancel()
        self._loop = None
        if self.table is not None:
            await run_in_threadpool(self.table.end)

    async def _look(self) -> None:
        """Look at the folder now and then, and tell of files that changed on disk."""
        while True:
            await asyncio.sleep(LOOK_S)
            if self.table is None:
                continue
            await run_in_threadpool(self.table.put_by)
            names = await run_in_threadpool(self.table.on_disk)
            if names != self._told_of:
                self._told_of = names
                self.tell("file", {"files": names})
                self.tell("state", self.table.news())


def _drop_older(queue: asyncio.Queue[tuple[str, Json]]) -> None:
    """A page that is told of a state needs none before it."""
    waiting = [queue.get_nowait() for _ in range(queue.qsize())]
    for event in waiting:
        if event[0] != "state":
            queue.put_nowait(event)


Handler = Callable[[Live, Request], Awaitable[Response]]


def application(live: Live) -> Starlette:
    """The application, before its guard."""

    def bound(handler: Handler) -> Callable[[Request], Awaitable[Response]]:
        async def answer(request: Request) -> Response:
            try:
                return await handler(live, request)
            except InputError as trouble:
                return _refused(live, trouble)
            except RationError as trouble:
                fault = {"code": "IN906", "place": "answer", "path": "", "found": str(trouble)}
                remedy = "put the last change back"
                return JSONResponse({"faults": [{**fault, "remedy": remedy}]}, 422)
            except (ValueError, ClientDisconnect, RecursionError):
                return JSONResponse({"faults": [_NO_JSON]}, 422)

        return answer

    pages = [Route(f"/{name}", bound(_index)) for name in ("", *PLACES, "new")]
    gets = {
        "state": _state, "things": _things, "places/{name}": _place, "events": _events,
        "new": _new_questions,
    }  # fmt: skip
    posts = {
        "edits": _edits, "undo": _step, "redo": _step, "keep": _step, "forget": _step,
        "sets": _sets, "save": _save, "reload": _reload, "offered": _offered, "papers": _papers,
        "new": _new,
    }  # fmt: skip
    routes = [
        *pages,
        Route("/favicon.ico", bound(_no_icon)),
        Route("/page/{name}", bound(_file)),
        Route("/page/{inner}/{name}", bound(_file)),
        *(Route(f"/api/{path}", bound(one), methods=["GET"]) for path, one in gets.items()),
        *(Route(f"/api/{path}", bound(one), methods=["POST"]) for path, one in posts.items()),
    ]
    return Starlette(routes=routes, lifespan=live.life)


_NO_JSON = {
    "code": "IN902", "place": "request", "path": "", "found": "it is not what this address takes",
    "remedy": "read the page anew",
}  # fmt: skip


def _refused(live: Live, trouble: InputError) -> Response:
    codes = {finding.code for finding in trouble.findings}
    paths: list[str] = []
    more: Json = {}
    if live.table is not None:
        paths = [*live.table.edits.kept, *live.table.edits.tried]
        if "IN905" in codes:
            more = live.table.versions()
    status = 409 if codes & {"IN903", "IN905"} else 422
    return JSONResponse(
        {"faults": [fault_of(finding, paths) for finding in trouble.findings], **more}, status
    )


async def _sent(request: Request) -> Json:
    """The content of a request. Raises ValueError for what is no object of JSON."""
    content = json.loads(await request.body() or b"{}")
    if not isinstance(content, dict):
        raise ValueError("no object")
    return content


def _table(live: Live) -> Table:
    """The table. Raises ValueError where there is no farm yet."""
    if live.table is None:
        raise ValueError("no farm")
    return live.table


async def _index(live: Live, request: Request) -> Response:
    return FileResponse(PAGE / "index.html", media_type="text/html")


async def _no_icon(live: Live, request: Request) -> Response:
    """What browsers ask for by themselves: there is none."""
    return Response(status_code=204)


async def _file(live: Live, request: Request) -> Response:
    """A file of the page, by a name that is among those there are."""
    inner, name = request.path_params.get("inner", ""), request.path_params["name"]
    folder = PAGE if not inner else PAGE / inner
    known = {path.name for path in PAGE.iterdir()} if not inner else set()
    if inner and inner in {path.name for path in PAGE.iterdir() if path.is_dir()}:
        known = {path.name for path in folder.iterdir()}
    path = folder / name
    if name not in known or not path.is_file() or path.suffix not in _TYPES:
        return Response("no such file", 404)
    return FileResponse(path, media_type=_TYPES[path.suffix])


async def _state(live: Live, request: Request) -> Response:
    if live.table is None:
        return JSONResponse({"new": True, "version": 0})
    has = _marks(request.query_params)
    return JSONResponse(await run_in_threadpool(live.table.state, has))


def _day(typed: object) -> date | None:
    """A day as the page sends it, None for none. Raises ValueError for what is no day."""
    return None if typed in (None, "", "null") else date.fromisoformat(str(typed))


def _marks(sent: Mapping[str, Any]) -> dict[str, int]:
    """Marks of the answers that a page has, of what it sent."""
    texts = {name: str(sent.get(name, ""))[:15] for name in ("answer", "before")}
    return {name: int(text) for name, text in texts.items() if text.isdecimal()}


async def _things(live: Live, request: Request) -> Response:
    table = _table(live)
    return JSONResponse({"things": await run_in_threadpool(things, table.begun, table.now.farm)})


async def _place(live: Live, request: Request) -> Response:
    # The stories of all commands, and papers below, are loaded when one is asked for.
    from rationlp.live.places import place

    name, table = request.path_params["name"], _table(live)
    if name not in PLACES:
        return Response("no such place", 404)
    farm, day = table.now.farm, _day(request.query_params.get("day"))
    if day is not None and not farm.start <= day <= farm.turnout:
        day = None
    asked = replace(table.asked(day), spread=request.query_params.get("spread") == "1")
    if name in LONG:
        return JSONResponse(await run_in_threadpool(apart, place, name, asked))
    return JSONResponse(await run_in_threadpool(place, name, asked))


async def _events(live: Live, request: Request) -> Response:
    """Server-sent events, until the page goes away."""
    queue: asyncio.Queue[tuple[str, Json]] = asyncio.Queue()

    async def told() -> AsyncIterator[str]:
        live.pages.add(queue)
        live.seen = True
        try:
            if live.table is not None:
                queue.put_nowait(("state", live.table.news()))
            while True:
                try:
                    event, content = await asyncio.wait_for(queue.get(), PING_S)
                except TimeoutError:
                    event, content = "ping", {}
                yield f"event: {event}\ndata: {json.dumps(content)}\n\n"
        finally:
            live.pages.discard(queue)

    return StreamingResponse(told(), media_type="text/event-stream")


async def _edits(live: Live, request: Request) -> Response:
    sent, table = await _sent(request), _table(live)
    edits, serial, page = sent.get("edits"), sent.get("serial"), sent.get("page")
    if not isinstance(edits, list) or not 0 < len(edits) <= MOST_EDITS:
        raise ValueError("no edits")
    if isinstance(serial, bool) or not isinstance(serial, int) or not isinstance(page, str):
        raise ValueError("no serial number")
    trying = sent.get("try") is True
    answer = await run_in_threadpool(table.take, page[:80], serial, edits, trying)
    if trying:
        answer["quick"] = await run_in_threadpool(table.quick, _day(sent.get("day")))
    has = sent.get("has")
    if isinstance(has, dict):
        answer["state"] = await run_in_threadpool(table.state, _marks(has))
    return JSONResponse(answer)


async def _step(live: Live, request: Request) -> Response:
    table = _table(live)
    await run_in_threadpool(table.step, request.url.path.rpartition("/")[2])
    return JSONResponse({"version": table.version})


async def _sets(live: Live, request: Request) -> Response:
    sent, table = await _sent(request), _table(live)
    name = sent.get("name")
    if not isinstance(name, str) or not name.strip():
        raise ValueError("no name")
    await run_in_threadpool(
        table.sets, name.strip(), sent.get("use") is True, sent.get("gone") is True
    )
    return JSONResponse({"version": table.version})


async def _save(live: Live, request: Request) -> Response:
    return JSONResponse({"written": await run_in_threadpool(_table(live).save)})


async def _reload(live: Live, request: Request) -> Response:
    table = _table(live)
    await run_in_threadpool(table.reload)
    return JSONResponse({"version": table.version})


async def _offered(live: Live, request: Request) -> Response:
    sent, table = await _sent(request), _table(live)
    await run_in_threadpool(table.take_offered, sent.get("take") is True)
    return JSONResponse({"version": table.version})


async def _papers(live: Live, request: Request) -> Response:
    from rationlp.live.papers import paper

    sent, table = await _sent(request), _table(live)
    return JSONResponse(await run_in_threadpool(table.take_paper, paper, sent))


async def _new_questions(live: Live, request: Request) -> Response:
    from rationlp.live.papers import new_farm_questions

    return JSONResponse(await run_in_threadpool(new_farm_questions))


async def _new(live: Live, request: Request) -> Response:
    from rationlp.live.papers import new_farm

    sent = await _sent(request)
    if live.table is not None:
        raise ValueError("there is a farm")
    folder = await run_in_threadpool(new_farm, live.where, sent)
    live.table = await run_in_threadpool(Table, folder, live.tell)
    live.table.start()
    return JSONResponse({"version": live.table.version})
