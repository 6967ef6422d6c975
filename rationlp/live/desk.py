"""What one running `rationlp open` has of a farm's folder for itself: a file of unsaved edits, so
that two of them on one farm lose nothing of each other, and all of the folder while it saves.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from rationlp.errors import refused
from rationlp.live.edits import Edits
from rationlp.live.folder import UNSAVED, not_put_by, put_by_before

LOCK = ".rationlp-open-{}.lock"
SAVING = ".rationlp-saving.lock"
MOST = 50
"""More than so many on one farm share the last one's file."""
WAIT_S, LOOK_S = 10.0, 0.02
"""So long another one may take to save, and so often one looks whether it has [s]."""
BESIDE = (
    "This farm is open in another run of the program too. Each keeps its own edits; what the other"
    " saves is noticed here, and never written over."
)
_NUMBERED = re.compile(r"^\.rationlp-unsaved(?:-(\d{1,2}))?\.json$")


class Lock:
    """A file that one process at a time holds; the system lets go of it when the process ends,
    however it ends.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file = -1

    def take(self) -> bool:
        """Whether it is held now; False where another one holds it. Raises OSError where the
        folder cannot be written.
        """
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
        file = os.open(self.path, flags, 0o600)
        if _hold(file) and _is_still(self.path, file):
            self._file = file
            return True
        os.close(file)
        return False

    def leave(self) -> None:
        """Let go of it and take the file away."""
        if self._file < 0:
            return
        file, self._file = self._file, -1
        if os.name != "nt":  # while it is held: another one's is never taken away
            self.path.unlink(missing_ok=True)
        os.close(file)


def _hold(file: int) -> bool:
    """Hold a file, if nobody does."""
    try:
        if os.name == "nt":
            import msvcrt

            getattr(msvcrt, "locking")(file, getattr(msvcrt, "LK_NBLCK"), 1)  # noqa: B009
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _is_still(path: Path, file: int) -> bool:
    """Whether a file that was opened was not taken away since."""
    with suppress(OSError):
        return os.path.samestat(path.stat(), os.fstat(file))
    return False


class Desk:
    """A place of its own at a farm for one running program."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.number, self._lock = 1, Lock(folder / LOCK.format(1))
        with suppress(OSError):  # what cannot be written can still be looked at
            while not self._lock.take() and self.number < MOST:
                self.number += 1
                self._lock = Lock(folder / LOCK.format(self.number))

    @property
    def unsaved(self) -> Path:
        """The file in which its edits wait."""
        return _unsaved(self.folder, self.number)

    def left_before(self) -> Edits | None:
        """The edits that programs which ended left here, the newest last; None where there are
        none. They are in this one's own file from then on.
        """
        left, others = put_by_before(self.unsaved), list(self._of_the_ended())
        for path in sorted(others, key=_written):
            edits = put_by_before(path)
            if edits is not None:
                left = edits if left is None else left.with_later(edits)
        if left is None or (others and not_put_by(self.unsaved, left)):
            return left
        for path in others:
            path.unlink(missing_ok=True)
        return left

    def _of_the_ended(self) -> Iterator[Path]:
        """Files of unsaved edits of others that run no more."""
        for path in self.folder.glob(".rationlp-unsaved*.json"):
            named = _NUMBERED.match(path.name)
            if named is None or path.is_symlink() or path == self.unsaved:
                continue
            if not self._runs(int(named[1] or 1)):
                yield path

    def _runs(self, number: int) -> bool:
        """Whether another one has this place."""
        lock = Lock(self.folder / LOCK.format(number))
        if number == self.number or not lock.path.exists():
            return False
        with suppress(OSError):
            if lock.take():
                lock.leave()
                return False
        return True

    def others(self) -> bool:
        """Whether another one shows the farm too."""
        numbers = (path.name.split("-")[-1].partition(".")[0] for path in self._locks())
        return any(self._runs(int(number)) for number in numbers if number.isdigit())

    def _locks(self) -> Iterator[Path]:
        yield from self.folder.glob(LOCK.format("*"))

    def put_by(self, edits: Edits) -> str:
        """Keep edits that are not saved; why they cannot be, empty where they are."""
        return not_put_by(self.unsaved, edits)

    @contextmanager
    def saving(self) -> Iterator[None]:
        """The folder for itself, from the look whether its files changed to their writing. Raises
        InputError (IN604) where another one does not let go of it.
        """
        lock, ends = Lock(self.folder / SAVING), time.monotonic() + WAIT_S
        try:
            while not lock.take():
                if time.monotonic() > ends:
                    found, remedy = "another run of the program is saving it", "save once more"
                    raise refused("IN604", self.folder.name, found, remedy)
                time.sleep(LOOK_S)
        except OSError:
            yield  # it cannot be written: what is written next says so
            return
        try:
            yield
        finally:
            lock.leave()

    def leave(self) -> None:
        """The place is free for another one."""
        self._lock.leave()


def _unsaved(folder: Path, number: int) -> Path:
    if number == 1:
        return folder / UNSAVED
    return folder / UNSAVED.replace(".json", f"-{number}.json")


def _written(path: Path) -> float:
    """When a file was written."""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0
