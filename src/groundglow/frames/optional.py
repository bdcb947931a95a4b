"""Libraries that not every user needs: one way to ask for them, one message when they are absent."""

from __future__ import annotations

import importlib
from typing import Any

from groundglow.errors import MissingExtraError

__all__ = ["require"]


def require(module: str, *, extra: str) -> Any:
    """The named module, or an error that says which extra brings it.

    Parameters
    ----------
    module : str
        Import name, such as ``rasterio``.
    extra : str
        Name of the extra in the package's metadata, such as ``geo``.

    Raises
    ------
    MissingExtraError
        When the module is not installed.

    Examples
    --------
    >>> require("json", extra="geo").dumps([1])
    '[1]'
    >>> require("no_such_module", extra="geo")
    Traceback (most recent call last):
    groundglow.errors.MissingExtraError: no_such_module is not installed. Install it with: \
pip install "groundglow[geo]"
    """
    try:
        return importlib.import_module(module)
    except ModuleNotFoundError as error:
        raise MissingExtraError(
            f'{module} is not installed. Install it with: pip install "groundglow[{extra}]"'
        ) from error
