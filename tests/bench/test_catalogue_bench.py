"""What catalogues cost: to load one, to load a dozen, and to check every pair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from time import process_time

import pytest
from made_up import TODAY, FakePress, a_case

from aftercare.cli.bootstrap import open_house
from aftercare.cli.catalogues import catalogue_path, judge, open_bench
from aftercare.edges.folder import read_home
from aftercare.flow import discharge
from aftercare.library import read
from aftercare.library.catalogues import parse_catalogue
from aftercare.library.po import read_po
from aftercare.model import Case, Channel, Library, Purpose

ROOT = Path(__file__).parents[2]
DOZEN, RUNS = 12, 7
# The demands: one language, and twelve, in milliseconds of a machine that does nothing else. On
# a shared one a run may take some times as long; what takes longer still has become slower.
ONE_LOADS, DOZEN_LOADS, SHARED = 30, 200, 3


def best_of(act: Callable[[], object]) -> float:
    """The quickest of a few runs, in milliseconds of the processor's time."""
    taken = []
    for _ in range(RUNS):
        start = process_time()
        act()
        taken.append(1000 * (process_time() - start))
    return min(taken)


@pytest.mark.bench
@pytest.mark.parametrize("language", ["pl", "ur"])
def test_catalogues_load_and_are_checked(language: str) -> None:
    bench = open_bench(str(ROOT))
    place = catalogue_path(language)
    raw = bench.files[place]

    def load() -> int:
        return len(parse_catalogue(language, place, raw, None).phrases)

    def check() -> int:
        return len(judge(bench, language).faults(language, read_po(place, raw)))

    assert load() == sum(entry.usable for entry in read_po(place, raw).entries)
    check()
    one, dozen = best_of(load), best_of(lambda: [load() for _ in range(DOZEN)])
    assert one < SHARED * ONE_LOADS
    assert dozen < SHARED * DOZEN_LOADS
    print(
        f"\n{language}: one catalogue loads in {one:.1f} ms, {DOZEN} in {dozen:.0f} ms; "
        f"every pair of one is checked in {best_of(check):.0f} ms"
    )


@pytest.mark.bench
def test_a_reader_of_english_waits_for_no_catalogue_and_one_of_urdu_for_one() -> None:
    """Each with the catalogue read and the sentences checked that a message needs."""
    files = read_home(ROOT)
    case = a_case(visit_date=date(2026, 11, 18))
    urdu = replace(case, patient=replace(case.patient, language="ur"))

    def opened() -> Library:
        return open_house(str(ROOT)).library

    def first(one: Case, library: Library) -> object:
        return discharge(
            one, library, press=FakePress(), today=TODAY, purpose=Purpose.SAMPLE,
            channels=[Channel.SMS],
        )  # fmt: skip

    warm = opened()
    first(case, warm), first(urdu, warm)
    bare, whole = best_of(lambda: read(files, wanted=())), best_of(lambda: read(files))
    english = best_of(lambda: first(case, opened())) - best_of(opened)
    late = best_of(lambda: first(urdu, opened())) - best_of(opened)
    again = best_of(lambda: first(urdu, warm)) - best_of(lambda: first(case, warm))

    print(
        f"\nthe shelf without catalogues {bare:.0f} ms, with all {whole:.0f} ms; a first text in "
        f"English {english:.0f} ms, in Urdu {late:.0f} ms, each further one {again:.2f} ms more"
    )
    assert bare < whole
    assert late < SHARED * DOZEN_LOADS
