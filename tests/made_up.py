"""Made up for tests: a plain visit, a press that prints nothing, catalogues in no language."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from aftercare.errors import AftercareError
from aftercare.library import read
from aftercare.library.catalogues import approved_words, digest, parse_catalogue
from aftercare.model import Case, Ear, Fact, Interval, Patient, Side
from aftercare.render.leaflet import Printed

HOME = Path(__file__).resolve().parent.parent
TODAY = date(2026, 11, 24)
_LATIN = "abcdefghijklmnopqrstuvwxyz"
_TURNED = str.maketrans(_LATIN + _LATIN.upper(), _LATIN[::-1] + _LATIN[::-1].upper())
_ARABIC = str.maketrans(_LATIN + _LATIN.upper(), "ابتثجحخدذرزسشصضطظعغفقكلمنه" * 2)
_KEPT = re.compile(r"(\{[^}]*\}|\*\*)")


class FakePress:
    """A press whose page is the data it was given."""

    def press(self, data: str) -> Printed:
        return Printed(b"%PDF-fake" + data.encode(), 1)


def a_patient(**changes: Any) -> Patient:
    """An adult who reads English and can be reached on every channel."""
    usual = Patient(
        name="Orla Pennington",
        language="en",
        facts=frozenset({"age:adult"}),
        mobile="07700 900123",
        email="orla@example.org",
    )
    return replace(usual, **changes)


def an_ear(*facts: Fact, side: Side = Side.LEFT, removed_mm: int | None = None) -> Ear:
    """A left ear with wax, cleared by suction, unless told otherwise."""
    told = set(facts) or {"condition:wax", "procedure:suction", "finding:cleared"}
    noted = "length:not-noted" if removed_mm is None else "length:noted"
    return Ear(side=side, facts=frozenset(told | {noted}), removed_mm=removed_mm)


def a_case(**changes: Any) -> Case:
    """A plain visit of the week before TODAY, with a recall in six months."""
    usual = Case(
        ref="case-1",
        patient=a_patient(),
        visit_date=date(2026, 11, 18),
        clinician="Idris Penhale, ear-care practitioner",
        ears=(an_ear(),),
        recall=Interval(months=6),
    )
    return replace(usual, **changes)


def approvals(language: str, path: str, raw: bytes) -> bytes:
    """An ``approvals.toml`` that stands behind every entry of a catalogue."""
    phrases = parse_catalogue(language, path, raw, None).phrases
    listed = sorted(digest(*key, approved_words(found.phrase)) for key, found in phrases.items())
    strings = ", ".join(f'"{one}"' for one in listed)
    by = 'by = "A. Translator"\nrole = "reviewer"\ndate = 2026-11-20'
    return f"[[approval]]\n{by}\nstrings = [{strings}]\n".encode()


def sources(files: Mapping[str, bytes]) -> list[tuple[str, str]]:
    """Every (context, source) a translator would get, each once; both forms of a number's."""
    found = read(files, wanted=())
    told = [
        (block.id, variant.phrase.source)
        for block in found.shelf
        for unit in block.units()
        for variant in unit.variants
    ]
    told += [("frame", phrase.msgid) for phrase in found.frame.texts.values()]
    return list(dict.fromkeys([*told, ("clinic", found.clinic.hours)]))


def made_up_catalogue(files: Mapping[str, bytes], language: str) -> bytes:
    """A catalogue made by turning letters round; its slots and bold marks are kept."""
    catalog = Catalog(locale=language)
    table, first = (_ARABIC, "") if language == "ur" else (_TURNED, "Ż ")

    def turned(text: str) -> str:
        runs = _KEPT.split(text)
        return first + "".join(
            run if _KEPT.fullmatch(run) else run.translate(table) for run in runs
        )

    for context, source in sources(files):
        one, _, other = source.partition("\0")
        if other:
            forms = (turned(one), *(turned(other),) * (catalog.num_plurals - 1))
            catalog.add((one, other), forms, context=context)
        else:
            catalog.add(one, turned(one), context=context)
    written = BytesIO()
    write_po(written, catalog)
    return written.getvalue()


def made_up_rules(raw: bytes) -> bytes:
    """The English rule words in the languages of the made-up catalogues, in place of real ones."""
    whole = tomllib.loads(raw.decode())
    for language, table in (("pl", _TURNED), ("ur", _ARABIC)):
        whole[language] = {
            name: {key: [_turned(one, table) for one in told] for key, told in saying.items()}
            for name, saying in whole["en"].items()
        }
    opposing = "".join(f"[[opposing]]\n{_entries(pair)}" for pair in whole.pop("opposing"))
    return (opposing + "".join(f"[{k}]\n{_entries(v)}" for k, v in whole.items())).encode()


def _entries(table: Mapping[str, Any]) -> str:
    # A string or a list of strings in JSON is one in TOML too.
    inline = {
        name: "{" + ", ".join(f"{k} = {json.dumps(v)}" for k, v in told.items()) + "}"
        if isinstance(told, dict)
        else json.dumps(told)
        for name, told in table.items()
    }
    return "".join(f"{name} = {told}\n" for name, told in inline.items())


def _turned(pattern: str, table: dict[int, int]) -> str:
    return pattern if pattern.startswith("@") else pattern.translate(table)


def refusal_of(attempt: Callable[[], object]) -> AftercareError | None:
    """What an attempt was refused with; None when it went through. Anything else is a fault."""
    try:
        attempt()
    except AftercareError as refused:
        return refused
    return None
