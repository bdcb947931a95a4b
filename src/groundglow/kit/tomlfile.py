"""Tables that a user wrote: read from a TOML file, or told plainly why not."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from groundglow.errors import FileError

__all__ = ["read_toml"]


def read_toml(path: Path, *, advice: str) -> dict[str, Any]:
    """What a TOML file holds.

    Parameters
    ----------
    path : Path
    advice : str
        What to do when it is no TOML: how such a table is written.

    Raises
    ------
    FileError
        When the file cannot be read or is no TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise FileError(path, f"cannot be read ({error.strerror})", "Check the name.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise FileError(path, f"is not TOML: {error}", advice) from error
