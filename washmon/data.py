"""Where the files that travel with the program lie: resources and demo sessions."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def folder(name: str) -> Path:
    """Return the folder ``resources`` or ``demo_sessions``.

    A wheel carries both inside the package; a checkout has them beside it.

    Raises:
        FileNotFoundError: the installation is incomplete.
    """
    for place in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"The folder {name!r} is missing: install washmon again.")


def resource(*parts: str) -> Path:
    """Return the path of one file under ``resources``."""
    return folder("resources").joinpath(*parts)


def demo_sessions() -> list[Path]:
    """Return the session files that come with the program, by name."""
    return sorted(folder("demo_sessions").glob("*.washshift"))
