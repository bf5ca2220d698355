"""Reminders; the day a recall was closed, whether the patient was told, who was forgotten."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_BEFORE = (
    "CASE state WHEN 'scheduled' THEN true"
    " WHEN 'waiting' THEN trim(coalesce(waiting_on, '')) <> ''"
    " AND trim(coalesce(because, '')) <> ''"
    " WHEN 'closed' THEN trim(coalesce(because, '')) <> ''"
    " ELSE false END"
)
_AFTER = (
    "CASE state WHEN 'scheduled' THEN closed IS NULL"
    " WHEN 'waiting' THEN closed IS NULL AND trim(coalesce(waiting_on, '')) <> ''"
    " AND trim(coalesce(because, '')) <> ''"
    " WHEN 'closed' THEN closed IS NOT NULL AND trim(coalesce(because, '')) <> ''"
    " ELSE false END"
)


def _recalls(followed: str) -> sa.Table:
    """The table between the editions, written out: what a batch reads of it differs by version."""
    columns: list[sa.schema.SchemaItem] = [
        sa.Column("rid", _NUMBER, primary_key=True),
        *(
            sa.Column(name, kind, nullable=False)
            for name, kind in (
                ("pid", _NUMBER),
                ("condition", sa.Text),
                ("anchor", sa.Date),
                ("months", sa.Integer),
                ("weeks", sa.Integer),
                ("due", sa.Date),
                ("state", sa.Text),
            )
        ),
        *(sa.Column(name, sa.Text) for name in ("waiting_on", "because", "booked", "booked_zone")),
        sa.Column("closed", sa.Date),
        sa.Column("told", sa.Boolean, nullable=False, server_default=sa.text("false")),
    ]
    constraints: list[sa.schema.SchemaItem] = [
        sa.PrimaryKeyConstraint("rid", name="pk_recalls"),
        sa.UniqueConstraint("pid", "anchor", "condition", name="uq_recalls_pid_anchor_condition"),
        sa.ForeignKeyConstraint(["pid"], ["patients.pid"], name="fk_recalls_pid"),
        sa.CheckConstraint(followed, name="ck_recalls_followed"),
        sa.CheckConstraint(
            "(booked IS NULL) = (booked_zone IS NULL)", name="ck_recalls_booked_with_a_zone"
        ),
    ]
    due, waiting = sa.text("state <> 'closed'"), sa.text("state = 'waiting'")
    indexes: list[sa.schema.SchemaItem] = [
        sa.Index("ix_recalls_due", "due", sqlite_where=due),
        sa.Index("ix_recalls_waiting", "waiting_on", sqlite_where=waiting),
    ]
    tables = sa.MetaData()
    sa.Table("patients", tables, sa.Column("pid", _NUMBER, primary_key=True))
    return sa.Table("recalls", tables, *columns, *constraints, *indexes)


def _hold_to(rule: str, instead_of: str) -> None:
    """Hold the recalls to another rule: in place on PostgreSQL, by a new table on SQLite."""
    with op.batch_alter_table(
        "recalls", copy_from=_recalls(instead_of), recreate="auto"
    ) as recalls:
        recalls.drop_constraint("ck_recalls_followed", type_="check")
        recalls.create_check_constraint(op.f("ck_recalls_followed"), rule)


def upgrade() -> None:
    """Add the columns, then the table."""
    op.add_column("patients", sa.Column("forgotten", sa.Date))
    op.add_column("recalls", sa.Column("closed", sa.Date))
    op.add_column(
        "recalls",
        sa.Column("told", sa.Boolean, nullable=False, server_default=sa.text("false")),
    )
    # The day an older recall was closed is not known. The day it was due errs, if at all, on
    # keeping its patient's data for longer.
    op.execute("UPDATE recalls SET closed = due WHERE state = 'closed'")
    _hold_to(_AFTER, instead_of=_BEFORE)
    _reminders()


def _reminders() -> None:
    text = sa.Text
    op.create_table(
        "reminders",
        sa.Column("id", _NUMBER, nullable=False),
        sa.Column("rid", _NUMBER, nullable=False),
        sa.Column("step", text, nullable=False),
        sa.Column("channel", text, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("not_before", text),
        sa.Column("not_after", text),
        sa.Column("key", text, nullable=False),
        sa.Column("state", text, nullable=False),
        sa.Column("because", text),
        sa.Column("digest", text),
        sa.Column("settled", text),
        sa.Column("claimed_by", text),
        sa.Column("claimed_until", text),
        sa.PrimaryKeyConstraint("id", name="pk_reminders"),
        sa.UniqueConstraint("key", name="uq_reminders_key"),
        sa.ForeignKeyConstraint(["rid"], ["recalls.rid"], name="fk_reminders_rid"),
        sa.CheckConstraint(
            "channel IN ('sms', 'email', 'print')", name=op.f("ck_reminders_channel")
        ),
        sa.CheckConstraint(
            "state IN ('planned', 'prepared', 'skipped')", name=op.f("ck_reminders_state")
        ),
        sa.CheckConstraint(
            "state <> 'skipped' OR trim(coalesce(because, '')) <> ''",
            name=op.f("ck_reminders_skipped_with_a_reason"),
        ),
        sa.CheckConstraint(
            "state <> 'prepared' OR digest IS NOT NULL",
            name=op.f("ck_reminders_prepared_with_a_digest"),
        ),
        sa.CheckConstraint(
            "(state = 'planned') = (settled IS NULL)",
            name=op.f("ck_reminders_settled_at_a_moment"),
        ),
    )
    op.create_index("ix_reminders_rid", "reminders", ["rid"])
    for name, column, state in (
        ("ix_reminders_planned", "day", "planned"),
        ("ix_reminders_prepared", "settled", "prepared"),
    ):
        only = sa.text(f"state = '{state}'")
        op.create_index(name, "reminders", [column], sqlite_where=only, postgresql_where=only)


def downgrade() -> None:
    """Take the table and the columns away; what they held is lost."""
    op.drop_table("reminders")
    _hold_to(_BEFORE, instead_of=_AFTER)
    op.drop_column("recalls", "told")
    op.drop_column("recalls", "closed")
    op.drop_column("patients", "forgotten")
