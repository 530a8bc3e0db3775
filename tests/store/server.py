"""A PostgreSQL server of the test session's own, if this machine has the programs for one."""

import os
import pwd
import shutil
import subprocess
import tempfile
from itertools import count
from pathlib import Path
from typing import Any

import psycopg


class Server:
    """One server on a socket in a temporary folder, with a new database for who asks."""

    def __init__(self, programs: Path) -> None:
        self._programs = programs
        # Not pytest's folder: the server's user could not enter it, and sockets need short names.
        self._folder = Path(tempfile.mkdtemp(prefix="washmon-pg-", dir="/tmp"))
        self._user = self._unprivileged()
        self._names = count(1)
        data = self._folder / "data"
        self._run("initdb", "-D", data, "-U", "washmon", "-A", "trust", "-E", "UTF8", "--no-sync")
        self.start()

    def new_url(self, encoding: str = "UTF8") -> str:
        """Make an empty database and return its URL."""
        name = f"shed{next(self._names)}"
        with self.connect("postgres") as db:
            db.execute(
                f"CREATE DATABASE {name} TEMPLATE template0 ENCODING '{encoding}' LOCALE 'C'"
            )
        return self.url(name)

    def new_name(self) -> str:
        """Make an empty database and return its name."""
        return self.new_url().split("/")[3].split("?")[0]

    @property
    def socket(self) -> Path:
        """Where it listens."""
        return self._folder / ".s.PGSQL.5432"

    def new_place(self) -> str:
        """Return the URL of an empty schema: a database for itself, but made in a moment."""
        name = f"place{next(self._names)}"
        with self.connect("postgres") as db:
            db.execute(f"CREATE SCHEMA {name}")
        return f"{self.url('postgres')}&options=-csearch_path%3D{name}"

    def url(self, name: str) -> str:
        return f"postgresql+psycopg://washmon@/{name}?host={self._folder}"

    def connect(self, name: str) -> "psycopg.Connection[Any]":
        return psycopg.connect(dbname=name, user="washmon", host=str(self._folder), autocommit=True)

    def start(self) -> None:
        options = f"-k {self._folder} -c listen_addresses='' -c max_connections=50"
        log = self._folder / "log"
        self._run("pg_ctl", "-D", self._folder / "data", "-l", log, "-w", "-o", options, "start")

    def stop(self, mode: str = "immediate") -> None:
        self._run("pg_ctl", "-D", self._folder / "data", "-m", mode, "-w", "stop")

    def remove(self) -> None:
        self.stop()
        shutil.rmtree(self._folder)

    def _run(self, program: str, *arguments: object) -> None:
        done = subprocess.run(
            [str(self._programs / program), *map(str, arguments)],
            check=False,
            cwd=self._folder,
            user=self._user,
            group=None if self._user is None else pwd.getpwnam(self._user).pw_gid,
            extra_groups=None if self._user is None else [],
            # A file, not a pipe: the server would hold the other end and keep us waiting.
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "LC_ALL": "C"},
        )
        log = self._folder / "log"
        said = log.read_text(errors="replace") if log.exists() else ""
        assert done.returncode == 0, f"{program} failed ({done.returncode}): {said}"

    def _unprivileged(self) -> str | None:
        """Root may not run the server: then somebody without rights gets the folder."""
        if os.geteuid() != 0:
            return None
        names = {entry.pw_name for entry in pwd.getpwall()}
        user = "postgres" if "postgres" in names else "nobody"
        shutil.chown(self._folder, user)
        return user
