"""``aftercare locales check``: every pair of the catalogues, and the files they are in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from aftercare.cli import BAD, DONE, FOUND, say_json
from aftercare.cli.catalogues import Bench, approvals_fault, chosen, judge, open_bench
from aftercare.cli.lines import folded, steady
from aftercare.cli.shelf import tell_faults
from aftercare.proof.translated import Fault
from aftercare.word.checks import Severity


def check_catalogues(home: str | None, named: Sequence[str], *, as_json: bool) -> int:
    """Everything found in the catalogues named, or all there are.

    1 when something found stops a translation, 2 when the shelf's own words cannot be read.
    """
    bench = open_bench(home)
    found = {language: _faults(bench, language) for language in chosen(bench, named)}
    if as_json:
        rows = [fault_row(one, of) for one, faults in found.items() for of in faults]
        say_json({"languages": list(found), "findings": rows}, indent=1)
    else:
        _show(found)
    tell_faults(bench.faults)
    if bench.faults:
        return BAD
    return FOUND if any(map(stops, sum(found.values(), ()))) else DONE


def _faults(bench: Bench, language: str) -> tuple[Fault, ...]:
    approvals = approvals_fault(bench, language)
    found = judge(bench, language).faults(language, bench.po(language))
    return (approvals, *found) if approvals else found


def stops(fault: Fault) -> bool:
    """Whether a finding stops a translation."""
    return fault.found.severity is Severity.BLOCK


def fault_row(language: str, fault: Fault) -> dict[str, Any]:
    """A finding for other programs; ``id`` and the words are None for what is of a whole file."""
    file, _, line = fault.place.rpartition(":")
    return {
        "language": language,
        "file": file,
        "line": int(line),
        "id": fault.sentence.id if fault.sentence else None,
        "safety": bool(fault.sentence and fault.sentence.safety),
        "kind": fault.found.kind,
        "severity": fault.found.severity.value,
        "why": fault.found.why,
        "help": fault.help,
    }


def _show(found: dict[str, tuple[Fault, ...]]) -> None:
    for language, faults in found.items():
        for fault in faults:
            show_fault(fault)
        many = sum(map(stops, faults))
        print(f"{language}: {len(faults)} found, {many} of them stop a translation")


def show_fault(fault: Fault) -> None:
    """A finding for people."""
    named = f"  {fault.sentence.id}" if fault.sentence else ""
    print(f"{steady(fault.place)}{named}  {fault.found.severity.value}: {fault.found.kind}")
    said = f"{fault.found.why}; {fault.help}" if fault.help else fault.found.why
    for line in folded(said, "    "):
        print(line)
