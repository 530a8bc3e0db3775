"""The tables as they are now; how older ones become these is told by ``migrations``.

Times are kept twice where they are searched: as the ISO 8601 text that was written, offset and
all, and as microseconds since 1970 UTC to sort and compare by.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
)

VERSIONS = ("0001",)
"""Every schema there ever was, oldest first: the revisions under ``migrations``."""

metadata = MetaData()

version = Table(
    "alembic_version",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)

# Without row ids the entries of a shift lie side by side, and an append touches one tree, not two.
journal = Table(
    "journal",
    metadata,
    Column("chain", Text, primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("recorded_at", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("hash", Text, nullable=False),
    sqlite_with_rowid=False,
)

shift = Table(
    "shift",
    metadata,
    Column("chain", Text, primary_key=True),
    Column("site", Text, nullable=False),
    Column("line", Text, nullable=False),
    Column("commodity", Text, nullable=False),
    Column("started_at", Text, nullable=False),
    Column("started_us", BigInteger, nullable=False),
    Column("ended_at", Text),
    Column("supervisor", Text, nullable=False),
    Column("lots", Text, nullable=False),
    Column("practice", Boolean, nullable=False),
    Column("open_holds", Integer, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("head", Text, nullable=False),
    Column("after_chain", Text),
    Column("after_hash", Text),
    Index("shift_started", "started_us"),
    Index("shift_ended", "ended_at"),
    Index("shift_after", "after_chain"),
)

tank_summary = Table(
    "tank_summary",
    metadata,
    Column("chain", Text, primary_key=True),
    Column("tank", Integer, primary_key=True, autoincrement=False),
    Column("head", Text, nullable=False),  # where the chain ended when this was summed up
    Column("body", Text, nullable=False),
    sqlite_with_rowid=False,
)

GUARDS = (
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
)
"""What keeps a careless hand off the journal; a determined one is found by its hashes."""
