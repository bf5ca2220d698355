"""``aftercare locales check``: loose translations, one line of JSON each, before import."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from aftercare.cli import BAD, DONE, FOUND, say_json, tell
from aftercare.cli.lines import folded, steady
from aftercare.errors import AftercareError, BadContent, BadInput
from aftercare.model import SmsCount
from aftercare.word.checks import Finding, Medium, Pair, Severity, Terms, check_pairs

FILE_BYTES = 33_554_432
# A sentence or a short paragraph; what is far longer is not one phrase of a catalogue.
LONGEST_TEXT = 5_000
STANDARD_INPUT = "standard input"
GLOSSARY = "shared/glossary.toml"
_EXAMPLE = 'write {"id": "1", "source": "...", "target": "...", "language": "pl"}'


def check_file(named: str, home: str | None, *, as_json: bool) -> int:
    """Check every line of a file, or of standard input for ``-``; return the exit code.

    A line that cannot be read is told of with its number, and the others are answered.
    """
    pairs: list[Pair] = []
    refused = 0
    place = STANDARD_INPUT if named == "-" else named
    for number, line in _lines(named, place):
        try:
            pairs.append(_pair(f"{place}:{number}", line))
        except AftercareError as refusal:
            tell(str(refusal))
            refused += 1
    found = check_pairs(pairs, parts=_parts(home), glossaries=glossaries(home))
    for pair, findings in zip(pairs, found, strict=True):
        if as_json:
            say_json({"id": pair.id, "findings": list(map(_told, findings))})
        else:
            _show(pair, findings)
    if refused:
        return BAD
    stops = any(one.severity is Severity.BLOCK for findings in found for one in findings)
    return FOUND if stops else DONE


def _told(finding: Finding) -> dict[str, str]:
    return {"kind": finding.kind, "severity": finding.severity.value, "why": finding.why}


def _show(pair: Pair, findings: tuple[Finding, ...]) -> None:
    for one in findings:
        print(f"{steady(pair.id)}  {one.severity.value}: {one.kind}")
        for line in folded(one.why, "    "):
            print(line)


# --- reading lines ----------------------------------------------------------------------


def _lines(named: str, place: str) -> Iterator[tuple[int, bytes]]:
    """Every line that is not blank, with its number. Raises ``BadInput``."""
    from aftercare.edges.folder import read_input

    if named == "-":
        raw = sys.stdin.buffer.read(FILE_BYTES + 1)
    else:
        raw = read_input(Path(named), FILE_BYTES)
    if len(raw) > FILE_BYTES:
        raise BadInput(place, f"over {FILE_BYTES:,} bytes", "split it")
    for number, line in enumerate(raw.removeprefix(b"\xef\xbb\xbf").split(b"\n"), 1):
        if line.strip():
            yield number, line


def _pair(place: str, line: bytes) -> Pair:
    """The pair on a line. Raises ``BadInput`` that names the line and the field."""
    try:
        asked = json.loads(line.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise BadInput(place, f"byte {error.start} is not UTF-8", "save as UTF-8") from None
    except (ValueError, RecursionError):
        raise BadInput(place, "not JSON", _EXAMPLE) from None
    if not isinstance(asked, dict):
        raise BadInput(place, "not an object", _EXAMPLE)
    return Pair(
        id=_id(place, asked.get("id")),
        source=_text(place, asked, "source"),
        target=_text(place, asked, "target"),
        language=_language(place, asked.get("language")),
        medium=_medium(place, asked.get("kind", "")),
        limit=_limit(place, asked),
    )


def _id(place: str, given: object) -> str:
    if isinstance(given, str) or (isinstance(given, int) and not isinstance(given, bool)):
        return str(given)
    raise BadInput(place, "lacks an 'id' that is a text or a whole number", _EXAMPLE)


def _text(place: str, asked: Mapping[str, Any], field: str) -> str:
    given = asked.get(field)
    if not isinstance(given, str):
        raise BadInput(place, f"lacks a '{field}' that is a text", _EXAMPLE)
    if len(given) > LONGEST_TEXT:
        raise BadInput(place, f"'{field}' is over {LONGEST_TEXT:,} characters", "split it")
    return given


def _language(place: str, given: object) -> str:
    from aftercare.library.catalogues import direction

    if not isinstance(given, str):
        raise BadInput(place, "lacks a 'language' that is a text", _EXAMPLE)
    language = given.replace("-", "_")
    try:
        direction(language)
    except BadContent:
        shown = f"no language is called '{given[:20]}'"
        raise BadInput(place, shown, "write it like pl, pt_BR or zh_Hans") from None
    return language


def _medium(place: str, given: object) -> Medium:
    if not isinstance(given, str):
        raise BadInput(place, "'kind' is not a text", 'write "kind": "sms" or leave it out')
    return Medium.SMS if given == Medium.SMS else Medium.ANY


def _limit(place: str, asked: Mapping[str, Any]) -> int | None:
    given = asked.get("limit")
    if given is None:
        return None
    if not isinstance(given, int) or isinstance(given, bool) or given < 1:
        raise BadInput(place, "'limit' is not a whole number of parts", "write 1 or more")
    return given


# --- what the clinic's folder adds ------------------------------------------------------


def _parts(home: str | None) -> Callable[[str], int]:
    """Counts the SMS parts of a text with the clinic's own numbers in its slots.

    A slot that differs from patient to patient counts as its name, without the braces.
    """
    from aftercare.cli.catalogues import sms_counter

    @cache
    def counter() -> Callable[[str], SmsCount]:
        from aftercare.cli.bootstrap import open_library
        from aftercare.proof.stand_ins import numbers

        return sms_counter(numbers(open_library(home)))

    return lambda text: counter()(text).parts


def glossaries(home: str | None) -> Mapping[str, Terms]:
    """The translations of terms in ``[terms.LANGUAGE]`` of the glossary, by language.

    Each is a list of forms; ``stem*`` is any word that begins so. Raises ``BadContent``.
    """
    from aftercare.edges.folder import find_home
    from aftercare.library.wordlists import parse_terms

    path = find_home(home, os.environ, _here()) / GLOSSARY
    try:
        return parse_terms(GLOSSARY, path.read_bytes())
    except FileNotFoundError:
        return {}
    except OSError as error:
        problem = f"cannot be read ({type(error).__name__})"
        raise BadContent(GLOSSARY, problem, "check its rights") from None


def _here() -> Path | None:
    """The current folder, unless somebody has removed it."""
    try:
        return Path.cwd()
    except OSError:
        return None
