"""Writes the demo sessions anew: ``python -m tests.tools.make_demo_sessions``.

Each story (:mod:`tests.tools.demo_stories`) runs through the real recorder on a database of its
own, with a clock that the story moves; the same program always writes the same bytes. So what is
left to chance in the name of a chain is fixed here.
"""

import tempfile
from pathlib import Path
from unittest.mock import patch

from tests.tools.demo_shed import DemoShed
from tests.tools.demo_stories import STORIES
from washmon import data
from washmon.sessions.file import SUFFIX


def build(name: str) -> bytes:
    """Return the session file of one story."""
    shift, tell = STORIES[name]
    with (
        patch("secrets.token_hex", return_value="0"),
        tempfile.TemporaryDirectory() as folder,
        DemoShed(Path(folder), shift) as shed,
    ):
        tell(shed)
        return shed.session(shift.title, shift.note)


def main() -> None:
    """Write them all."""
    for name in STORIES:
        path = data.folder("demo_sessions") / f"{name}{SUFFIX}"
        path.write_bytes(build(name))


if __name__ == "__main__":
    main()
