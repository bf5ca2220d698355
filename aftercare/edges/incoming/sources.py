"""Which kind of list a file is: by its name, and refused when it is not what its name says."""

from __future__ import annotations

from pathlib import Path

from aftercare.edges.incoming.source import Source
from aftercare.errors import BadInput
from aftercare.recall.incoming.plan import ImportPlan

KINDS = ".csv, .tsv, .txt, .xlsx, .jsonl, .ndjson or .json"


def open_source(path: Path, plan: ImportPlan) -> Source:
    """The list in a file. Raises ``BadInput``."""
    kind = path.suffix.lower()
    if kind in (".csv", ".tsv", ".txt"):
        from aftercare.edges.incoming.csv_list import CsvList

        return CsvList(path)
    if kind in (".xlsx", ".xlsm"):
        from aftercare.edges.incoming.workbook import read_workbook

        return read_workbook(path, plan)
    if kind in (".jsonl", ".ndjson"):
        from aftercare.edges.incoming.json_lines import JsonLines

        return JsonLines(path)
    if kind == ".json":
        from aftercare.edges.incoming.bundle import read_bundle

        return read_bundle(path, plan.today)
    raise BadInput(str(path), f"no list is called '{kind}'", f"a name ends in {KINDS}")
