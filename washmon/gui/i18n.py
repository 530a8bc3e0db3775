"""The one door through which visible text passes, so that Spanish can follow."""

from PySide6.QtCore import QCoreApplication

_CONTEXT = "washmon"


def tr(text: str, /, **values: object) -> str:
    """Return ``text`` in the user's language, its ``{names}`` filled from ``values``.

    The braces are filled after the look-up: a translator sees "Saved: {tank}" and may move it.
    """
    shown = QCoreApplication.translate(_CONTEXT, text)
    return shown.format(**values) if values else shown


def begun(words: str) -> str:
    """Return words with a capital, as at the start of a line; pH stays as it is."""
    return words if words[1:2].isupper() else words[:1].upper() + words[1:]
