"""Editions of the tables: which one a register has, and how an older one is brought up to date.

The migrations are alembic's and ship inside the package. Alembic takes a while to load, so a
register of this very edition is opened without it.
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from aftercare.edges.register.engine import refusals, writer
from aftercare.edges.register.place import Place
from aftercare.errors import OutOfReach

# The revisions in migrations/versions, the oldest first; a test holds the two together.
EDITIONS = ("0001", "0002", "0003", "0004")
NEWEST = EDITIONS[-1]
# Serialises those who bring one PostgreSQL register up to date.
_LOCK = 0x61667465
_MIGRATIONS = Path(__file__).with_name("migrations")


def edition(connection: Connection) -> str | None:
    """The edition of the tables; None when there are none at all."""
    names = set(inspect(connection).get_table_names())
    if "alembic_version" not in names:
        return "" if names else None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def check_edition(place: Place, engine: Engine) -> str | None:
    """The register's edition. Raises ``OutOfReach`` for a newer one, or somebody else's tables."""
    with refusals(place), engine.connect() as connection:
        found = edition(connection)
    if found is None or found in EDITIONS:
        return found
    if not found:
        raise OutOfReach(place.name, "a database, but not a register", "name another")
    raise OutOfReach(
        place.name,
        f"written by a newer aftercare (edition {found}; this one knows up to {NEWEST})",
        "update aftercare; nothing was changed",
    )


def bring_up_to(place: Place, engine: Engine, target: str) -> None:
    """Bring the tables up (or down) to the edition ``target``, or leave them as they are."""
    from alembic.config import Config
    from alembic.runtime.environment import EnvironmentContext
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(_MIGRATIONS))
    with refusals(place), writer(engine).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        # Somebody else may have done it while we waited for our turn.
        down = edition(connection) is not None and target < (edition(connection) or "")
        steps = scripts._downgrade_revs if down else scripts._upgrade_revs
        with EnvironmentContext(Config(), scripts, fn=lambda rev, _: steps(target, rev)) as run:
            run.configure(connection=connection, render_as_batch=True, transactional_ddl=True)
            run.run_migrations()
