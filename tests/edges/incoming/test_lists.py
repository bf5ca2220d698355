"""Workbooks, JSON lines and bundles: what is read of each, held against who wrote them."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from aftercare.edges.incoming import csv_list, spool
from aftercare.edges.incoming.bundle import read_bundle
from aftercare.edges.incoming.csv_list import CsvList
from aftercare.edges.incoming.json_lines import JsonLines
from aftercare.edges.incoming.source import Source
from aftercare.edges.incoming.workbook import read_workbook
from aftercare.errors import BadInput, OutOfReach

PLAN: Any = SimpleNamespace(sheet="")
HEADERS = ["Ref", "Name", "Born", "Mobile"]


def rows_of(source: Source) -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for block in source.blocks():
        found += zip(*source.cells(block).columns, strict=True)
    return found


@pytest.fixture
def book(tmp_path: Path) -> Callable[..., Path]:
    """Writes a workbook with openpyxl."""

    def wrote(*rows: list[Any], change: Callable[[Any], None] = lambda book: None) -> Path:
        made = openpyxl.Workbook()
        for row in (HEADERS, *rows):
            made.active.append(row)
        change(made)
        made.save(tmp_path / "list.xlsx")
        return tmp_path / "list.xlsx"

    return wrote


def test_cells_of_a_workbook_are_what_openpyxl_wrote(book: Any) -> None:
    path = book(
        ["P1", "Zoë", date(1960, 4, 23), "07700 900123"],
        ["P2", True, datetime(1960, 4, 23, 10, 30), 7700900123],  # noqa: DTZ001 - cells have no zone
        ["P3", None, 22029, 4.47700900123e11],
    )
    assert rows_of(read_workbook(path, PLAN)) == [
        ("P1", "Zoë", "1960-04-23", "07700 900123"),
        ("P2", "true", "1960-04-23", "7700900123"),
        ("P3", "", "22029", "447700900123"),
    ]


def test_both_date_systems_give_the_day_that_was_written(book: Any) -> None:
    def macintosh(made: Any) -> None:
        made.epoch = CALENDAR_MAC_1904

    for change in (macintosh, lambda made: None):
        path = book(["P1", "", date(1960, 4, 23), ""], change=change)
        assert rows_of(read_workbook(path, PLAN))[0][2] == "1960-04-23"


def test_formulas_and_error_values_are_marked_and_never_evaluated(book: Any) -> None:
    path = book(["P1", "=1+1", "#N/A", '=HYPERLINK("http://x.example")'], ["P2", "x", "", ""])
    assert rows_of(read_workbook(path, PLAN)) == [
        ("P1", "\x1aa formula", "\x1aan error value", "\x1aa formula"),
        ("P2", "x", "", ""),
    ]


def test_formulas_are_found_however_far_down(book: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from aftercare.edges.incoming import workbook

    rows = [[f"P{n}", "=1+1" if n % 5 == 0 else "x" * (n % 40), "", ""] for n in range(600)]
    path = book(*rows)
    for chunk in (5_000, 7_777):
        monkeypatch.setattr(workbook, "_CHUNK", chunk)
        found = rows_of(read_workbook(path, PLAN))
        assert [row[1] == "\x1aa formula" for row in found] == [n % 5 == 0 for n in range(600)]


def test_merged_cells_are_marked_but_for_the_first(book: Any) -> None:
    def merge(made: Any) -> None:
        made.active.merge_cells("B2:B3")

    path = book(["P1", "Ann", "", ""], ["P2", None, "", "x"], change=merge)
    assert [row[1] for row in rows_of(read_workbook(path, PLAN))] == [
        "Ann", "\x1apart of a merged cell",
    ]  # fmt: skip


def test_the_first_sheet_that_is_shown_or_the_one_named(book: Any) -> None:
    def hide(made: Any) -> None:
        made.active.sheet_state = "hidden"
        other = made.create_sheet("Shown")
        other.append(HEADERS)
        other.append(["S1", "x", "", "y"])

    path = book(["H1", "x", "", "y"], change=hide)
    assert rows_of(read_workbook(path, PLAN))[0][0] == "S1"
    named: Any = SimpleNamespace(sheet="Sheet")
    assert rows_of(read_workbook(path, named))[0][0] == "H1"
    with pytest.raises(BadInput, match="no sheet 'None'"):
        read_workbook(path, SimpleNamespace(sheet="None"))  # type: ignore[arg-type]  # no full mapping


def test_a_workbook_made_to_fill_the_memory_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 60_000_000)
    assert path.stat().st_size < 100_000
    with pytest.raises(BadInput, match="may be a trap"):
        read_workbook(path, PLAN)


def test_a_workbook_cut_short_is_refused(book: Any) -> None:
    path = book(["P1", "x", "", ""])
    raw = path.read_bytes()
    for end in (10, len(raw) // 2, len(raw) - 10):
        path.write_bytes(raw[:end])
        with pytest.raises(BadInput, match="no workbook"):
            read_workbook(path, PLAN)


def test_json_lines(tmp_path: Path) -> None:
    path = tmp_path / "l.jsonl"
    lines: list[dict[str, Any]] = [
        {"ref": "J1", "mobile": 7700900123, "agreed": ["sms", "email"]},
        {"ref": "J2", "deceased": False, "extra": {"a": 1}, "mobile": None},
    ]
    path.write_text("\ufeff" + "\n\n".join(map(json.dumps, lines)), encoding="utf-8")
    source = JsonLines(path)
    assert source.headers == ("ref", "mobile", "agreed", "deceased", "extra")
    assert rows_of(source) == [
        ("J1", "7700900123", "sms;email", "", ""),
        ("", "", "", "", ""),
        ("J2", "", "", "false", "\x1aan object where a word was wanted"),
    ]


@pytest.mark.parametrize("line", ["[1]", "{", '{"a": NaN}', '{"a": 1, "a": 2}', '"x"', "[" * 9999])
def test_lines_that_are_no_objects_are_refused_by_number(tmp_path: Path, line: str) -> None:
    path = tmp_path / "l.jsonl"
    path.write_text('{"ref": "J1"}\n' + line + "\n")
    with pytest.raises(BadInput, match=r"l\.jsonl:2: not a JSON object"):
        JsonLines(path)


# The resources are built with fhir.resources, each release by its own models.
def test_a_fhir_bundle_of_both_releases(tmp_path: Path) -> None:
    from fhir.resources.bundle import Bundle
    from fhir.resources.R4B.bundle import Bundle as BundleR4B

    patient = {
        "resourceType": "Patient",
        "id": "a1",
        "identifier": [{"use": "old", "value": "F0"}, {"use": "usual", "value": "F1"}],
        "name": [{"use": "official", "family": "Invented", "given": ["Nell", "May"]}],
        "birthDate": "1961-04-23",
        "telecom": [
            {"system": "phone", "use": "home", "value": "01632 960001"},
            {"system": "phone", "use": "mobile", "value": "07700 900123"},
        ],
        "deceasedDateTime": "2026-01-02",
        "communication": [{"language": {"coding": [{"code": "cy-GB"}]}}],
    }
    seen = {"resourceType": "Encounter", "id": "e1", "subject": {"reference": "Patient/a1"}}
    start = {"start": "2026-05-01T10:00:00Z"}
    five = seen | {"status": "completed", "actualPeriod": start}
    four = seen | {"status": "finished", "period": start, "class": {"code": "AMB"}}
    for model, release, encounter in ((Bundle, "R5", five), (BundleR4B, "R4B", four)):
        entries = [{"resource": one} for one in (patient, encounter)]
        bundle = {"resourceType": "Bundle", "type": "collection", "entry": entries}
        path = tmp_path / "b.json"
        path.write_text(model.model_validate(bundle).model_dump_json())
        source = read_bundle(path, date(2026, 11, 24))
        assert release in source.notes[0]
        (row,) = rows_of(source)
        said = dict(zip(source.headers, row, strict=True))
        assert (said["ref"], said["first name"], said["last name"]) == (
            "F1",
            "Nell May",
            "Invented",
        )
        assert (said["born"], said["mobile"], said["language"]) == (
            "1961-04-23", "07700 900123", "cy",
        )  # fmt: skip
        assert (said["deceased"], said["seen"], said["case"]) == ("yes", "2026-05-01", "e1")


PATIENT: dict[str, Any] = {
    "resourceType": "Patient", "identifier": [{"value": "F1"}],
    "name": [{"family": "Invented", "given": ["Nell"]}],
}  # fmt: skip
VISIT: dict[str, Any] = {
    "resourceType": "Encounter", "id": "e1", "status": "completed",
    "subject": {"reference": "urn:uuid:p"}, "actualPeriod": {"start": "2026-05-01T10:00:00Z"},
}  # fmt: skip
EAR: dict[str, Any] = {
    "resourceType": "Condition", "subject": {"reference": "urn:uuid:p"}, "code": {"text": "wax"},
    "clinicalStatus": {"coding": [{"code": "active"}]},
}  # fmt: skip


def from_bundle(folder: Path, *resources: dict[str, Any]) -> dict[str, str]:
    """The one row of a bundle whose patient is known by the ``fullUrl`` of the entry alone."""
    entries = [{"fullUrl": "urn:uuid:p", "resource": resources[0]}]
    entries += [{"resource": one} for one in resources[1:]]
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": entries}
    (folder / "b.json").write_text(json.dumps(bundle))
    source = read_bundle(folder / "b.json", date(2026, 11, 24))
    (row,) = rows_of(source)
    return dict(zip(source.headers, row, strict=True))


def test_a_visit_belongs_to_who_is_named_by_the_entry(tmp_path: Path) -> None:
    """FHIR R5, Bundle, resolving references: by ``fullUrl`` where there is one (from memory)."""
    said = from_bundle(tmp_path, PATIENT, VISIT, EAR)
    assert (said["ref"], said["seen"], said["condition"]) == ("F1", "2026-05-01", "wax")


@pytest.mark.parametrize("status", ["planned", "cancelled", "entered-in-error"])
def test_a_visit_that_was_not_held_is_no_visit(tmp_path: Path, status: str) -> None:
    assert from_bundle(tmp_path, PATIENT, VISIT | {"status": status})["seen"] == ""


@pytest.mark.parametrize("status", ["refuted", "entered-in-error"])
def test_a_condition_that_was_a_mistake_is_none(tmp_path: Path, status: str) -> None:
    mistaken = EAR | {"verificationStatus": {"coding": [{"code": status}]}}
    assert from_bundle(tmp_path, PATIENT, mistaken)["condition"] == ""


def test_a_number_that_is_theirs_no_more_is_not_taken(tmp_path: Path) -> None:
    ways = [
        {"system": "phone", "use": "mobile", "value": "07700 900001", "period": {"end": end}}
        for end in ("2026-11-23", "2026-11-24")
    ]
    ways[1]["value"] = "07700 900002"
    said = from_bundle(tmp_path, PATIENT | {"telecom": ways})
    assert said["mobile"] == "07700 900002"


BODIES = (
    "a,b\n1,2\n", "a,b\r\n1,2\r\n", "a, b\n", " a,b\n", "a,b \n1,2", "a\x0b,b\n", "a,b\n\n",
    "a,b\r1,2\n", "a,b\r\r\n1,2\n", "a,b\r\n1,2\n", "Zoë,李\n", "a,\xa0b\n", "\u2003a,b\n",
    ",\n", "a,\n,b",
    "a,b\n1,2,3\n4\n", "a,b,c\nd\n", '"a",b\n', "a,b\r", "a b,c d\n", "a\x85,b\n", "a,b\n \n",
)  # fmt: skip


@pytest.mark.parametrize("body", BODIES)
def test_the_quick_way_through_a_csv_gives_what_the_module_csv_gives(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: str
) -> None:
    path = tmp_path / "l.csv"
    path.write_bytes(b"h,i\n" + body.encode())
    quick = rows_of(CsvList(path))
    monkeypatch.setattr(CsvList, "_plain", lambda *_: None)
    assert quick == rows_of(CsvList(path))


@pytest.mark.parametrize("body", BODIES)
def test_some_columns_are_those_of_all(tmp_path: Path, body: str) -> None:
    path = tmp_path / "l.csv"
    path.write_bytes(b"h,i\n" + body.encode())
    source = CsvList(path)
    for block in source.blocks():
        whole = source.cells(block)
        for place in (0, 1):
            some = source.some_cells(block, {place})
            assert (some.count, some.uneven) == (whole.count, whole.uneven)
            assert list(some.columns[place]) == list(whole.columns[place])


def test_plain_rows_do_take_the_quick_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "l.csv"
    monkeypatch.setattr(CsvList, "_read", lambda *_: pytest.fail("the slow way"))
    for body in ("a,b\r\n1,2\r\n", "Zoë,李\n", "a b,\n,c"):
        path.write_bytes(b"h,i\n" + body.encode())
        assert rows_of(CsvList(path))


def test_all_that_trimming_takes_is_known(tmp_path: Path) -> None:
    path = tmp_path / "l.csv"
    for code in range(0x11_0000):
        if chr(code).isspace() and chr(code) != "\n":
            path.write_bytes(f"h,i\na{chr(code)},b\n".encode())
            rows = rows_of(CsvList(path))
            assert [cell.strip() for row in rows for cell in row] == [
                c for row in rows for c in row
            ]


def test_keys_come_back_from_memory_and_from_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spool, "IN_MEMORY", 100)
    chunks = [np.arange(3 * n, dtype=np.int64).reshape(3, n) + n for n in (4, 1, 70, 0, 3)]
    kept = spool.KeySpool()
    for chunk in chunks:
        kept.add(chunk)
    assert len(kept) == len(chunks)
    for mine, theirs in zip(chunks, kept.chunks(), strict=True):
        assert (mine == theirs).all()
    assert (kept.chunk(2) == chunks[2]).all()


def test_no_room_for_keys_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(**_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(spool, "IN_MEMORY", 0)
    monkeypatch.setattr("tempfile.TemporaryFile", full)
    with pytest.raises(OutOfReach, match="No space left"):
        spool.KeySpool().add(np.zeros((3, 1), np.int64))


def test_blocks_are_cut_between_records_wherever_they_fall(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "l.csv"
    body = [(f"P{n}", f'"line\nbreak, ""{n}"""' if n % 3 else f"x{n}") for n in range(200)]
    path.write_text("ref,name\n" + "".join(f"{one},{two}\n" for one, two in body))
    whole = rows_of(CsvList(path))
    assert len(whole) == 200
    for size in (40, 64, 101, 1000):
        monkeypatch.setattr(csv_list, "BLOCK_BYTES", size)
        assert rows_of(CsvList(path)) == whole


def test_a_quotation_mark_never_closed_ends_the_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(csv_list, "BLOCK_BYTES", 100)
    monkeypatch.setattr(csv_list, "RECORD_BYTES", 400)
    path = tmp_path / "l.csv"
    path.write_text('ref,name\nP1,"open\n' + "P2,x\n" * 1000)
    with pytest.raises(BadInput, match="never closed"):
        list(CsvList(path).blocks())
