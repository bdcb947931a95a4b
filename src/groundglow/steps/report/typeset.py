"""The PDF: typst in a process of its own, embedded fonts only, a fixed time stamp, so the same bytes again."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from groundglow.errors import GroundglowError

__all__ = ["typeset"]

TEMPLATE = "report.typ"


def typeset(data: Mapping[str, Any], pictures: Mapping[str, bytes]) -> bytes:
    """PDF/A-2a and PDF/UA-1 bytes of the report.

    Parameters
    ----------
    data : mapping
        What the template shows; text is passed as JSON, never as markup.
    pictures : mapping of file name to bytes
        PNG or SVG, by the names that ``data`` uses.

    Raises
    ------
    GroundglowError
        When the typesetter refuses; its message is passed on.
    """
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        (place / TEMPLATE).write_text(files(__package__).joinpath(TEMPLATE).read_text(encoding="utf-8"))
        (place / "data.json").write_text(json.dumps(data, sort_keys=True, allow_nan=False))
        for name, content in pictures.items():
            (place / name).write_bytes(content)
        command = [sys.executable, "-m", __name__, str(place / TEMPLATE), str(place / "report.pdf")]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise GroundglowError(f"the report could not be typeset: {done.stderr.strip()[-600:]}")
        return (place / "report.pdf").read_bytes()


def _compile(source: str, target: str) -> None:
    from groundglow.frames.optional import require

    typst = require("typst", extra="report")
    typst.compile(
        source, output=target, ignore_system_fonts=True, pdf_standards=["ua-1", "a-2a"], timestamp=0, format="pdf"
    )


if __name__ == "__main__":
    _compile(*sys.argv[1:3])
