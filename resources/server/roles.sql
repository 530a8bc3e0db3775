-- Two roles for washmon on a PostgreSQL server: one may only append, one may only read.
--
-- The owner of the tables runs this (washmon migrate --roles), after the database was made and after
-- each upgrade; it can be run again at any time. People and sheds get logins of their own that are
-- members of a role, such as
--     CREATE ROLE north_shed LOGIN PASSWORD '...' IN ROLE washmon_append;
--     CREATE ROLE office LOGIN PASSWORD '...' IN ROLE washmon_read;
-- None of them owns a table: UPDATE, DELETE and TRUNCATE on the journal are refused by privilege,
-- and the triggers on it can't be taken off.

DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'washmon_append') THEN
        CREATE ROLE washmon_append NOLOGIN;
    END IF;
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'washmon_read') THEN
        CREATE ROLE washmon_read NOLOGIN;
    END IF;
    EXECUTE 'REVOKE CREATE ON SCHEMA ' || quote_ident(current_schema()) || ' FROM PUBLIC';
    EXECUTE 'GRANT USAGE ON SCHEMA ' || quote_ident(current_schema())
        || ' TO washmon_append, washmon_read';
END
$$;

REVOKE ALL ON journal, alembic_version, shift, mention, tank_summary, summary_rows
    FROM PUBLIC, washmon_append, washmon_read;

-- What was entered: added to, never changed.
GRANT SELECT, INSERT ON journal TO washmon_append;

-- What is made from it, and can be made from it again.
GRANT SELECT, INSERT, UPDATE, DELETE ON shift, mention, tank_summary, summary_rows TO washmon_append;

-- The number of the schema: at its start a program looks whether it could write, and takes it back.
GRANT SELECT, UPDATE ON alembic_version TO washmon_append;

GRANT SELECT ON journal, alembic_version, shift, mention, tank_summary, summary_rows TO washmon_read;
