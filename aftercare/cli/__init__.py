"""The command line: one door to the house. Each command parses, calls once, and shows."""

from __future__ import annotations

import sys
import traceback

from aftercare.errors import AftercareError

DONE, FOUND, BAD, FAULT = 0, 1, 2, 3


def main() -> None:
    """Run the command line and turn every refusal into a message and an exit code.

    0 done; 1 done, but something was withheld or found; 2 bad input or usage; 3 a fault of
    our own, told by its place in the code alone, so that nothing about a patient is shown.
    """
    from aftercare.cli.commands import app

    try:
        app()
    except AftercareError as refusal:
        sys.stderr.write(f"aftercare: {refusal}\n")
        sys.exit(BAD)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(DONE)
    except Exception as fault:
        place = traceback.extract_tb(fault.__traceback__)[-1]
        sys.stderr.write(
            f"aftercare: a fault of our own at {place.name}, line {place.lineno} "
            f"({type(fault).__name__}); nothing was released. Please report these words.\n"
        )
        sys.exit(FAULT)
