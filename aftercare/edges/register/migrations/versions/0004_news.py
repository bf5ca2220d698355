"""What was last decided of a recall's visit: what to tell of it, and the time it was before."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

_COLUMNS = (
    ("news_on", sa.Date),
    ("news", sa.Text),
    ("former", sa.Text),
    ("changes", sa.Integer),
)


def upgrade() -> None:
    """Add the columns."""
    for name, kind in _COLUMNS:
        op.add_column("recalls", sa.Column(name, kind))


def downgrade() -> None:
    """Take them away; what a visit was before is lost."""
    for name, _ in reversed(_COLUMNS):
        op.drop_column("recalls", name)
