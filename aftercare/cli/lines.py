"""Questions that come one a line as JSON, each answered by a line."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from aftercare.cli import BAD, DONE, FOUND, say_json, tell
from aftercare.errors import AftercareError, BadInput

Answer = Callable[[Mapping[str, Any]], Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Questions:
    """How questions look: the longest line in bytes, and an example for whoever errs."""

    longest: int
    example: str


def answer_lines(
    named: str, questions: Questions, answer: Answer, *, troubling: Callable[[Any], bool]
) -> int:
    """Answer every line of a file, or of standard input for ``-``; return the exit code.

    A question is an object with ``id`` and ``text``. A line that cannot be answered is told
    of by its number, and the others are answered. ``troubling`` says which answers make the
    run end with 1.
    """
    refused = found = done = 0
    for number, line in _lines(named, questions.longest):
        try:
            asked = _asked(line, questions)
            told = answer(asked)
        except AftercareError as refusal:
            tell(f"line {number}: {refusal}")
            refused += 1
            continue
        found += troubling(told)
        done += 1
        say_json({"id": asked["id"], **told})
    if refused and not done:
        return BAD
    return FOUND if refused or found else DONE


def _asked(line: bytes, questions: Questions) -> dict[str, Any]:
    remedy = f"write {questions.example}"
    if len(line) > questions.longest:
        raise BadInput("the text", f"over {questions.longest:,} bytes", "split it")
    try:
        asked = json.loads(line)
    except (ValueError, RecursionError):
        raise BadInput("the line", "not JSON", remedy) from None
    if not isinstance(asked, dict) or not isinstance(asked.get("text"), str):
        raise BadInput("the line", "lacks a 'text' that is a text", remedy)
    if not isinstance(asked.get("id"), str | int):
        raise BadInput("the line", "lacks an 'id' that is a text or a whole number", remedy)
    return asked


def _lines(named: str, longest: int) -> Iterator[tuple[int, bytes]]:
    """Every line that is not blank, with its number."""
    try:
        with sys.stdin.buffer if named == "-" else Path(named).open("rb") as stream:
            for number, line in enumerate(_bounded(stream, longest), 1):
                if line.strip():
                    yield number, line
    except OSError as error:
        raise BadInput(named, error.strerror or "unreadable", "check the name") from None


def _bounded(stream: BinaryIO, longest: int) -> Iterator[bytes]:
    """The lines of a stream; of one that is too long, just enough to see that it is."""
    while line := stream.readline(longest + 1):
        yield line
        while len(line) > longest and not line.endswith(b"\n"):
            line = stream.readline(longest + 1)
