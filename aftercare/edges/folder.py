"""Folders: a clinic's home read into bytes, and a visit's files written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from importlib.resources import files as resource_files
from pathlib import Path

from aftercare.errors import BadInput, OutOfReach

PARTS = ("content", "locales", "shared")
# A shelf is a few hundred small files; more is some other folder.
MOST_FILES, MOST_BYTES = 5_000, 64 * 1024 * 1024


def shipped() -> Path:
    """The shelf that comes with the package: inside the wheel, or the checkout it runs from."""
    package = Path(str(resource_files("aftercare")))
    inside = package / "shelf"
    return inside if inside.is_dir() else package.parent


def find_home(named: str | None, environment: Mapping[str, str], here: Path) -> Path:
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
    return here if is_home(here) else shipped()


def is_home(folder: Path) -> bool:
    """Whether a folder holds a shelf."""
    return (folder / "content").is_dir() and (folder / "shared" / "clinic.toml").is_file()


def read_home(home: Path) -> dict[str, bytes]:
    """Every file of a shelf by its path from the home, with ``/``. Raises ``OutOfReach``."""
    found: dict[str, bytes] = {}
    total = 0
    for part in PARTS:
        for path in sorted((home / part).rglob("*")):
            name = path.relative_to(home).as_posix()
            if not path.is_file() or _hidden(name):
                continue
            found[name] = _bytes(path)
            total += len(found[name])
            if len(found) > MOST_FILES or total > MOST_BYTES:
                raise OutOfReach(str(home), "too large for a shelf", "name the clinic's own folder")
    return found


def _hidden(name: str) -> bool:
    return any(step.startswith((".", "~")) or step.endswith("~") for step in name.split("/"))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise OutOfReach(str(path), error.strerror or "unreadable", "check its rights") from None


def read_input(path: Path, limit: int) -> bytes:
    """At most ``limit`` + 1 bytes of a file, so that a huge one is refused without reading it."""
    try:
        with path.open("rb") as stream:
            return stream.read(limit + 1)
    except OSError as error:
        raise BadInput(str(path), error.strerror or "unreadable", "check the name") from None


def write_folder(target: Path, contents: Mapping[str, bytes]) -> None:
    """Put a folder in place with these files and no others, whole or not at all.

    Written aside, flushed, then renamed; an older folder of that name is replaced. Files
    are readable by their owner alone. Raises ``OutOfReach``, leaving what was there.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=f".{target.name}.", dir=target.parent))
        try:
            for name, data in contents.items():
                _write_flushed(aside / name, data)
            _swap(aside, target)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise OutOfReach(
            str(target), error.strerror or "cannot be written", "nothing was written there"
        ) from None


def _write_flushed(path: Path, data: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _swap(aside: Path, target: Path) -> None:
    """Rename the new folder into place; put the old one back if that fails."""
    if not target.exists():
        aside.rename(target)
        return
    if not target.is_dir():
        raise FileExistsError(17, "a file of that name is in the way")
    old = Path(tempfile.mkdtemp(prefix=f".{target.name}.old.", dir=target.parent))
    target.rename(old / "was")
    try:
        aside.rename(target)
    except OSError:
        (old / "was").rename(target)
        raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def copy_shelf(source: Path, target: Path) -> None:
    """Start a clinic's own folder from a shelf. Raises ``BadInput`` if one is there already."""
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput(str(target), "already there and not empty", "name a new folder")
    contents = read_home(source)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=f".{target.name}.", dir=target.parent))
        try:
            for name, data in contents.items():
                (aside / name).parent.mkdir(parents=True, exist_ok=True)
                (aside / name).write_bytes(data)
            (aside / "out").mkdir()
            aside.chmod(0o755)
            if target.exists():
                target.rmdir()
            aside.rename(target)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise OutOfReach(
            str(target), error.strerror or "cannot be written", "nothing was written there"
        ) from None
