"""Folders: a clinic's home read into bytes, and a visit's files written whole or not at all."""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager, suppress
from importlib.resources import files as resource_files
from pathlib import Path
from typing import NoReturn

from aftercare.errors import BadInput, OutOfReach
from aftercare.library.fresh import as_drafts
from aftercare.library.paths import KEPT

PARTS = ("content", "locales", "shared")
# A shelf is a few hundred small files; more is some other folder.
MOST_FILES, MOST_BYTES = 5_000, 64 * 1024 * 1024
# What a run writes beside its target: files not yet in place, and a folder moved out of the way.
_ASIDE, _MOVED = ".aftercare-new-", ".aftercare-was-"
# Writing takes a moment; what has lain aside for an hour belongs to a run that was killed.
_ABANDONED = 3600.0
# renameat2(2) of Linux: both names exchange their folders in one step.
_HERE, _EXCHANGE = -100, 2


# --- Reading ----------------------------------------------------------------------------


def shipped() -> Path:
    """The shelf that comes with the package: inside the wheel, or the checkout it runs from."""
    package = Path(str(resource_files("aftercare")))
    inside = package / "shelf"
    return inside if inside.is_dir() else package.parent


def is_shipped(folder: Path) -> bool:
    """Whether a folder is the shelf inside the installed package, which an update replaces."""
    return folder.resolve() == (Path(str(resource_files("aftercare"))) / "shelf").resolve()


def find_home(named: str | None, environment: Mapping[str, str], here: Path | None) -> Path:
    """The clinic's folder: as named, as in AFTERCARE_HOME, the current one, or the shipped shelf.

    Raises ``BadInput`` when a folder was named and is not a home.
    """
    for source, value in (("--home", named), ("AFTERCARE_HOME", environment.get("AFTERCARE_HOME"))):
        if value:
            home = Path(value)
            if not is_home(home):
                raise BadInput(
                    f"{source} {value}",
                    "no content/ and shared/clinic.toml in it",
                    f"'aftercare init {value}' makes one",
                )
            return home
    return here if here and is_home(here) else shipped()


def is_home(folder: Path) -> bool:
    """Whether a folder holds a shelf that may be looked at."""
    try:
        return (folder / "content").is_dir() and (folder / "shared" / "clinic.toml").is_file()
    except OSError:
        return False


def read_home(home: Path) -> dict[str, bytes]:
    """Every file of a shelf by its path from the home, with ``/``; hidden ones are left out.

    Of hidden folders, only the one that keeps the words last approved is read. Nothing else is
    passed over: a link to a folder, a device or a file that cannot be read raises
    ``OutOfReach``, because a block that silently went missing could harm a patient.
    """
    found: dict[str, bytes] = {}
    room = MOST_BYTES
    for path in _shelf(home):
        found[_name(path, home)] = data = _bytes(path, room)
        room -= len(data)
        if room < 0 or len(found) > MOST_FILES:
            raise OutOfReach(str(home), "too large for a shelf", "name the clinic's own folder")
    return found


def _shelf(home: Path) -> Iterator[Path]:
    for part in PARTS:
        if not (home / part).is_dir():
            continue
        for folder, folders, names in os.walk(home / part, onerror=_refuse):
            kept = [name for name in folders if Path(folder, name) == home / KEPT]
            folders[:] = sorted([name for name in folders if not _hidden(name)] + kept)
            for path in (Path(folder, name) for name in folders):
                if path.is_symlink():
                    raise OutOfReach(
                        str(path),
                        "a link to a folder, which is not followed",
                        "put the folder itself there",
                    )
            yield from (Path(folder, name) for name in sorted(names) if not _hidden(name))


def _refuse(error: OSError) -> NoReturn:
    raise _unreadable(Path(str(error.filename)), error)


def _unreadable(path: Path, error: OSError) -> OutOfReach:
    return OutOfReach(str(path), error.strerror or "unreadable", "check its rights")


def _hidden(name: str) -> bool:
    return name.startswith((".", "~")) or name.endswith("~")


def _name(path: Path, home: Path) -> str:
    name = path.relative_to(home).as_posix()
    try:
        name.encode()
    except UnicodeEncodeError:
        raise OutOfReach(ascii(name), "its name is not UTF-8", "rename it") from None
    return name


def _bytes(path: Path, room: int) -> bytes:
    """The file's bytes, one more than there is room for at most."""
    try:
        if not path.is_file():
            raise OutOfReach(str(path), "not a file that can be read", "take it out of there")
        with path.open("rb") as stream:
            return stream.read(room + 1)
    except OSError as error:
        raise _unreadable(path, error) from None


def read_input(path: Path, limit: int) -> bytes:
    """At most ``limit`` + 1 bytes of a file, so that a huge one is refused without reading it."""
    try:
        with path.open("rb") as stream:
            return stream.read(limit + 1)
    except OSError as error:
        raise BadInput(str(path), error.strerror or "unreadable", "check the name") from None
    except ValueError:
        raise BadInput(ascii(str(path)), "no file can have this name", "check the name") from None


# --- Writing ----------------------------------------------------------------------------


def write_folder(target: Path, contents: Mapping[str, bytes], *, ours: Collection[str]) -> None:
    """Put a folder in place with these files and no others, whole or not at all.

    Written aside, flushed, then exchanged with an older folder of that name; that one goes
    only if it holds nothing but names in ``ours``. Files are readable by their owner alone.
    Raises ``OutOfReach``, leaving what was there.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _check_in_the_way(target, ours)
        aside = Path(tempfile.mkdtemp(prefix=_ASIDE, dir=target.parent))
        try:
            for name, data in contents.items():
                _write_flushed(aside / name, data)
            _flush_folder(aside)
            _swap(aside, target)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise OutOfReach(
            str(target), error.strerror or "cannot be written", "nothing was written there"
        ) from None
    with suppress(OSError):  # the folder is in place; at worst a power cut brings the older back
        _flush_folder(target.parent)


def sweep(folder: Path) -> None:
    """Clear away what killed runs left in a folder an hour ago or earlier.

    A folder that was moved out of the way and whose place is empty goes back there.
    """
    with suppress(OSError):
        for left in sorted(folder.glob(".aftercare-*-*")):
            if left.is_dir() and time.time() - left.stat().st_mtime > _ABANDONED:
                _clear(left, folder)


def _clear(left: Path, folder: Path) -> None:
    if left.name.startswith(_MOVED):
        for was in left.iterdir():
            if not os.path.lexists(folder / was.name):
                was.rename(folder / was.name)
    shutil.rmtree(left, ignore_errors=True)


def _check_in_the_way(target: Path, ours: Collection[str]) -> None:
    """A folder of somebody else's is never replaced, nor a link or a file."""
    if not os.path.lexists(target):
        return
    if target.is_symlink() or not target.is_dir():
        raise FileExistsError(17, "something else of that name is in the way")
    strange = sorted(path.name for path in target.iterdir() if path.name not in ours)
    if strange:
        raise FileExistsError(17, f"the folder holds files of somebody else ({len(strange)})")


def _write_flushed(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _flush_folder(folder: Path) -> None:
    """Make names last through a power cut, where folders can be flushed."""
    if sys.platform != "win32":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _swap(aside: Path, target: Path) -> None:
    """Bring the new folder into place; an older one is then where the new one was.

    A system that cannot exchange two folders needs two steps. A run killed between them
    leaves the older one beside its place, and ``sweep`` puts it back.
    """
    if not target.exists():
        aside.rename(target)
    elif not _exchanged(aside, target):
        _swap_in_two_steps(aside, target)


def _swap_in_two_steps(aside: Path, target: Path) -> None:
    moved = Path(tempfile.mkdtemp(prefix=_MOVED, dir=target.parent), target.name)
    try:
        target.rename(moved)
        try:
            aside.rename(target)
        except OSError:
            moved.rename(target)
            raise
    finally:
        if target.exists():
            shutil.rmtree(moved.parent, ignore_errors=True)


def _exchanged(one: Path, other: Path) -> bool:
    """Whether the system exchanged the two folders in one step."""
    if sys.platform != "linux":
        return False
    exchange = getattr(ctypes.CDLL(None), "renameat2", None)
    names = (_HERE, os.fsencode(one), _HERE, os.fsencode(other))
    return exchange is not None and exchange(*names, _EXCHANGE) == 0


def copy_shelf(source: Path, target: Path) -> None:
    """Start a clinic's own folder from a shelf, every text a draft; whole or not at all.

    Raises ``BadInput`` if something is there already, ``OutOfReach`` if it cannot be written,
    and ``BadContent`` for a text whose approval, somebody else's, cannot be taken off.
    """
    try:
        _check_free(target)
        contents = as_drafts(read_home(source))
        target.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=_ASIDE, dir=target.parent))
        try:
            _write_shelf(aside, contents)
            if target.exists():
                target.rmdir()
            aside.rename(target)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise OutOfReach(
            str(target), error.strerror or "cannot be written", "nothing was written there"
        ) from None


def _check_free(target: Path) -> None:
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput(str(target), "already there and not empty", "name a new folder")
    if target.exists() and target.samefile(Path()):
        raise BadInput(str(target), "is the current folder", "name a new folder in it")


def _write_shelf(folder: Path, contents: Mapping[str, bytes]) -> None:
    for name, data in contents.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    (folder / "out").mkdir()
    folder.chmod(0o755)


@contextmanager
def one_at_a_time(home: Path) -> Iterator[None]:
    """Wait until no other run looks at the files of a folder and puts new ones in their place.

    Held by the folder itself, so that nothing is left lying about; a killed run lets go. Where
    folders cannot be locked, there is no wait. Raises ``OutOfReach`` when the folder is gone.
    """
    if sys.platform == "win32":
        yield
        return
    import fcntl

    try:
        lock = os.open(home, os.O_RDONLY)
    except OSError as error:
        raise _unreadable(home, error) from None
    try:
        with suppress(OSError):  # some network disks
            fcntl.flock(lock, fcntl.LOCK_EX)
        yield
    finally:
        os.close(lock)


def rewrite(contents: Mapping[Path, bytes]) -> None:
    """Put new bytes in the places of files, all of them or none, in the order given.

    Raises ``OutOfReach``. A run killed between two moves leaves the earlier files new and the
    later ones old, so the file that counts comes last.
    """
    made: list[Path] = []
    try:
        for path in contents:
            if not path.parent.is_dir():
                path.parent.mkdir()
                made.append(path.parent)
        _put(contents)
    except OSError as error:
        for folder in made:
            with suppress(OSError):  # somebody else has written there meanwhile
                folder.rmdir()
        *_, last = contents
        raise OutOfReach(
            str(last), error.strerror or "cannot be written", "it stands as it was"
        ) from None


def _put(contents: Mapping[Path, bytes]) -> None:
    """Write aside, then move into place; what was there waits beside until all have moved."""
    older = [path for path in contents if path.exists()]
    moved: list[Path] = []
    try:
        for path in older:
            _write_beside(path, "was", path.read_bytes())
        for path, data in contents.items():
            _write_beside(path, "new", data)
        for path in contents:
            _beside(path, "new").replace(path)
            moved.append(path)
    except OSError:
        for path in moved:
            with suppress(OSError):  # as a killed run would leave it
                _beside(path, "was").replace(path) if path in older else path.unlink()
        raise
    finally:
        for path in contents:
            for word in ("new", "was"):
                with suppress(OSError):
                    _beside(path, word).unlink(missing_ok=True)


def _beside(path: Path, word: str) -> Path:
    # Hidden, so that what a killed run leaves is no part of the shelf.
    return path.with_name(f".{path.name}.aftercare-{word}")


def _write_beside(path: Path, word: str, data: bytes) -> None:
    aside = _beside(path, word)
    aside.unlink(missing_ok=True)
    with aside.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    if path.exists():
        shutil.copymode(path, aside)
