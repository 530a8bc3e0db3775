"""Which shifts wait for a review, and summaries written out for the table of many shifts.

The list of shifts is made anew from the journal after this, so its rows need not be carried over.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_Name = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

PARTS = {
    "open_holds": "open_holds > 0",
    "unsigned": "signatures = 0 AND ended_at IS NOT NULL",
    "unreviewed": "stage IN ('signed', 'changed since')",
    "outside": "outside > 0",
    "due": "due",
}


def upgrade() -> None:
    """Make the tables."""
    op.drop_table("shift")
    op.create_table(
        "shift",
        sa.Column("chain", _Name, primary_key=True),
        sa.Column("site", sa.Text, nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("commodity", sa.Text, nullable=False),
        sa.Column("started_at", sa.Text, nullable=False),
        sa.Column("started_us", sa.BigInteger, nullable=False),
        sa.Column("ended_at", sa.Text),
        sa.Column("supervisor", sa.Text, nullable=False),
        sa.Column("lots", sa.Text, nullable=False),
        sa.Column("practice", sa.Boolean, nullable=False),
        sa.Column("open_holds", sa.Integer, nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("head", sa.Text, nullable=False),
        sa.Column("after_chain", sa.Text),
        sa.Column("after_hash", sa.Text),
        sa.Column("signatures", sa.Integer, nullable=False),
        sa.Column("stage", sa.Text, nullable=False),
        sa.Column("outside", sa.Integer, nullable=False),
        sa.Column("critical", sa.Integer, nullable=False),
        sa.Column("due", sa.Boolean, nullable=False),
    )
    op.create_index("shift_started", "shift", ["started_us", "chain"])
    op.create_index("shift_ended", "shift", ["ended_at"])
    op.create_index("shift_after", "shift", ["after_chain"])
    for name, rule in PARTS.items():
        where = sa.text(rule)
        op.create_index(
            f"shift_{name}",
            "shift",
            ["started_us", "chain"],
            sqlite_where=where,
            postgresql_where=where,
        )
    op.create_table(
        "summary_rows",
        sa.Column("chain", _Name, primary_key=True),
        sa.Column("head", sa.Text, nullable=False),
        sa.Column("form", sa.Text, nullable=False),
        sa.Column("rows", sa.Integer, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
    )
