"""A visit file's bytes to the values in it, TOML or JSON, before anybody checks them.

A complaint about a file that cannot be parsed names the line and the field, and repeats
nothing else: what stands on a broken line may be about a patient.
"""

from __future__ import annotations

import json
import re
import tomllib
from functools import partial
from typing import Any

from aftercare.errors import BadInput

# A visit is a page of facts; more than this is another kind of file.
VISIT_BYTES = 65_536
# The longest list of a visit, an address of eight lines, is shorter than this.
LINE_CHARACTERS = 2_048
_SCHEMA = "'aftercare schema visit' shows what a visit holds"
# A field's own name, as against whatever else somebody may have written in its place.
_FIELD = re.compile(r"[a-z_]{1,30}")
_LONG_VALUE = re.compile(rb"([a-z_]{1,30})\"?\s*+[:=]\s*+\[?\s*+[\"'][^\"'\n]{1000}")


def load_visit(place: str, raw: bytes) -> dict[str, Any]:
    """The values of a visit file. Raises ``BadInput`` with file, line and field."""
    if len(raw) > VISIT_BYTES:
        raise BadInput(f"{place}{_longest(raw)}", f"more than {VISIT_BYTES:,} bytes", "shorten it")
    text = _decoded(place, raw)
    data = _json(place, text) if _is_json(text) else _toml(place, text)
    if not isinstance(data, dict):
        raise BadInput(place, "not a visit but a list", "one file holds one visit")
    return data


def field_name(step: str | int) -> str:
    """One step of a field's path; a key that is no field's name is measured, not repeated."""
    if isinstance(step, int) or _FIELD.fullmatch(step):
        return str(step)
    return f"(a name of {len(step)} characters)"


def quoted(value: object) -> str:
    """A value as it may stand in an error: short, on one line, and steering no terminal."""
    shown = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in str(value)[:40])
    return f"'{shown}'"


def _longest(raw: bytes) -> str:
    """The field that makes the file long, as far as it can be told."""
    found = _LONG_VALUE.search(raw)
    return f": {found[1].decode()}" if found else ""


def _decoded(place: str, raw: bytes) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            place, f"not text: byte {error.start} is not UTF-8", "save it as UTF-8"
        ) from None
    if not text.strip():
        raise BadInput(place, "empty", _SCHEMA)
    return text


def _is_json(text: str) -> bool:
    """Whether a text opens with a bracket that is not a table of TOML."""
    table = re.match(r"\s*\[{1,2}[A-Za-z0-9_.\" ]+\]{1,2}\s*(#.*)?(\n|$)", text)
    return text.lstrip().startswith(("{", "[")) and table is None


# --- TOML -------------------------------------------------------------------------------


def _toml(place: str, text: str) -> dict[str, Any]:
    _refuse_long_lines(place, text)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _not_toml(place, text, str(error)) from None
    except RecursionError:
        raise BadInput(place, "nested too deep", "a visit is flat") from None
    except ValueError:
        raise _long_number(place) from None


def _refuse_long_lines(place: str, text: str) -> None:
    """A key of a thousand dots would also keep the parser busy for minutes."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LINE_CHARACTERS:
            raise BadInput(
                f"{place}:{number}{_longest(line.encode())}",
                f"{len(line):,} characters on one line, over {LINE_CHARACTERS:,}",
                "shorten it",
            )


def _not_toml(place: str, text: str, message: str) -> BadInput:
    found = re.search(r"\(at line (\d+), column \d+\)", message)
    # Without a place in it, the fault is at the end of the file.
    number = int(found[1]) if found else text.rstrip("\n").count("\n") + 1
    key = text.split("\n")[number - 1].partition("=")[0].strip()
    named = f" in '{key}'" if _FIELD.fullmatch(key) else ""
    # Whatever follows a quotation mark or a bracket may quote the file.
    what = re.split(r"[\"'(]", message)[0].strip()
    return BadInput(f"{place}:{number}", f"not TOML{named}: {what}", "mend that line")


# --- JSON -------------------------------------------------------------------------------


def _json(place: str, text: str) -> Any:
    once, constant = partial(_once, place), partial(_no_constant, place)
    try:
        return json.loads(text, object_pairs_hook=once, parse_constant=constant)
    except json.JSONDecodeError as error:
        raise BadInput(
            f"{place}:{error.lineno}", f"not JSON: {error.msg}", "mend that line"
        ) from None
    except RecursionError:
        raise BadInput(place, "nested too deep", "a visit is flat") from None
    except ValueError:
        raise _long_number(place) from None


def _once(place: str, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for key, value in pairs:
        if key in seen:
            raise BadInput(f"{place}: {field_name(key)}", "given twice", "keep one")
        seen[key] = value
    return seen


def _no_constant(place: str, name: str) -> float:
    raise BadInput(place, f"{name} is not a number of JSON", "write a number or leave it out")


def _long_number(place: str) -> BadInput:
    return BadInput(place, "a number of thousands of digits", _SCHEMA)
