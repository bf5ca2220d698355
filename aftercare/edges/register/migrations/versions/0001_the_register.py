"""The register: patients, visits, recalls, preferences, and what happened.

Written out as it was on its day: a migration never imports today's tables.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_TEXT = sa.Text


def upgrade() -> None:
    """Make the tables."""
    _patients()
    _visits()
    _recalls()
    _preferences()
    _happened()


def _patients() -> None:
    op.create_table(
        "patients",
        sa.Column("pid", _NUMBER, nullable=False),
        sa.Column("ref", _TEXT, nullable=False),
        sa.Column("first_name", _TEXT, nullable=False),
        sa.Column("last_name", _TEXT, nullable=False),
        sa.Column("born", sa.Date),
        sa.Column("language", _TEXT, nullable=False),
        sa.Column("mobile", _TEXT),
        sa.Column("email", _TEXT),
        sa.Column("address", _TEXT, nullable=False),
        sa.Column("agreed", _TEXT, nullable=False),
        sa.Column("facts", _TEXT, nullable=False),
        sa.Column("household", _TEXT),
        sa.Column("zone", _TEXT),
        sa.Column("standing", _TEXT, nullable=False),
        sa.Column("reasons", _TEXT, nullable=False),
        sa.PrimaryKeyConstraint("pid", name="pk_patients"),
        sa.UniqueConstraint("ref", name="uq_patients_ref"),
        sa.CheckConstraint("ref <> ''", name=op.f("ck_patients_ref")),
        sa.CheckConstraint(
            "standing IN ('ready', 'silent', 'hold')", name=op.f("ck_patients_standing")
        ),
    )


def _visits() -> None:
    op.create_table(
        "visits",
        sa.Column("pid", _NUMBER, nullable=False),
        sa.Column("seen", sa.Date, nullable=False),
        sa.Column("case_ref", _TEXT, nullable=False),
        sa.Column("conditions", _TEXT, nullable=False),
        sa.Column("side", _TEXT),
        sa.Column("clinician", _TEXT),
        sa.PrimaryKeyConstraint("pid", "seen", "case_ref", name="pk_visits"),
        sa.ForeignKeyConstraint(["pid"], ["patients.pid"], name="fk_visits_pid"),
        sa.CheckConstraint("side IN ('left', 'right', 'both')", name=op.f("ck_visits_side")),
        sqlite_with_rowid=False,
    )


def _recalls() -> None:
    op.create_table(
        "recalls",
        sa.Column("rid", _NUMBER, nullable=False),
        sa.Column("pid", _NUMBER, nullable=False),
        sa.Column("condition", _TEXT, nullable=False),
        sa.Column("anchor", sa.Date, nullable=False),
        sa.Column("months", sa.Integer, nullable=False),
        sa.Column("weeks", sa.Integer, nullable=False),
        sa.Column("due", sa.Date, nullable=False),
        sa.Column("state", _TEXT, nullable=False),
        sa.Column("waiting_on", _TEXT),
        sa.Column("because", _TEXT),
        sa.Column("booked", _TEXT),
        sa.Column("booked_zone", _TEXT),
        sa.PrimaryKeyConstraint("rid", name="pk_recalls"),
        sa.UniqueConstraint("pid", "anchor", "condition", name="uq_recalls_pid_anchor_condition"),
        sa.ForeignKeyConstraint(["pid"], ["patients.pid"], name="fk_recalls_pid"),
        sa.CheckConstraint(
            "CASE state WHEN 'scheduled' THEN true"
            " WHEN 'waiting' THEN trim(coalesce(waiting_on, '')) <> ''"
            " AND trim(coalesce(because, '')) <> ''"
            " WHEN 'closed' THEN trim(coalesce(because, '')) <> ''"
            " ELSE false END",
            name=op.f("ck_recalls_followed"),
        ),
        sa.CheckConstraint(
            "(booked IS NULL) = (booked_zone IS NULL)", name=op.f("ck_recalls_booked_with_a_zone")
        ),
    )
    for name, column, which in (
        ("ix_recalls_due", "due", "state <> 'closed'"),
        ("ix_recalls_waiting", "waiting_on", "state = 'waiting'"),
    ):
        only = sa.text(which)
        op.create_index(name, "recalls", [column], sqlite_where=only, postgresql_where=only)


def _preferences() -> None:
    op.create_table(
        "preferences",
        sa.Column("pid", _NUMBER, nullable=False),
        sa.Column("topic", _TEXT, nullable=False),
        sa.Column("channel", _TEXT, nullable=False),
        sa.PrimaryKeyConstraint("pid", "topic", "channel", name="pk_preferences"),
        sa.ForeignKeyConstraint(["pid"], ["patients.pid"], name="fk_preferences_pid"),
        sa.CheckConstraint(
            "channel IN ('sms', 'email', 'print')", name=op.f("ck_preferences_channel")
        ),
        sqlite_with_rowid=False,
    )


def _happened() -> None:
    op.create_table(
        "happened",
        sa.Column("seq", _NUMBER, autoincrement=False, nullable=False),
        sa.Column("at", _TEXT, nullable=False),
        sa.Column("pid", _NUMBER),
        sa.Column("what", _TEXT, nullable=False),
        sa.Column("by", _TEXT, nullable=False),
        sa.Column("details", _TEXT, nullable=False),
        sa.Column("mac", _TEXT, nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_happened"),
        sa.ForeignKeyConstraint(["pid"], ["patients.pid"], name="fk_happened_pid"),
    )
    op.create_index("ix_happened_pid", "happened", ["pid"])


def downgrade() -> None:
    """Take the tables away with all that is in them."""
    for name in ("happened", "preferences", "recalls", "visits", "patients"):
        op.drop_table(name)
