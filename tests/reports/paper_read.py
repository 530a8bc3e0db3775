"""What stands on printed pages, and names that try to break them."""

import io

from pypdf import PdfReader

HOSTILE = '=HYPERLINK("x")\n"quoted"\u202ereversed\u202c \u05d0 \x00\x1b {nb} **bold** <b>'


def texts(body: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(body)).pages]


def flat(body: bytes) -> str:
    """All words of a record, without regard to where lines break."""
    return " ".join(" ".join(texts(body)).split())
