"""The server as a process: on this machine only, ended when nobody looks, and killed at any time
without loss.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import SimpleNamespace

import pytest

from rationlp.live.folder import UNSAVED, put_by_before
from rationlp.live.serve import _end_when_left
from rationlp.read.farm import read_farm


@contextmanager
def opened(folder: Path) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """`rationlp open`: the process, host and port, and the cookie that its key is good for."""
    command = [sys.executable, "-m", "rationlp", "open", str(folder), "--no-browser"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        try:
            assert process.stderr is not None
            address = process.stderr.readline().split()[-1]
            place, _, key = address.removeprefix("http://").partition("/?key=")
            with closing(http.client.HTTPConnection(place)) as line:
                line.request("GET", f"/?key={key}")
                cookie = line.getresponse().headers["Set-Cookie"].partition(";")[0]
            yield process, place, cookie
        finally:
            process.kill()


def asked(
    place: str, cookie: str, path: str, content: object = None, **heads: str
) -> tuple[int, bytes]:
    """Status and body of an answer."""
    headers = {"cookie": cookie, "content-type": "application/json", **heads}
    method = "GET" if content is None else "POST"
    with closing(http.client.HTTPConnection(place)) as line:
        line.request(method, path, None if content is None else json.dumps(content), headers)
        answer = line.getresponse()
        return answer.status, answer.read()


def test_only_this_machine_and_only_our_page(folder: Path) -> None:
    """The port is shut on every other address of the machine, and to what is not our page; Ctrl-C
    ends it, and the trial waits beside the farm.
    """
    edits = {"page": "a", "serial": 1, "edits": [{"path": "cows.head", "value": 12}], "try": True}
    with opened(folder) as (process, place, cookie):
        port = int(place.rpartition(":")[2])
        every = socket.getaddrinfo(socket.gethostname(), None, type=socket.SOCK_STREAM)
        for family, other in {(info[0], str(info[4][0])) for info in every}:
            if not other.startswith("127."):
                with closing(socket.socket(family)) as knocking:
                    knocking.settimeout(2.0)
                    assert knocking.connect_ex((other, port)) != 0
        assert asked(place, cookie, "/api/state")[0] == 200
        assert asked(place, "rationlp-key=stolen", "/api/state")[0] == 403
        assert asked(place, cookie, "/api/state", host="evil.example")[0] == 403
        assert asked(place, cookie, "/api/edits", edits, origin="http://evil.example")[0] == 403
        assert asked(place, cookie, "/api/edits", edits)[0] == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(20.0) == 0
    waiting = put_by_before(folder / UNSAVED)
    assert waiting is not None
    assert waiting.tried == {"cows.head": "12"}


@pytest.mark.parametrize(("seen", "pages", "ends"), [(True, 0, True), (False, 0, False),
                                                      (True, 1, False)])  # fmt: skip
def test_it_ends_when_the_last_page_is_closed(seen: bool, pages: int, ends: bool) -> None:
    """After a time of grace, and never before a first page was there."""
    server = SimpleNamespace(should_exit=False)
    live = SimpleNamespace(seen=seen, pages=set(range(pages)))

    async def wait() -> None:
        task = asyncio.create_task(_end_when_left(server, live, 0.2))  # type: ignore[arg-type]
        await asyncio.sleep(0.6)
        task.cancel()

    asyncio.run(wait())
    assert server.should_exit is ends


SAVING = """
import sys
from pathlib import Path
from rationlp.live.solving import Process
from rationlp.live.table import Table

Process.ask = lambda self, job: None
folder, told = Path(sys.argv[1]), Path(sys.argv[2])
table = Table(folder, lambda event, content: None)
head = int(sys.argv[3])
while True:
    head += 1
    edits = [{"path": "cows.head", "value": head}]
    edits += [{"path": "barley.price_per_t_fresh", "value": head}]
    table.take("a", head, edits, False)
    with told.open("a") as line:
        line.write(f"made {head}\\n")
    table.save()
    with told.open("a") as line:
        line.write(f"saved {head}\\n")
"""


def test_killed_while_it_saves_it_loses_nothing(folder: Path, tmp_path: Path) -> None:
    """Whole files, all that was told as saved, and what was not saved is offered."""
    (folder / "prices.csv").write_text("feed,price_per_t_fresh\nbarley,200\n", encoding="utf-8")
    told = tmp_path / "told.txt"
    told.touch()
    head = 20
    for number in range(4):
        command = [sys.executable, "-c", SAVING, str(folder), str(told), str(head)]
        with subprocess.Popen(command) as process:
            lines = len(told.read_text().splitlines())
            while process.poll() is None and len(told.read_text().splitlines()) < lines + 3:
                time.sleep(0.01)
            time.sleep(0.003 * number)
            process.kill()
        last = [int(line.split()[1]) for line in told.read_text().splitlines()]
        saved = [int(line.split()[1]) for line in told.read_text().splitlines() if "saved" in line]
        farm = read_farm(folder)
        group = next(group for group in farm.groups if group.id == "cows")
        price = next(one for one in farm.offers if one.id == "barley").price_per_t_fresh
        assert group.head >= saved[-1]
        assert price >= saved[-1]
        waiting = put_by_before(folder / UNSAVED)
        kept = {} if waiting is None else waiting.kept
        assert max(group.head, int(kept.get("cows.head", "0"))) >= last[-1]
        assert max(price, float(kept.get("barley.price_per_t_fresh", "0"))) >= last[-1]
        head = int(group.head)
        (folder / UNSAVED).unlink(missing_ok=True)
