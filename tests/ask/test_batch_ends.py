"""Workers of a batch end with whoever asked: after Ctrl-C, a kill and an ordinary end. Real
processes, a small farm.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from rationlp.ask.batch import answer_all
from rationlp.errors import Finding, InputError, SolverTrouble
from rationlp.folders import examples_folder

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.skipif(
    not Path("/proc/self/task").is_dir(), reason="children are counted in /proc"
)


def wait_for(what: Callable[[], bool], seconds: float = 60.0) -> bool:
    """Whether it came true in time."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if what():
            return True
        time.sleep(0.02)
    return False


def group_lives(group: int) -> bool:
    """Whether any process of a group is left; one that ended and waits to be counted is none."""
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and os.getpgid(int(entry.name)) == group:
                state = (entry / "stat").read_text().rpartition(")")[2].split()[0]
                if state != "Z":
                    return True
        except (ProcessLookupError, FileNotFoundError):
            continue
    return False


def children(process: subprocess.Popen[str]) -> int:
    """How many processes it has begun and not yet ended."""
    try:
        return len(Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split())
    except FileNotFoundError:
        return 0


@pytest.fixture
def busy() -> Iterator[subprocess.Popen[str]]:
    """`rationlp sure` with work for minutes, both workers begun, in a group of its own."""
    words = ["sure", str(examples_folder() / "few"), "--draws", "2000", "--cores", "2"]
    process = subprocess.Popen(
        [sys.executable, "-m", "rationlp", *words],
        cwd=ROOT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    # Two workers, and the watcher of the library that begins them.
    assert wait_for(lambda: children(process) >= 3 or process.poll() is not None)
    time.sleep(0.3)
    yield process
    if group_lives(process.pid):
        os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


def test_ctrl_c_ends_all_of_it_at_once(busy: subprocess.Popen[str]) -> None:
    """Exit 130, a line on stderr, nothing on stdout, nobody left; as Ctrl-C does it, to the whole
    group.
    """
    begun = time.monotonic()
    os.killpg(busy.pid, signal.SIGINT)
    out, err = busy.communicate(timeout=60)
    took = time.monotonic() - begun
    assert (busy.returncode, out) == (130, "")
    assert "Stopped; nothing was written." in err
    assert "Traceback" not in err
    # A second on a machine of its own; tests share theirs.
    assert took < 5.0
    assert wait_for(lambda: not group_lives(busy.pid), 5.0)


def test_a_killed_command_leaves_nobody_behind(busy: subprocess.Popen[str]) -> None:
    """Killed outright it cannot tell its workers: they see it, and whoever reads its pipe is not
    left waiting.
    """
    busy.kill()
    out, _ = busy.communicate(timeout=60)
    assert out == ""
    assert wait_for(lambda: not group_lives(busy.pid), 10.0)


def half(number: int) -> float:
    """A question of the tests: a worker that is ended, a refusal, or a figure."""
    if number == -1:
        os._exit(3)
    if number == -2:
        raise InputError([Finding("IN101", "here", "nothing", "something")])
    return number / 2


def test_answers_come_in_the_order_of_the_questions() -> None:
    """Whichever worker is quicker."""
    counted: list[tuple[int, int]] = []
    answers = answer_all(half, range(9), 2, lambda done, count: counted.append((done, count)))
    assert answers == tuple(number / 2 for number in range(9))
    assert counted == [(number, 9) for number in range(1, 10)]


def test_what_a_worker_refuses_is_refused_here() -> None:
    """With its findings."""
    with pytest.raises(InputError) as trouble:
        answer_all(half, [1, 2, -2, 4], 2)
    assert trouble.value.findings[0].code == "IN101"


def test_a_worker_that_dies_is_told_of() -> None:
    """Not waited for without end."""
    with pytest.raises(SolverTrouble, match="came to an end before its answer"):
        answer_all(half, [1, 2, -1, 4], 2)


def test_a_finished_run_leaks_nothing() -> None:
    """No process left, and no word of the library about semaphores when the interpreter ends."""
    code = (
        "import sys; sys.path.insert(0, 'tests/ask')\n"
        "from test_batch_ends import half\nfrom rationlp.ask.batch import answer_all\n"
        "if __name__ == '__main__':\n    print(answer_all(half, [1, 2, 3, 4], 2))\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "always", "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "(0.5, 1.0, 1.5, 2.0)\n"
