"""``aftercare sms``: how a text travels, for one text or for a line of JSON each."""

from __future__ import annotations

import sys
from enum import Enum, auto
from typing import Any
from unicodedata import category

from aftercare.cli import DONE, FOUND, say_json, tell
from aftercare.cli.lines import Questions, answer_lines
from aftercare.errors import BadInput, BadText
from aftercare.render.gsm import check_sendable, count, offenders
from aftercare.render.plain_text import make_safe

# 255 parts hold 39,015 characters; a line far beyond that is not a text message.
LONGEST_LINE = 1_048_576
QUESTIONS = Questions(LONGEST_LINE, '{"id": "1", "text": "..."}')


class Wording(Enum):
    """Whether marks that force a longer alphabet may be replaced by plain ones."""

    SAFE = auto()
    EXACT = auto()


def answer(text: str, wording: Wording) -> dict[str, Any]:
    """How ``text`` travels; ``refused`` says why it cannot, if it cannot."""
    replaced: list[dict[str, Any]] = []
    stubborn = offenders(text)
    if wording is Wording.SAFE:
        safe = make_safe(text)
        text, stubborn = safe.text, safe.offenders
        replaced = [{"char": char, "with": put, "at": at} for char, put, at in safe.replaced]
    counted = count(text)
    return {
        "encoding": counted.encoding,
        "units": counted.units,
        "parts": counted.parts,
        "texts": list(counted.texts),
        "replaced": replaced,
        "offenders": [{"char": char, "at": at} for char, at in stubborn],
        "refused": _refused(text),
    }


def _refused(text: str) -> str | None:
    try:
        check_sendable(text, count(text))
    except BadText as refusal:
        return str(refusal)
    return None


def count_one(named: str, wording: Wording, *, as_json: bool) -> int:
    """Answer for one text; ``-`` reads standard input without its last line end."""
    text = _standard_input() if named == "-" else named
    told = answer(text, wording)
    if as_json:
        say_json(told)
    else:
        _show(told)
    return FOUND if told["refused"] else DONE


def count_lines(named: str, wording: Wording) -> int:
    """Answer each line ``{"id", "text"}`` of standard input or a file with one line."""
    return answer_lines(
        named,
        QUESTIONS,
        lambda asked: answer(asked["text"], wording),
        troubling=lambda told: bool(told["refused"]),
    )


def _standard_input() -> str:
    raw = sys.stdin.buffer.read(LONGEST_LINE + 1)
    if len(raw) > LONGEST_LINE:
        raise BadInput("standard input", f"over {LONGEST_LINE:,} bytes", "split the text")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BadInput(
            "standard input", f"byte {error.start} is not UTF-8", "save as UTF-8"
        ) from None
    return text.removesuffix("\n").removesuffix("\r")


def _show(told: dict[str, Any]) -> None:
    unit = "septets" if told["encoding"] == "GSM-7" else "16-bit units"
    print(f"{told['encoding']}, {told['units']} {unit}, {told['parts']} part(s)")
    for number, text in enumerate(told["texts"], 1):
        print(f"\nPart {number}\n{_visible(text)}")
    for one in told["replaced"]:
        print(f"replaced at {one['at']}: {_named(one['char'])} by '{one['with']}'")
    for one in told["offenders"]:
        print(f"forces 16-bit units at {one['at']}: {_named(one['char'])}")
    if told["refused"]:
        tell(told["refused"])


def _visible(text: str) -> str:
    """The text as it reads, with any character that would steer a terminal by its number."""
    unseen = {"Cc", "Cs"}
    return "".join(
        char if char == "\n" or category(char) not in unseen else f"\\u{ord(char):04x}"
        for char in text
    )


def _named(text: str) -> str:
    points = " ".join(f"U+{ord(char):04X}" for char in text)
    return f"{text if text.isprintable() else '?'} ({points})"
