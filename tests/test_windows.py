"""Most farms run Windows: nothing in the package needs a POSIX system, files are replaced as
Windows allows, text files name their encoding, consoles without UTF-8 get plain signs.
"""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path
from typing import IO, Any

import pytest

from rationlp.cli.console_signs import plain_sign
from rationlp.report.files import write_whole

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "rationlp"

POSIX_MODULES = frozenset(
    {"crypt", "curses", "fcntl", "grp", "nis", "ossaudiodev", "posix", "posixpath", "pty", "pwd",
     "readline", "resource", "spwd", "syslog", "termios", "tty"}
)  # fmt: skip
POSIX_CALLS = {
    "os": {
        "chown", "chroot", "ctermid", "fchmod", "fchown", "fork", "forkpty", "getegid", "geteuid",
        "getgid", "getgroups", "getloadavg", "getpgid", "getpriority", "getresuid", "getsid",
        "getuid", "killpg", "lchown", "lockf", "mkfifo", "mknod", "nice", "openpty", "pathconf",
        "pipe2", "posix_spawn", "rename", "sched_getaffinity", "sendfile", "setgid", "setsid",
        "setuid", "statvfs", "sync", "sysconf", "uname", "wait", "wait3", "wait4", "waitid",
        "O_CLOEXEC", "O_DIRECTORY", "O_NOFOLLOW", "O_NONBLOCK", "O_SYNC", "O_TMPFILE",
    },
    "signal": {
        "SIGALRM", "SIGCHLD", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP", "SIGTSTP",
        "SIGUSR1", "SIGUSR2", "SIGWINCH", "alarm", "pause", "pthread_kill", "setitimer",
        "sigwait", "siginterrupt",
    },
    "time": {"clock_gettime", "tzset"},
    "select": {"epoll", "kqueue", "poll"},
}  # fmt: skip
"""Names that Windows lacks, by the Python documentation's "Availability: Unix"; `os.rename` because
it does not replace a file there.
"""


@pytest.fixture(scope="module")
def trees() -> dict[str, ast.Module]:
    """Every module of the package, by its path: parsed where it is asked for, not in every run."""
    return {
        path.relative_to(PACKAGE).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for path in PACKAGE.rglob("*.py")
    }


def _elsewhere(tree: ast.AST) -> set[ast.AST]:
    """What is only reached where the system is not Windows: after the `else` of a question for it,
    whose answer yes does something of its own.
    """
    asked = (node for node in ast.walk(tree) if isinstance(node, ast.If))
    return {
        inside
        for node in asked
        if ast.unparse(node.test) == "os.name == 'nt'"
        for other in node.orelse
        for inside in ast.walk(other)
    }


def _modules(tree: ast.AST) -> set[str]:
    modules: set[str] = set()
    elsewhere = _elsewhere(tree)
    for node in ast.walk(tree):
        if node in elsewhere:
            continue
        if isinstance(node, ast.Import):
            modules |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            modules.add(node.module.split(".")[0])
    return modules


def _guarded(tree: ast.AST) -> set[str]:
    """Names that are only used where the system has them: `hasattr(os, "…")`."""
    return {
        node.args[1].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and getattr(node.func, "id", "") == "hasattr"
        and isinstance(node.args[1], ast.Constant)
    }


def _posix_names(tree: ast.AST) -> list[str]:
    """Names of POSIX alone that are used without a guard."""
    names = []
    guarded = _guarded(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in POSIX_CALLS.get(node.value.id, set()) - guarded:
                names.append(f"{node.value.id}.{node.attr}")
        elif isinstance(node, ast.ImportFrom):
            banned = POSIX_CALLS.get(node.module or "", set())
            names += [f"{node.module}.{alias.name}" for alias in node.names if alias.name in banned]
    return names


def _without_encoding(tree: ast.AST) -> list[int]:
    """Lines that read or write text in whatever encoding the system has."""
    lines = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        words = {keyword.arg for keyword in node.keywords}
        modes = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
        is_method = isinstance(node.func, ast.Attribute)
        is_text = is_method and name in ("read_text", "write_text")
        if name == "open" and not is_method:
            is_text = not any("b" in str(mode) for mode in modes)
        if is_text and "encoding" not in words:
            lines.append(node.lineno)
    return lines


def _strftime_dashes(tree: ast.AST) -> list[str]:
    """Formats such as %-d, which only POSIX systems know."""
    texts = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
    return [text for text in texts if isinstance(text, str) and "%-" in text]


def test_nothing_needs_a_posix_system(trees: dict[str, ast.Module]) -> None:
    """No module, call or constant that Windows lacks, at import or later."""
    modules = {path: _modules(tree) & POSIX_MODULES for path, tree in trees.items()}
    assert {path: found for path, found in modules.items() if found} == {}
    names = {path: _posix_names(tree) for path, tree in trees.items()}
    assert {path: found for path, found in names.items() if found} == {}
    dates = {path: _strftime_dashes(tree) for path, tree in trees.items()}
    assert {path: found for path, found in dates.items() if found} == {}


def test_the_search_above_finds_what_it_looks_for() -> None:
    """Both directions."""
    tree = ast.parse("import fcntl\nimport os\nos.getuid()\nfrom signal import SIGKILL\n")
    assert _modules(tree) & POSIX_MODULES == {"fcntl"}
    assert sorted(_posix_names(tree)) == ["os.getuid", "signal.SIGKILL"]
    guarded = ast.parse('import os\nhasattr(os, "getuid") and os.getuid()\n')
    assert _posix_names(guarded) == []
    assert _without_encoding(ast.parse("path.read_text()\nopen('x', 'rb')\nopen('x')")) == [1, 3]
    assert _strftime_dashes(ast.parse("day.strftime('%-d %B')")) == ["%-d %B"]


def test_every_text_file_names_its_encoding(trees: dict[str, ast.Module]) -> None:
    """Windows reads in the code page of the country where nothing is said."""
    lines = {path: _without_encoding(tree) for path, tree in trees.items()}
    assert {path: found for path, found in lines.items() if found} == {}


def test_a_file_is_closed_before_it_replaces_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows moves no file that is open; `os.replace` takes the place of the old one there too."""
    opened: list[IO[Any]] = []
    replaced: list[Path] = []
    real_open, real_replace = Path.open, os.replace

    def watched_open(path: Path, *args: Any, **words: Any) -> IO[Any]:
        handle: IO[Any] = real_open(path, *args, **words)
        opened.append(handle)
        return handle

    def watched_replace(part: Path, target: Path) -> None:
        assert opened
        assert all(handle.closed for handle in opened)
        replaced.append(target)
        real_replace(part, target)

    monkeypatch.setattr(Path, "open", watched_open)
    monkeypatch.setattr(os, "replace", watched_replace)
    target = tmp_path / "plan.json"
    for text in ("first", "second"):
        write_whole(target, text, ())
    assert replaced == [target, target]
    assert target.read_text(encoding="utf-8") == "second"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_a_console_without_utf_8_gets_plain_signs(encoding: str) -> None:
    """A ration on the code pages of Windows: no traceback, no codes of signs, readable words."""
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "COLUMNS": "100"}
    done = subprocess.run(
        [sys.executable, "-m", "rationlp", "needs", "examples/few", "--full"],
        capture_output=True,
        check=False,
        cwd=ROOT,
        env=environment,
    )
    assert done.returncode == 0, done.stderr
    text = done.stdout.decode(encoding)
    assert "\\x" not in text
    assert "\\u" not in text
    assert "what a head requires a day" in text


@pytest.mark.parametrize(
    ("sign", "plain"),
    [("–", "-"), ("−", "-"), ("×", "x"), ("≥", ">="), ("é", "e"), ("³", "3"), ("☃", "\\u2603")],
)
def test_a_sign_is_put_plainly(sign: str, plain: str) -> None:
    """By the table, without its accent, or by its code."""
    assert plain_sign(sign) == plain
