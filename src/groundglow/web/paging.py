"""Pages of long lists."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Any

from fastapi import Depends, Query

__all__ = ["Page", "Paged"]


class Page:
    """Which part of a list is wanted."""

    def __init__(
        self,
        offset: Annotated[int, Query(ge=0, le=10_000_000, description="How many are skipped.")] = 0,
        limit: Annotated[int, Query(ge=1, le=500, description="How many are told at most.")] = 50,
    ) -> None:
        self.offset, self.limit = offset, limit

    def of(self, items: Sequence[Any], show: Callable[[Any], Any] = lambda item: item) -> dict[str, Any]:
        """That part, with the number of all."""
        part = [show(item) for item in items[self.offset : self.offset + self.limit]]
        return {"items": part, "total": len(items), "offset": self.offset, "limit": self.limit}


Paged = Annotated[Page, Depends()]
