"""The tables as they are now; how older ones become these is told by ``migrations``.

Times are kept twice where they are searched: as the ISO 8601 text that was written, offset and
all, and as microseconds since 1970 UTC to sort and compare by.

The triggers that keep hands off the journal: looked for, and put back where they are missing.
"""

from collections.abc import Iterator

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    text,
)

from washmon.store.postgres import is_server

VERSIONS = ("0001", "0002", "0003")
"""Every schema there ever was, oldest first: the revisions under ``migrations``."""

# PostgreSQL would sort names by the rules of a language, and could not find by their beginning.
_Name = Text().with_variant(Text(collation="C"), "postgresql")

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
    Column("chain", _Name, primary_key=True),
    Column("seq", Integer, primary_key=True),
    Column("recorded_at", Text, nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("hash", Text, nullable=False),
    sqlite_with_rowid=False,
)

PARTS = {
    "open_holds": "open_holds > 0",
    "unsigned": "signatures = 0 AND ended_at IS NOT NULL",
    "unreviewed": "stage IN ('signed', 'changed since')",
    "outside": "outside > 0",
    "due": "due",
}
"""What the Logbook asks for often, each with an index of its own. A query must use these words."""

shift = Table(
    "shift",
    metadata,
    Column("chain", _Name, primary_key=True),
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
    Column("signatures", Integer, nullable=False),
    Column("stage", Text, nullable=False),  # a word of washmon.line.signing.SigningStage
    Column("outside", Integer, nullable=False),
    Column("critical", Integer, nullable=False),
    Column("due", Boolean, nullable=False),  # it has ended, and its summary is missing or older
    Index("shift_started", "started_us", "chain"),
    Index("shift_ended", "ended_at"),
    Index("shift_after", "after_chain"),
    *(
        Index(f"shift_{name}", "started_us", "chain", sqlite_where=text(rule))
        for name, rule in PARTS.items()
    ),
)


def suit_server() -> None:
    """Tell PostgreSQL, too, what the indexes of :data:`PARTS` are about.

    Said only where there is such a server: naming its dialect loads it, and start-up is measured.
    """
    rules = {f"shift_{name}": rule for name, rule in PARTS.items()}
    for index in shift.indexes:
        if index.name in rules:
            index.dialect_options["postgresql"]["where"] = text(rules[str(index.name)])


# In the order of its key: who looks for a name finds its shifts side by side, by time.
mention = Table(
    "mention",
    metadata,
    Column("what", _Name, primary_key=True),
    Column("tank", Integer, primary_key=True),
    Column("key", _Name, primary_key=True),
    Column("started_us", BigInteger, primary_key=True),
    Column("chain", _Name, primary_key=True),
    Column("name", Text, nullable=False),
    Index("mention_chain", "chain"),
    sqlite_with_rowid=False,
)

tank_summary = Table(
    "tank_summary",
    metadata,
    Column("chain", _Name, primary_key=True),
    Column("tank", Integer, primary_key=True),
    Column("head", Text, nullable=False),  # where the chain ended when this was summed up
    Column("body", Text, nullable=False),
    sqlite_with_rowid=False,
)

# Ready for the table of many shifts, which is asked for ten years at once.
summary_rows = Table(
    "summary_rows",
    metadata,
    Column("chain", _Name, primary_key=True),
    Column("head", Text, nullable=False),  # as above
    Column("form", Text, nullable=False),  # which columns the rows have; the store reads no more
    Column("rows", Integer, nullable=False),
    Column("text", Text, nullable=False),
)

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
"""What keeps a careless hand off the journal; a determined one is found by its hashes."""


_ON_SERVER = """
SELECT tgname FROM pg_trigger
WHERE tgrelid = 'journal'::regclass AND NOT tgisinternal AND tgenabled <> 'D'
"""


def missing(connection: Connection) -> list[str]:
    """Return the names of the guards that are missing, switched off, or not as they were made."""
    if is_server(connection):
        there = set(connection.exec_driver_sql(_ON_SERVER).scalars())
        return [name for name, _ in _wanted("postgresql") if name not in there]
    rows = connection.exec_driver_sql(
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'journal'"
    )
    found = {str(row.name): row.sql for row in rows}
    return [name for name, sql in _wanted("sqlite") if _plain(found.get(name)) != _plain(sql)]


def strange(connection: Connection) -> list[str]:
    """Return the names of triggers on any table of a file that are none of ours."""
    if is_server(connection):
        return []
    found = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    ours = {name for name, _ in _wanted("sqlite")}
    return sorted(str(name) for name in found.scalars() if name not in ours)


def put_back(connection: Connection) -> list[str]:
    """Put back into a file what is missing, within the caller's transaction; return the names."""
    if is_server(connection):
        return []
    lost = missing(connection)
    for name, sql in _wanted("sqlite"):
        if name in lost:
            connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
            connection.exec_driver_sql(sql)
    return lost


def _wanted(dialect: str) -> Iterator[tuple[str, str]]:
    for sql in GUARDS[dialect]:
        words = sql.split()
        if words[1] == "TRIGGER":
            yield words[2], sql


def _plain(sql: object) -> list[str]:
    return str(sql).split()
