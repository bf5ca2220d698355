"""Where a run writes to; reminders that wait, in the order they are claimed."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def _planned(*columns: str) -> None:
    only = sa.text("state = 'planned'")
    op.drop_index("ix_reminders_planned", "reminders")
    op.create_index(
        "ix_reminders_planned", "reminders", columns, sqlite_where=only, postgresql_where=only
    )


def upgrade() -> None:
    """Add the table, and the number to the index."""
    op.create_table(
        "outboxes",
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("folder", sa.Text, nullable=False),
        sa.Column("host", sa.Text, nullable=False),
        sa.Column("until", sa.Text, nullable=False),
        sa.Column("batch", sa.Text),
        sa.PrimaryKeyConstraint("name", name="pk_outboxes"),
    )
    _planned("day", "id")


def downgrade() -> None:
    """Take them away; a run that was stopped can then be finished in its own folder alone."""
    _planned("day")
    op.drop_table("outboxes")
