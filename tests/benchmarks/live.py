"""Speed of the live page, the whole server process asked over its port as a browser asks it: first
answer, a price of a group, the whole winter settled and proved, what is sent, memory.

Run with the environment's own python; prints one table, asserts nothing. Medians of several.
Beside the clock stands the processor time that the server and its processes took (Linux), which
tells more where others use the machine: by it a target is met or not. `--edits N` makes so many for
the memory (2000).
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
from collections.abc import Callable
from pathlib import Path
from typing import Any

from run import ENVIRONMENT, EXAMPLE, ROOT
from tabulate import tabulate

STARTS, MOVES, WINTERS = 5, 100, 5
EDITS = 2000
PRICE = "rapeseed_meal_extracted.price_per_t_fresh"
FIRST_MS, MOVE_MS, SETTLED_MS, SENT_KB, GROWTH_MB = 1500.0, 50.0, 300.0, 300.0, 2.0
"""Targets."""
Row = tuple[str, str, str, str, str]
"""What was measured, by the clock, by processor time, target, and whether it is met."""


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

    def move(self, path: str, value: Any, has: Any = None) -> Any:
        """A slider moved. has: marks of the answers that the page has, for a state without them."""
        self.serial += 1
        edits = [{"path": path, "value": value}]
        sent = {"page": "one", "serial": self.serial, "edits": edits, "try": True, "has": has}
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

    def own_seconds(self) -> float:
        """Processor time of the server alone, to the microsecond; of threads that are there [s]."""
        threads = (Path("/proc") / str(self.process.pid) / "task").glob("*/schedstat")
        return sum(int(path.read_text(encoding="utf-8").split()[0]) for path in threads) / 1e9

    def megabytes(self) -> float:
        """Memory that the server itself holds [MB]."""
        status = (Path("/proc") / str(self.process.pid) / "status").read_text(encoding="utf-8")
        line = next(line for line in status.splitlines() if line.startswith("VmRSS"))
        return float(line.split()[1]) / 1000.0

    def end(self) -> None:
        """End the server."""
        self.process.terminate()
        self.process.wait(10.0)


def row(what: str, seconds: float, busy: float | None = None, most_ms: float | None = None) -> Row:
    """One row of the report. busy: processor time [s]; most_ms: its target."""
    judged = 1e3 * (seconds if busy is None else busy)
    met = "" if most_ms is None else "met" if judged <= most_ms else "NOT MET"
    beside = "" if busy is None else f"{1e3 * busy:.0f} ms"
    return (
        what,
        f"{1e3 * seconds:.0f} ms",
        beside,
        "" if most_ms is None else f"{most_ms:.0f} ms",
        met,
    )


def amount(what: str, value: float, unit: str, most: float | None = None) -> Row:
    """A row of what is no time."""
    met = "" if most is None else "met" if value <= most else "NOT MET"
    return what, f"{value:.1f} {unit}", "", "" if most is None else f"{most:.0f} {unit}", met


def first_answers(folder: Path) -> list[Row]:
    """From the start of the command to the first rations that the page has."""
    times, busy = [], []
    for _ in range(STARTS):
        server = Server(folder)
        while not json.loads(server.ask("/api/state"))["answer"]:
            time.sleep(0.01)
        times.append(time.perf_counter() - server.begun)
        busy.append(server.seconds())
        server.end()
    return [row("first answer", statistics.median(times), statistics.median(busy), FIRST_MS)]


def moves(server: Server) -> list[Row]:
    """A price of one group: asked, settled and answered, and the state after it."""
    times, busy = [], []
    for number in range(MOVES):
        begun, start = time.perf_counter(), server.own_seconds()
        answer = server.move(PRICE, 260 + number)
        times.append(time.perf_counter() - begun)
        busy.append(server.own_seconds() - start)
        assert answer["quick"]["groups"], answer
        time.sleep(0.02)
    times.sort()
    busy.sort()
    last = int(0.95 * MOVES)
    begun = time.perf_counter()
    size = len(server.ask("/api/state"))
    return [
        row("a price moved, median", statistics.median(times), statistics.median(busy)),
        row("a price moved, 95th percentile", times[last], busy[last], MOVE_MS),
        row(f"the state read, {size / 1000:.0f} kB", time.perf_counter() - begun),
    ]


def winters(server: Server) -> list[Row]:
    """From a slider's move to the settled winter, and from there to the proved one."""
    asked: dict[str, Callable[[int], tuple[str, Any]]] = {
        "a price": lambda number: (PRICE, 300 + number),
        "head": lambda number: ("high.head", 90 + number),
        "dry matter of a silage": lambda number: ("first_cut.dm_g_per_kg", 270 + number),
        "turnout": lambda number: ("winter.turnout", f"2027-04-{10 + number:02d}"),
    }
    rows = []
    for what, edit in asked.items():
        times, busy, version = [], [], 0
        for number in range(WINTERS):
            begun, start = time.perf_counter(), server.seconds()
            version = server.move(*edit(number))["version"]
            times.append(server.wait("settled", version) - begun)
            busy.append(server.seconds() - start)
        name, middle = f"the winter settled, {what}", statistics.median(times)
        rows.append(row(name, middle, statistics.median(busy), SETTLED_MS))
        begun = time.perf_counter()
        server.wait("proved", version)
        rows.append(row(f"… and then proved, {what}", time.perf_counter() - begun))
    return rows


def sent(server: Server) -> list[Row]:
    """All that a page reads before it shows the winter, and a slider's answer after that."""
    names = sorted(path.name for path in (ROOT / "rationlp" / "page").rglob("*.*"))
    files = sum(len(server.ask(f"/page/{name}")) for name in names)
    state = server.ask("/api/state")
    marks = {"answer": json.loads(state)["answer"]["mark"], "before": ""}
    server.move(PRICE, 251, marks)
    answer = json.dumps(server.move(PRICE, 252, marks))
    return [
        amount("all that is sent", (files + len(state)) / 1000.0, "kB", SENT_KB),
        amount("a slider's answer", len(answer) / 1000.0, "kB"),
    ]


def memory(server: Server, count: int) -> list[Row]:
    """Memory of the server after a tenth of so many edits, and its growth to the last of them."""
    early = 0.0
    for number in range(count + 1):
        server.move(PRICE if number % 3 else "barley.price_per_t_fresh", 150 + number % 97)
        if number == count // 10:
            early = server.megabytes()
    return [
        amount(f"memory after {count // 10} edits", early, "MB"),
        amount(f"growth to {count} edits", server.megabytes() - early, "MB", GROWTH_MB),
    ]


def main() -> None:
    """The whole report."""
    count = EDITS
    if "--edits" in sys.argv:
        count = int(sys.argv[sys.argv.index("--edits") + 1])
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(shutil.copytree(EXAMPLE, Path(scratch) / "farm"))
        rows = first_answers(folder)
        server = Server(folder)
        try:
            server.listen()
            server.wait("proved", 1)
            rows += sent(server)
            rows += [*moves(server), *winters(server), *memory(server, count)]
        finally:
            server.end()
    heads = ("", "clock", "processor", "target", "")
    sys.stdout.write(tabulate(rows, heads, tablefmt="github") + "\n")


if __name__ == "__main__":
    main()
