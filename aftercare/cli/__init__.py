"""The command line: one door to the house. Each command parses, calls once, and shows."""

from __future__ import annotations

import json
import os
import sys
import traceback
from io import TextIOWrapper
from pathlib import PurePath
from typing import Any

from aftercare.errors import AftercareError

DONE, FOUND, BAD, FAULT = 0, 1, 2, 3


def main() -> None:
    """Run the command line and turn every refusal into a message and an exit code.

    0 done; 1 done, but something was withheld or found; 2 bad input or usage; 3 a fault of
    our own, told by its place in the code alone, so that nothing about a patient is shown.
    """
    from aftercare.cli.commands import app

    _steady_streams()
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except AftercareError as refusal:
        tell(str(refusal))
        sys.exit(BAD)
    except BrokenPipeError:
        _give_up_output()
        sys.exit(FOUND)
    except OSError as error:
        _give_up_output()
        tell(f"the machine refused ({error.strerror}); the answer is not complete")
        sys.exit(BAD)
    except Exception as fault:
        tell(fault_of_ours(fault))
        sys.exit(FAULT)


def _give_up_output() -> None:
    """Nobody takes the answer; what Python still holds of it goes nowhere, without a complaint."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


def tell(message: str) -> None:
    """One message on standard error, with nothing in it that could steer a terminal."""
    shown = "".join(c if c.isprintable() or c == "\n" else f"\\u{ord(c):04x}" for c in message)
    sys.stderr.write(f"aftercare: {shown}\n")


def say_json(data: Any, *, indent: int | None = None) -> None:
    """JSON on standard output, in ASCII: readable whatever the encoding of the other end."""
    print(json.dumps(data, indent=indent))


def fault_of_ours(fault: Exception) -> str:
    """Where in the code a fault happened, and nothing of what it was about."""
    place = traceback.extract_tb(fault.__traceback__)[-1]
    return (
        f"a fault of our own in {PurePath(place.filename).name}, {place.name}, "
        f"line {place.lineno} ({type(fault).__name__}); it was not finished. "
        "Please report these words"
    )


def _steady_streams() -> None:
    """A name that the terminal cannot show is shown by its code points; nothing stops for it."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by whoever started us
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123
        elif isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
