"""Which scripts a script needs: told in the page's head, so that the browser fetches all of them at once."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

__all__ = ["needed"]

STATIC = Path(__file__).parents[1] / "static"
_IMPORT = re.compile(r'^(?:import|export) .*?from "(\.{1,2}/[^"]+)";$', re.MULTILINE)


@cache
def needed(script: str) -> tuple[str, ...]:
    """Scripts that one imports, directly or not, itself included.

    Parameters
    ----------
    script : str
        Below the folder of static files, such as ``jobs/list.js``.

    Examples
    --------
    >>> needed("jobs/login.js")
    ('core/api.js', 'core/dom.js', 'jobs/login.js')
    """
    found: set[Path] = set()
    waiting = [(STATIC / script).resolve()]
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found.add(path)
        waiting += [(path.parent / name).resolve() for name in _IMPORT.findall(path.read_text("utf-8"))]
    return tuple(sorted(p.relative_to(STATIC.resolve()).as_posix() for p in found))
