"""Rows packed by column are the rows packed one by one."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercare.edges.register.parcel import COLUMNS, pack, pack_columns, unpack

values = st.none() | st.integers(0, 99) | st.text(max_size=4) | st.sampled_from(["", "a b", "it's"])


@given(st.integers(0, 6), st.data())
# The table of all characters, made by the first to draw one, takes seconds on a busy machine.
@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_by_column_and_by_row(count: int, data: st.DataObject) -> None:
    columns: list[list[Any]] = [
        [data.draw(values)] * count
        if data.draw(st.booleans())
        else data.draw(st.lists(values, min_size=count, max_size=count))
        for _ in COLUMNS
    ]
    columns = [[_sound(one) for one in column] for column in columns]
    rows: list[Any] = list(zip(*columns, strict=True))
    assert list(unpack(pack_columns(columns))) == list(unpack(pack(rows))) == rows


def _sound(value: Any) -> Any:
    """Text as files hold it: no half of a pair."""
    return value.encode("utf-8", "replace").decode() if isinstance(value, str) else value


def test_rows_that_are_all_alike_are_all_there() -> None:
    columns: list[list[Any]] = [["a"] * 3 for _ in COLUMNS]
    assert len(list(unpack(pack_columns(columns)))) == 3
