"""A PDF: typst in a process of its own, embedded fonts only, a fixed time stamp, so the same bytes again."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from groundglow.errors import GroundglowError

__all__ = ["typeset"]

#: What templates import: colours, page, tables.
STYLE = "style.typ"


def typeset(template: Traversable, data: Mapping[str, Any], pictures: Mapping[str, bytes]) -> bytes:
    """PDF/A-2a and PDF/UA-1 bytes of a template filled with data.

    Parameters
    ----------
    template : traversable
        A typst file that reads ``data.json`` and may import ``style.typ``.
    data : mapping
        What the template shows; text is passed as JSON, never as markup.
    pictures : mapping of file name to bytes
        PNG or SVG, by the names that ``data`` uses.

    Returns
    -------
    bytes

    Raises
    ------
    GroundglowError
        When the typesetter refuses; its message is passed on.
    """
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for source in (template, files(__package__).joinpath(STYLE)):
            (place / source.name).write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
        (place / "data.json").write_text(json.dumps(data, sort_keys=True, allow_nan=False), encoding="utf-8")
        for name, content in pictures.items():
            (place / name).write_bytes(content)
        command = [sys.executable, "-m", __name__, str(place / template.name), str(place / "out.pdf")]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise GroundglowError(f"the page could not be typeset: {done.stderr.strip()[-600:]}")
        return (place / "out.pdf").read_bytes()


def _compile(source: str, target: str) -> None:
    from groundglow.frames.optional import require

    typst = require("typst", extra="report")
    typst.compile(
        source, output=target, ignore_system_fonts=True, pdf_standards=["ua-1", "a-2a"], timestamp=0, format="pdf"
    )


if __name__ == "__main__":
    _compile(*sys.argv[1:3])
