"""Reminders; the day a recall was closed, whether the patient was told, who was forgotten."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")
# What 0001 checks: a batch makes the table anew, and would leave these behind.
_KEPT = {
    "state": "state IN ('scheduled', 'waiting', 'closed')",
    "waits_on_somebody": "state <> 'waiting' OR (trim(coalesce(waiting_on, '')) <> ''"
    " AND trim(coalesce(because, '')) <> '')",
    "booked_with_a_zone": "(booked IS NULL) = (booked_zone IS NULL)",
}
_CHECKS = {
    "closed_with_a_reason": "state <> 'closed' OR (trim(coalesce(because, '')) <> ''"
    " AND closed IS NOT NULL)",
    "closed_is_closed": "state = 'closed' OR closed IS NULL",
}


def _checks(rules: dict[str, str]) -> tuple[sa.CheckConstraint, ...]:
    return tuple(
        sa.CheckConstraint(rule, name=op.f(f"ck_recalls_{name}")) for name, rule in rules.items()
    )


def upgrade() -> None:
    """Add the columns, then the table."""
    op.add_column("patients", sa.Column("forgotten", sa.Date))
    op.add_column("recalls", sa.Column("closed", sa.Date))
    op.add_column(
        "recalls",
        sa.Column("told", sa.Boolean, nullable=False, server_default=sa.text("false")),
    )
    # The day an older recall was closed is not known; the day it was due keeps it the longest
    # of the days that are known.
    op.execute(
        "UPDATE recalls SET closed = due, because = coalesce(nullif(trim(because), ''),"
        " 'not recorded') WHERE state = 'closed'"
    )
    with op.batch_alter_table("recalls", table_args=_checks(_KEPT)) as recalls:
        for name, rule in _CHECKS.items():
            recalls.create_check_constraint(op.f(f"ck_recalls_{name}"), rule)
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
    )
    op.create_index("ix_reminders_rid", "reminders", ["rid"])
    planned = sa.text("state = 'planned'")
    op.create_index(
        "ix_reminders_planned",
        "reminders",
        ["day"],
        sqlite_where=planned,
        postgresql_where=planned,
    )


def downgrade() -> None:
    """Take the table and the columns away; what they held is lost."""
    op.drop_table("reminders")
    with op.batch_alter_table("recalls", table_args=_checks(_KEPT | _CHECKS)) as recalls:
        for name in _CHECKS:
            recalls.drop_constraint(op.f(f"ck_recalls_{name}"), type_="check")
        recalls.drop_column("told")
        recalls.drop_column("closed")
    op.drop_column("patients", "forgotten")
