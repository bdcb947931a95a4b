"""A missing optional library is one plain message."""

from __future__ import annotations

import pytest

from groundglow.errors import MissingExtraError
from groundglow.frames.optional import require


def test_the_message_names_the_extra() -> None:
    """A user without the extra learns which command brings it, and old-style handlers still catch it."""
    with pytest.raises(ImportError, match=r'pip install "groundglow\[geo\]"') as caught:
        require("library_that_is_not_there", extra="geo")
    assert isinstance(caught.value, MissingExtraError)


def test_a_present_module_is_handed_back() -> None:
    """The helper is a plain import otherwise."""
    import math

    assert require("math", extra="geo") is math
