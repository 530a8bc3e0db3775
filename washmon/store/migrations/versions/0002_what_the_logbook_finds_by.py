"""What the Logbook finds shifts by: names, signatures, readings out of limits.

The list of shifts is made anew from the journal after this, so its rows need not be carried over.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_Name = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

PARTS = {
    "open_holds": "open_holds > 0",
    "unsigned": "signatures = 0 AND ended_at IS NOT NULL",
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
        "mention",
        sa.Column("what", _Name, primary_key=True),
        sa.Column("tank", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("key", _Name, primary_key=True),
        sa.Column("started_us", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("chain", _Name, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_index("mention_chain", "mention", ["chain"])
