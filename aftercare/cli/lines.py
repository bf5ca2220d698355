"""Lines in and lines out: questions that come one a line as JSON, and words for a screen."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap
from typing import Any, BinaryIO
from unicodedata import category

from aftercare.cli import BAD, DONE, FOUND, say_json, tell
from aftercare.errors import AftercareError, BadInput

SCREEN = 100  # columns
_STEERING = frozenset({"Cc", "Cs", "Zl", "Zp"})
_FORCING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")  # the order of words
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
    if not isinstance(asked.get("id"), str | int) or isinstance(asked["id"], bool):
        raise BadInput("the line", "lacks an 'id' that is a text or a whole number", remedy)
    return asked


def folded(words: str, indent: str) -> list[str]:
    """Words on as many lines as a screen needs, without anything that could steer a terminal."""
    return wrap(
        steady(words),
        SCREEN,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def steady(words: str) -> str:
    """Words on one line, any character that would steer a terminal by its number."""
    return "".join(
        f"\\u{ord(char):04x}" if category(char) in _STEERING or char in _FORCING else char
        for char in " ".join(words.split())
    )


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
