"""The two small files beside a register: the chain's key, and its anchor.

The key makes the codes; the anchor remembers how long the chain was, outside the database, so
that a cut tail is noticed. The key never changes, and doubles as the lock of the anchor.
"""

from __future__ import annotations

import os
import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from aftercare.edges.register.chain import Tail
from aftercare.edges.register.place import Place
from aftercare.errors import OutOfReach

KEY_BYTES = 32
_REMEDY = "bring it back from where it is kept; without it the chain cannot be read"


def read_key(place: Place) -> bytes:
    """The chain's key. Raises ``OutOfReach`` when it is gone or not one."""
    try:
        text = place.key.read_text("ascii").strip()
        key = bytes.fromhex(text)
    except OSError as error:
        raise OutOfReach(str(place.key), error.strerror or "unreadable", _REMEDY) from None
    except ValueError:
        key = b""
    if len(key) != KEY_BYTES:
        raise OutOfReach(str(place.key), "not the key of a chain", _REMEDY)
    return key


def make_key(place: Place) -> bytes:
    """The chain's key, made now if there is none; of two who make one, both get the first."""
    if not place.key.exists():
        place.key.parent.mkdir(parents=True, exist_ok=True)
        aside = place.key.with_name(f"{place.key.name}.{secrets.token_hex(4)}")
        try:
            _write(aside, secrets.token_hex(KEY_BYTES) + "\n")
            with suppress(FileExistsError):
                os.link(aside, place.key)
        except OSError as error:
            raise OutOfReach(str(place.key), error.strerror or "cannot be written") from None
        finally:
            aside.unlink(missing_ok=True)
    return read_key(place)


def read_anchors(place: Place) -> tuple[Tail, ...]:
    """What the anchor says; an empty chain when there is none yet.

    While a backup is being restored there are two: of the chain that was and of the one to come.
    """
    try:
        lines = place.anchor.read_text("ascii").split("\n")
        return tuple(_tail(line) for line in lines if line) or (Tail(),)
    except FileNotFoundError:
        return (Tail(),)
    except (OSError, ValueError):
        raise OutOfReach(
            str(place.anchor), "not readable as an anchor", "bring it back from a copy"
        ) from None


def _tail(line: str) -> Tail:
    count, mac = line.split(" ")
    return Tail(int(count), mac)


def begin(place: Place) -> None:
    """Write the anchor of a chain that has no row yet, so that one that is gone later is missed.

    On a server each machine begins its own when it first writes.
    """
    if place.file is not None and not place.anchor.exists():
        with _alone(place):
            write_anchors(place, Tail())


def is_gone(place: Place) -> bool:
    """Whether the anchor of a chain in a file is not there: a cut would not show."""
    return place.file is not None and not place.anchor.exists()


def advance(place: Place, tail: Tail) -> None:
    """Move the anchor on to ``tail``; it never moves back, whoever comes last.

    One that is gone is not made anew, which would bury what it was to show.
    """
    if is_gone(place):
        return
    with _alone(place):
        known = read_anchors(place)
        if len(known) > 1 or tail.count > known[0].count:
            write_anchors(place, tail)


def offer(place: Place, tail: Tail) -> None:
    """Let the chain end at ``tail`` too, until the next `advance`: a backup is being restored."""
    with _alone(place):
        write_anchors(place, read_anchors(place)[0], tail)


def write_anchors(place: Place, *tails: Tail) -> None:
    """Write an anchor, whole or not at all. Raises ``OSError``."""
    aside = place.anchor.with_name(f"{place.anchor.name}.new")
    _write(aside, "".join(f"{one.count} {one.mac}\n" for one in tails))
    aside.replace(place.anchor)


def _write(path: Path, text: str) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        # A disk that is all but full takes a part, and says so only at the next one.
        left = text.encode("ascii")
        while left:
            left = left[os.write(descriptor, left) :]
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def _alone(place: Place) -> Iterator[None]:
    """Let one process at a time move the anchor."""
    try:
        with place.key.open("rb") as key:
            if sys.platform != "win32":
                import fcntl

                fcntl.flock(key, fcntl.LOCK_EX)
            yield
    except OSError as error:
        raise OutOfReach(str(place.anchor), error.strerror or "cannot be written") from None
