"""The first schema: the journal, and the projections that the Logbook reads."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_Name = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

GUARDS = {
    "sqlite": (
        """
        CREATE TRIGGER journal_never_updated BEFORE UPDATE ON journal
        BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
        """,
        """
        CREATE TRIGGER journal_never_deleted BEFORE DELETE ON journal
        BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
        """,
        # REPLACE would delete without waking the guard above.
        """
        CREATE TRIGGER journal_only_extended BEFORE INSERT ON journal
        WHEN NEW.seq <> (SELECT coalesce(max(seq) + 1, 0) FROM journal WHERE chain = NEW.chain)
        BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END
        """,
    ),
    "postgresql": (
        """
        CREATE FUNCTION journal_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION 'the journal is append-only'; END $$
        """,
        """
        CREATE FUNCTION journal_check_place() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
            IF NEW.seq <> (SELECT coalesce(max(seq) + 1, 0) FROM journal WHERE chain = NEW.chain)
            THEN RAISE EXCEPTION 'the journal is append-only'; END IF;
            RETURN NEW;
        END $$
        """,
        """
        CREATE TRIGGER journal_never_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON journal
        FOR EACH STATEMENT EXECUTE FUNCTION journal_refuse()
        """,
        """
        CREATE TRIGGER journal_only_extended BEFORE INSERT ON journal
        FOR EACH ROW EXECUTE FUNCTION journal_check_place()
        """,
    ),
}


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "journal",
        sa.Column("chain", _Name, primary_key=True),
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sqlite_with_rowid=False,
    )
    for guard in GUARDS[op.get_bind().dialect.name]:
        op.execute(guard)
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
    )
    op.create_index("shift_started", "shift", ["started_us"])
    op.create_index("shift_ended", "shift", ["ended_at"])
    op.create_index("shift_after", "shift", ["after_chain"])
    op.create_table(
        "tank_summary",
        sa.Column("chain", _Name, primary_key=True),
        sa.Column("tank", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("head", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sqlite_with_rowid=False,
    )
