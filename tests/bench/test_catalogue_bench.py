"""What catalogues cost: to load one, to load a dozen, and to check every pair."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import pytest

from aftercare.cli.catalogues import catalogue_path, judge, open_bench
from aftercare.library.catalogues import parse_catalogue
from aftercare.library.po import read_po

ROOT = Path(__file__).parents[2]
DOZEN, RUNS = 12, 7


def best_of(act: Callable[[], object]) -> float:
    """The quickest of a few runs, in milliseconds."""
    taken = []
    for _ in range(RUNS):
        start = perf_counter()
        act()
        taken.append(1000 * (perf_counter() - start))
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
    print(
        f"\n{language}: one catalogue loads in {one:.1f} ms, {DOZEN} in {dozen:.0f} ms; "
        f"every pair of one is checked in {best_of(check):.0f} ms"
    )
