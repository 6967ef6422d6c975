"""Speed of the live page, the whole server process asked over its port as a browser asks it: first
answer, a price of a group, the whole winter settled and proved, what is sent, memory.

Run with the environment's own python; prints a table, asserts nothing. Medians of several. Beside
each time stands the processor time that the server and its processes took (Linux), which tells more
than the clock where others use the machine. `--edits N` makes so many for the memory (2000).
"""

from __future__ import annotations

import http.client
import json
import os
import queue
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from run import ENVIRONMENT, EXAMPLE, ROOT

STARTS, MOVES, WINTERS = 5, 100, 5
EDITS = 2000
PRICE = "rapeseed_meal_extracted.price_per_t_fresh"


class Server:
    """`rationlp open` on a copy of a farm, and one page on it."""

    def __init__(self, folder: Path) -> None:
        self.begun = time.perf_counter()
        command = [sys.executable, "-m", "rationlp", "open", str(folder), "--no-browser"]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=ENVIRONMENT, stderr=subprocess.PIPE, text=True
        )
        assert self.process.stderr is not None
        address = self.process.stderr.readline().split()[-1]
        place, _, key = address.removeprefix("http://").partition("/?key=")
        self.place = place
        self.line = http.client.HTTPConnection(place)
        self.line.request("GET", f"/?key={key}")
        answer = self.line.getresponse()
        answer.read()
        self.cookie = answer.headers["Set-Cookie"].partition(";")[0]
        self.serial = 0
        self.events: queue.Queue[tuple[float, str]] = queue.Queue()

    def ask(self, path: str, content: Any = None) -> bytes:
        """What an address answers."""
        heads = {"cookie": self.cookie, "content-type": "application/json"}
        if content is None:
            self.line.request("GET", path, headers=heads)
        else:
            self.line.request("POST", path, json.dumps(content), heads)
        return self.line.getresponse().read()

    def move(self, path: str, value: Any) -> Any:
        """A slider moved."""
        self.serial += 1
        edits = [{"path": path, "value": value}]
        sent = {"page": "one", "serial": self.serial, "edits": edits, "try": True}
        return json.loads(self.ask("/api/edits", sent))

    def listen(self) -> None:
        """Hear every state that is told, with the time at which it was."""
        line = http.client.HTTPConnection(self.place)
        line.request("GET", "/api/events", headers={"cookie": self.cookie})
        answer = line.getresponse()

        def hear() -> None:
            for packed in answer:
                text = packed.decode()
                if text.startswith("data: ") and "phase" in text:
                    self.events.put((time.perf_counter(), text))

        threading.Thread(target=hear, daemon=True).start()

    def wait(self, phase: str, version: int) -> float:
        """When a phase of an answer was told. Opens the line anew: an idle one is shut."""
        self.line.close()
        while True:
            when, text = self.events.get(timeout=120.0)
            told = json.loads(text.removeprefix("data: "))
            if told["version"] == version and told["phase"] in (phase, "proved", "none"):
                return when

    def processes(self) -> list[Path]:
        """The server and the processes that it began, as the system tells of them."""
        every = [path for path in Path("/proc").iterdir() if path.name.isdigit()]
        parents = {}
        for path in every:
            try:
                stat = (path / "stat").read_text(encoding="utf-8").rpartition(") ")[2].split()
            except OSError:
                continue
            parents[int(path.name)] = int(stat[1])
        own = {self.process.pid}
        while more := {pid for pid, parent in parents.items() if parent in own} - own:
            own |= more
        return [Path("/proc") / str(pid) for pid in own]

    def seconds(self) -> float:
        """Processor time of the server and all its processes, ended ones too [s]."""
        ticks = 0
        for path in self.processes():
            stat = (path / "stat").read_text(encoding="utf-8").rpartition(") ")[2].split()
            ticks += sum(int(part) for part in stat[11:15])
        return ticks / os.sysconf("SC_CLK_TCK")

    def megabytes(self) -> float:
        """Memory that the server itself holds [MB]."""
        status = (Path("/proc") / str(self.process.pid) / "status").read_text(encoding="utf-8")
        line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
        return float(line.split()[1]) / 1000.0

    def end(self) -> None:
        """End the server."""
        self.process.terminate()
        self.process.wait(10.0)


def line(what: str, seconds: float, busy: float | None, target: str) -> None:
    """One row of the report."""
    beside = "" if busy is None else f"{1e3 * busy:7.0f} ms busy"
    sys.stdout.write(f"{what:52s} {1e3 * seconds:8.1f} ms {beside:16s} {target}\n")


def first_answers(folder: Path) -> None:
    """From the start of the command to the first rations that the page has."""
    times, busy = [], []
    for _ in range(STARTS):
        server = Server(folder)
        while not json.loads(server.ask("/api/state"))["answer"]:
            time.sleep(0.01)
        times.append(time.perf_counter() - server.begun)
        busy.append(server.seconds())
        server.end()
    line("first answer", statistics.median(times), statistics.median(busy), "1500 ms")


def moves(server: Server) -> None:
    """A price of one group: asked, settled and answered, and the state after it."""
    times, start = [], server.seconds()
    for number in range(MOVES):
        begun = time.perf_counter()
        answer = server.move(PRICE, 260 + number)
        times.append(time.perf_counter() - begun)
        assert answer["quick"]["groups"], answer
        time.sleep(0.02)
    busy = (server.seconds() - start) / MOVES
    line("a price moved, median", statistics.median(times), busy, "")
    line("a price moved, 95th percentile", statistics.quantiles(times, n=20)[-1], None, "50 ms")
    begun = time.perf_counter()
    size = len(server.ask("/api/state"))
    line("the state read", time.perf_counter() - begun, None, f"{size / 1000:.0f} kB")


def winters(server: Server) -> None:
    """From a slider's move to the settled winter, and for a price to the proved one too."""
    asked: dict[str, Callable[[int], tuple[str, Any]]] = {
        "a price": lambda number: (PRICE, 300 + number),
        "head": lambda number: ("high.head", 90 + number),
        "dry matter of a silage": lambda number: ("first_cut.dm_g_per_kg", 270 + number),
        "turnout": lambda number: ("winter.turnout", f"2027-04-{10 + number:02d}"),
    }
    for what, edit in asked.items():
        times, busy, version = [], [], 0
        for number in range(WINTERS):
            begun, start = time.perf_counter(), server.seconds()
            version = server.move(*edit(number))["version"]
            times.append(server.wait("settled", version) - begun)
            busy.append(server.seconds() - start)
        name = f"the winter settled, {what}"
        line(name, statistics.median(times), statistics.median(busy), "300 ms")
        begun = time.perf_counter()
        server.wait("proved", version)
        line(f"… and then proved, {what}", time.perf_counter() - begun, None, "")


def sent(server: Server) -> None:
    """All that a page reads before it shows the winter."""
    names = sorted(path.name for path in (ROOT / "rationlp" / "page").rglob("*.*"))
    files = sum(len(server.ask(f"/page/{name}")) for name in names)
    state = len(server.ask("/api/state"))
    total = (files + state) / 1000.0
    sys.stdout.write(f"{'all that is sent':52s} {total:8.0f} kB {'':16s} 300 kB\n")


def memory(server: Server, count: int) -> None:
    """Memory of the server after a tenth of so many edits, and after all of them."""
    shown: Iterator[int] = iter((count // 10, count))
    stop = next(shown)
    for number in range(count + 1):
        server.move(PRICE if number % 3 else "barley.price_per_t_fresh", 150 + number % 97)
        if number == stop:
            sys.stdout.write(f"{f'memory after {number} edits':52s} {server.megabytes():8.1f} MB\n")
            stop = next(shown, -1)


def main() -> None:
    """The whole report."""
    count = EDITS
    if "--edits" in sys.argv:
        count = int(sys.argv[sys.argv.index("--edits") + 1])
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(shutil.copytree(EXAMPLE, Path(scratch) / "farm"))
        first_answers(folder)
        server = Server(folder)
        try:
            server.listen()
            server.wait("proved", 1)
            sent(server)
            server.move(PRICE, 250)
            moves(server)
            winters(server)
            memory(server, count)
        finally:
            server.end()


if __name__ == "__main__":
    main()
