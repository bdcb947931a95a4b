"""Pages of a PDF as pictures, for whoever looks on a screen."""

from __future__ import annotations

import io
import threading
from pathlib import Path

from groundglow.errors import InputError
from groundglow.frames.optional import require

__all__ = ["page_count", "page_png"]

#: The renderer takes one thread at a time.
_LOCK = threading.Lock()


def page_count(path: Path) -> int:
    """Number of pages."""
    with _LOCK, require("pypdfium2", extra="web").PdfDocument(path) as document:
        return len(document)


def page_png(path: Path, page: int, width: int) -> bytes:
    """One page, counted from 1, as a PNG of a width in dots.

    Raises
    ------
    InputError
        When there is no such page.
    """
    with _LOCK, require("pypdfium2", extra="web").PdfDocument(path) as document:
        if not 1 <= page <= len(document):
            raise InputError(f"{path.name} has {len(document)} pages; there is no page {page}.")
        sheet = document[page - 1]
        picture = sheet.render(scale=width / sheet.get_width()).to_pil()
    stream = io.BytesIO()
    picture.save(stream, "PNG", optimize=False)
    return stream.getvalue()
