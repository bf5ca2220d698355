"""Editions: an older register is brought up to date with all that is in it, a newer one refused."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_register import row, take_in
from sqlalchemy import inspect, text

from aftercare.edges.register import editions
from aftercare.edges.register.editions import EDITIONS, NEWEST, bring_up_to, check_edition
from aftercare.edges.register.place import Place
from aftercare.edges.register.register import SqlRegister, make_register, open_register
from aftercare.edges.register.tables import METADATA
from aftercare.errors import BadInput, OutOfReach


def shape(register: SqlRegister) -> dict[str, Any]:
    """Everything a database says of its tables: columns, keys, checks, ties, indexes."""
    look = inspect(register.engine)
    return {
        table: {
            "columns": [
                (one["name"], str(one["type"]), one["nullable"], one["default"])
                for one in look.get_columns(table)
            ],
            "key": look.get_pk_constraint(table),
            "unique": sorted(look.get_unique_constraints(table), key=str),
            "checks": sorted(
                (one["name"], one["sqltext"]) for one in look.get_check_constraints(table)
            ),
            "ties": look.get_foreign_keys(table),
            "indexes": sorted(
                (one["name"], one["column_names"], only_where(one))
                for one in look.get_indexes(table)
            ),
        }
        for table in sorted(look.get_table_names())
        if table != "alembic_version"
    }


def only_where(index: Any) -> list[str]:
    return sorted(str(only) for only in index.get("dialect_options", {}).values())


def unordered(shape: dict[str, Any]) -> dict[str, Any]:
    """Columns added later stand last, which means nothing."""
    return {name: {**table, "columns": sorted(table["columns"])} for name, table in shape.items()}


def test_the_editions_are_the_migrations_that_ship() -> None:
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(editions._MIGRATIONS))

    assert [one.revision for one in scripts.walk_revisions()][::-1] == list(EDITIONS)


def test_the_migrations_make_the_tables_as_they_are_declared(place: Place) -> None:
    """Alembic's own comparison misses checks (seen in its documentation), so all is compared."""
    migrated = make_register(place)
    by_migrations = unordered(shape(migrated))
    bring_up_to(place, migrated.engine, EDITIONS[0])
    cascade = " CASCADE" if place.file is None else ""
    with migrated.engine.begin() as connection:
        if place.file is not None:
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for table in inspect(connection).get_table_names():
            connection.execute(text(f"DROP TABLE {table}{cascade}"))
        METADATA.create_all(connection)
    declared = unordered(shape(migrated))
    migrated.close()

    assert by_migrations == declared
    assert {name for name, _ in declared["recalls"]["checks"]} == {
        "ck_recalls_followed",
        "ck_recalls_booked_with_a_zone",
    }


def old(place: Place) -> SqlRegister:
    """A register of the first edition with one open recall and one that was closed."""
    register = make_register(place)
    take_in(
        register,
        row(1),
        row(2, state="closed", because="came", closed="2026-08-01", due="2026-07-20"),
    )
    bring_up_to(place, register.engine, EDITIONS[0])
    return register


def test_going_down_and_up_again_gives_the_same_tables(place: Place) -> None:
    register = make_register(place)
    before = shape(register)

    bring_up_to(place, register.engine, EDITIONS[0])
    assert "reminders" not in shape(register)
    assert check_edition(place, register.engine) == EDITIONS[0]
    bring_up_to(place, register.engine, NEWEST)

    assert unordered(shape(register)) == unordered(before)
    register.close()


def test_an_old_register_comes_up_with_everything_in_it(place: Place) -> None:
    old(place).close()

    register = open_register(place)

    assert check_edition(place, register.engine) == NEWEST
    assert [person.ref for person in register.people()] == ["P0000001", "P0000002"]
    (opened,), (closed,) = (register.recalls(f"P000000{n}") for n in (1, 2))
    assert (opened.state, opened.told) == ("scheduled", False)
    assert (closed.because, str(closed.closed)) == ("came", "2026-07-20")
    register.close()


def test_the_first_edition_refuses_a_recall_on_nobody_too(place: Place) -> None:
    from aftercare.edges.register.engine import refusals

    register = old(place)
    with (
        pytest.raises(BadInput, match="followed"),
        refusals(place),
        register.engine.begin() as connection,
    ):
        connection.execute(text("UPDATE recalls SET state = 'waiting'"))
    register.close()


def test_a_newer_register_is_refused_and_left_alone(place: Place) -> None:
    register = make_register(place)
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    register.close()

    for opener in (open_register, make_register):
        with pytest.raises(OutOfReach, match=r"newer aftercare \(edition 9999"):
            opener(place)


def test_somebody_else_s_database_is_refused(place: Place) -> None:
    if place.file is not None:
        place.file.touch()
    stranger = SqlRegister(place)
    with stranger.engine.begin() as connection:
        connection.execute(text("CREATE TABLE invoices (id INTEGER)"))
    stranger.close()

    with pytest.raises(OutOfReach, match="not a register"):
        make_register(place)


def test_a_register_of_this_edition_opens_without_alembic(file_register: SqlRegister) -> None:
    import subprocess
    import sys

    code = (
        "import sys; from pathlib import Path;"
        "from aftercare.edges.register.place import Place;"
        "from aftercare.edges.register.register import open_register;"
        f"p = Path({str(file_register.place.file)!r}); open_register(Place(beside=p, file=p));"
        "print('alembic' in sys.modules, 'sqlalchemy' in sys.modules)"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert said.stdout.split() == ["False", "True"]
