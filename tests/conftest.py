"""For every test: Qt draws to memory, and nothing reads or writes the tester's own files."""

import os

from tests.store.programs import MISSING, PROGRAMS

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


def pytest_report_header() -> str:
    """Say whether the store meets a real server, or that its tests with one are left out."""
    if PROGRAMS is None:
        return f"PostgreSQL: tests deselected. {MISSING}"
    return f"PostgreSQL: a server from {PROGRAMS}"
