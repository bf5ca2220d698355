"""Finished messages as files: each appears whole, once, and only after it is on record.

A batch is written aside and flushed. When the register has it, its files move into place, and the
batch is dropped when that is flushed too; a run that is killed between the two, or a machine that
stops, leaves the batch aside, and the next run finishes or drops it. An outbox has a name of its
own, by which the register knows it wherever its folder is put.
"""

from __future__ import annotations

import ctypes
import os
import re
import secrets
import shutil
import sys
import tempfile
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from enum import Enum
from functools import partial
from hashlib import sha256
from pathlib import Path

from aftercare.errors import OutOfReach
from aftercare.model import Channel

_ASIDE, _LOCK = ".aftercare-batch-", ".aftercare-lock"
# Where a message of a channel goes, and how its file ends.
PLACES: Mapping[Channel, tuple[str, str]] = {
    Channel.SMS: ("sms", ".txt"),
    Channel.EMAIL: ("email", ".eml"),
    Channel.PRINT: ("letters", ".pdf"),
}
_FOLDER = {end: folder for folder, end in PLACES.values()}
_NAME = re.compile(r"[0-9a-f]{16}")
_NAME_BYTES = 16
_KEY = re.compile(r"[0-9]+/[a-z0-9-]+/[0-9-]+(@([0-9]+T[0-9]+Z)?(-[0-9]+)?)?")
_AGAIN = "the next run goes on from here; nothing is lost"


def name_of(key: str, channel: Channel) -> str:
    """The name of a reminder's file, the same whenever it is written, with nothing personal."""
    if not _KEY.fullmatch(key):
        raise ValueError("not the key of a reminder")
    return key.replace("/", ".").replace("@", "_") + PLACES[channel][1]


def key_of_name(name: str) -> str:
    """The key of the reminder a file is of."""
    return name.rpartition(".")[0].replace(".", "/").replace("_", "@")


# The digest of each of these keys that is marked as prepared in a batch of this name.
Digests = Callable[[Iterable[str], str], Mapping[str, str]]


class Outbox:
    """A folder of finished messages, used by one run at a time, in one process or more: `held`."""

    def __init__(self, folder: Path, name: str, lock: int) -> None:
        self.folder, self.name, self.lock = folder, name, lock

    def batch(self) -> Path:
        """A new place aside for the files of one batch."""
        with _refusals(self.folder):
            return Path(tempfile.mkdtemp(prefix=_ASIDE, dir=self.folder))

    def place(self, batch: Path, keys: Collection[str] | None = None) -> int:
        """Move a batch into place, or those of ``keys`` alone, and drop the rest. How many."""
        with _refusals(self.folder):
            names = [n for n in _names(batch) if keys is None or key_of_name(n) in keys]
            for name in names:
                _move(f"{batch}/{name}", f"{self.folder}/{_FOLDER[name[-4:]]}/{name}")
            # Else, after a power cut, they might be neither here nor there.
            _flush_moves(batch, {self.folder / _FOLDER[name[-4:]] for name in names})
            shutil.rmtree(batch)
            return len(names)

    def recover(self, digests: Digests) -> int:
        """Finish what a killed run left: place what the register has, drop the rest. How many."""
        with _refusals(self.folder):
            return sum(map(partial(self._recovered, digests), self._batches()))

    def _batches(self) -> list[Path]:
        return sorted(self.folder.glob(f"{_ASIDE}*"))

    def _recovered(self, digests: Digests, batch: Path) -> int:
        names = _names(batch)
        known = digests(map(key_of_name, names), batch.name)
        ours = {
            key_of_name(name)
            for name in names
            if known.get(key_of_name(name)) == _digest(batch / name)
        }
        return self.place(batch, ours)


def _move(here: str, there: str) -> None:
    """Move a file to a name that is free.

    A name that is there already is never replaced. Nobody else puts files there meanwhile: the
    folder is held. A move leaves nothing behind that a later run could move again.
    """
    if os.path.lexists(there) and _digest(Path(here)) != _digest(Path(there)):
        raise OutOfReach(
            there, "another message of that name is there",
            "write to a folder of this register alone",
        )  # fmt: skip
    os.rename(here, there)  # noqa: PTH104


def _names(batch: Path) -> list[str]:
    return sorted(path.name for path in batch.iterdir())


def _digest(path: Path) -> str:
    return sha256(path.read_bytes()).hexdigest()


@contextmanager
def held(folder: Path) -> Iterator[Outbox]:
    """The outbox, held against every other run until the block ends, or the process dies."""
    with _refusals(folder):
        for sub, _ in PLACES.values():
            (folder / sub).mkdir(parents=True, exist_ok=True, mode=0o700)
        lock = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        if not _locked(lock):
            raise OutOfReach(
                str(folder), "another run is writing there", "wait until it has ended"
            )  # fmt: skip
        with _refusals(folder):
            name = _read_name(lock) or _new_name(lock)
        yield Outbox(folder, name, lock)
    finally:
        os.close(lock)


class NotHeld(Enum):
    """Why an outbox cannot be held: somebody writes there, or it is not there."""

    BUSY = "busy"
    GONE = "gone"


@contextmanager
def held_again(folder: Path, name: str) -> Iterator[Outbox | NotHeld]:
    """The outbox of a name, where it was; nothing is made when it is there no more."""
    try:
        lock = os.open(folder / _LOCK, os.O_RDWR)
    except OSError:
        yield NotHeld.GONE
        return
    try:
        if _read_name(lock) != name:
            yield NotHeld.GONE
        else:
            yield Outbox(folder, name, lock) if _locked(lock) else NotHeld.BUSY
    finally:
        os.close(lock)


def _locked(descriptor: int) -> bool:
    if sys.platform != "win32":
        import fcntl

        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True


def _read_name(lock: int) -> str | None:
    """The name of an outbox; None before it has one."""
    said = os.pread(lock, _NAME_BYTES + 1, 0).decode("ascii", "replace")
    return said if _NAME.fullmatch(said) else None


def _new_name(lock: int) -> str:
    name = secrets.token_hex(_NAME_BYTES // 2)
    os.ftruncate(lock, 0)
    os.pwrite(lock, name.encode(), 0)
    os.fsync(lock)
    return name


def write_batch(batch: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write the files of a batch, readable by their owner alone, and flush them all at once."""
    with _refusals(batch.parent):
        for name, raw in files:
            descriptor = os.open(f"{batch}/{name}", os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            try:
                _write(descriptor, raw)
            finally:
                os.close(descriptor)
        _flush(batch)


def _write(descriptor: int, raw: bytes) -> None:
    written = os.write(descriptor, raw)
    while written < len(raw):
        written += os.write(descriptor, raw[written:])


def _flush(batch: Path) -> None:
    """Make files and names last through a power cut."""
    if not _flushed_at_once(batch):
        for name in _names(batch):
            _flush_one(batch / name, os.O_RDWR)
        _flush_folder(batch)


def _flush_moves(batch: Path, folders: Collection[Path]) -> None:
    """Make what was moved from a batch into folders last through a power cut, in all of them."""
    if not _flushed_at_once(batch):
        for folder in (*sorted(folders), batch):
            _flush_folder(folder)


def _flushed_at_once(folder: Path) -> bool:
    """Flush the whole of a folder's file system, where the system has a call for that.

    It waits for the disk once, and not for each file or folder.
    """
    sync = getattr(ctypes.CDLL(None), "syncfs", None) if sys.platform == "linux" else None
    if sync is None:
        return False
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        return bool(sync(descriptor) == 0)
    finally:
        os.close(descriptor)


def _flush_folder(folder: Path) -> None:
    if sys.platform != "win32":  # where a folder cannot be flushed
        _flush_one(folder, os.O_RDONLY)


def _flush_one(path: Path, opened: int) -> None:
    descriptor = os.open(path, opened)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def _refusals(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutOfReach(str(folder), error.strerror or "cannot be written", _AGAIN) from None
