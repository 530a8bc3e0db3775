"""For every test: Qt draws to memory, and nothing reads or writes the tester's own files."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
