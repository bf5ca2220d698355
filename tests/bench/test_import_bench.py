"""How quickly a list is imported, against the bare way of putting a CSV into SQLite.

`AFTERCARE_BENCH_PATIENTS` sets how many; 100,000 without it. The whole import is timed: finding
what comes twice, judging, packing, merging. It uses every processor it is given, and the bare way
one: that is what the ratio by the clock compares. Processor time, all processes together, is told
beside it, because the clock of a machine that others use says little. Memory is that of processes
of their own, for a tenth of the list and for all of it.
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
import resource
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from aftercare.cli.recall.importing import Asked, import_lists

PATIENTS = int(os.environ.get("AFTERCARE_BENCH_PATIENTS", "100000"))
FIRST = date(2024, 1, 1)
ROOT = Path(__file__).parents[2]
HEADERS = (
    "Ref", "First name", "Surname", "DOB", "Language", "Mobile", "Email", "Address 1", "Postcode",
    "SMS consent", "Email consent", "Condition", "Last seen", "Recall months",
)  # fmt: skip

pytestmark = pytest.mark.bench


def made_up(number: int) -> tuple[str, ...]:
    """Ofcom's drama numbers are a thousand, so each is shared by many; that is told of each row."""
    return (
        f"P{number:07}", f"Nell{number % 997}", f"Invented{number % 9973}",
        f"19{number % 80 + 10}-0{number % 9 + 1}-1{number % 9}", "English",
        f"07700 {900000 + number % 1000}", f"p{number}@clinic.example",
        f"{number % 200} Made-up Row", f"ZZ{number % 9} 1ZZ", "yes", "yes", "cavity",
        (FIRST + timedelta(days=number % 700)).isoformat(), "6",
    )  # fmt: skip


@pytest.fixture(scope="module")
def clinic_list(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("list") / "patients.csv"
    with path.open("w", newline="") as stream:
        csv.writer(stream).writerow(HEADERS)
        csv.writer(stream).writerows(made_up(number) for number in range(PATIENTS))
    return path


def bare(clinic_list: Path, folder: Path) -> None:
    """The yardstick: `csv.reader` straight into one table without keys or indexes."""
    connection = sqlite3.connect(folder / "bare.sqlite")
    connection.execute(f"CREATE TABLE list ({', '.join(f'c{n} TEXT' for n in range(14))})")
    with clinic_list.open(newline="") as stream:
        holes = ", ".join("?" * 14)
        # Nothing from outside stands in the statement, only holes.
        connection.executemany(f"INSERT INTO list VALUES ({holes})", csv.reader(stream))  # noqa: S608
    connection.commit()
    connection.close()


def processor() -> float:
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(
        resource.getrusage(kind).ru_utime + resource.getrusage(kind).ru_stime for kind in kinds
    )


@contextlib.contextmanager
def timed(what: str, taken: dict[str, float]) -> Iterator[None]:
    clock, busy = time.perf_counter(), processor()
    yield
    clock, busy = time.perf_counter() - clock, processor() - busy
    taken[what] = clock
    print(
        f"\n{what}: {PATIENTS / clock:,.0f}/s by the clock, "
        f"{busy / PATIENTS * 1e6:.2f} µs of processor each"
    )


def test_importing_against_the_bare_way(
    clinic_list: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("AFTERCARE_DATABASE", f"sqlite:///{tmp_path / 'register.sqlite'}")
    asked = Asked(files=[clinic_list], mapping=None, by="Ann Admin", home=str(ROOT), dry_run=False)
    taken: dict[str, float] = {}
    with timed("bare CSV to SQLite", taken):
        bare(clinic_list, tmp_path)
    for what, told in (
        ("import", f"{PATIENTS} new people"),
        ("the same list again", "The register is as it was."),
    ):
        said = io.StringIO()
        with timed(what, taken), contextlib.redirect_stdout(said):
            assert import_lists(asked, as_json=False) == 0
        assert told in said.getvalue()
    print(f"import at {taken['bare CSV to SQLite'] / taken['import']:.2f} of the bare rate")


MOST_MEMORY = """
import contextlib, io, resource, sys
from pathlib import Path
from aftercare.cli.recall.importing import Asked, import_lists
files, home = [Path(sys.argv[1])], sys.argv[2]
asked = Asked(files=files, mapping=None, by="Ann Admin", home=home, dry_run=False)
with contextlib.redirect_stdout(io.StringIO()):
    assert import_lists(asked, as_json=False) == 0
# ru_maxrss of a process counts what it was before it was this program; VmHWM does not.
status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
worker = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(int(status["VmHWM"].split()[0]) // 1024, worker // 1024)
"""
FLAT = 100  # MB that ten times the rows may add; a million rows held would be a thousand


def test_memory_does_not_grow_with_the_list(clinic_list: Path, tmp_path: Path) -> None:
    lines = clinic_list.read_text().splitlines(keepends=True)
    short = tmp_path / "short.csv"
    short.write_text("".join(lines[: PATIENTS // 10 + 1]))
    most = []
    for name, path in (("short", short), ("whole", clinic_list)):
        url = f"sqlite:///{tmp_path / name}.sqlite"
        found = []
        for _ in ("new", "again"):
            run = subprocess.run(
                [sys.executable, "-c", MOST_MEMORY, str(path), str(ROOT)],
                env=os.environ | {"AFTERCARE_DATABASE": url},
                check=True,
                capture_output=True,
                text=True,
            )
            found.append(max(map(int, run.stdout.split())))
        most.append(found)
    for what, before, after in zip(("import", "the same list again"), *most, strict=True):
        print(f"\n{what}: {before} MB for {PATIENTS // 10:,} rows, {after} MB for {PATIENTS:,}")
        assert after - before < FLAT
