"""The base of every record that a person writes as a file: strict fields and plain errors."""

from __future__ import annotations

import difflib
from typing import Any, Self

from pydantic import BaseModel, ConfigDict, ValidationError

from groundglow.errors import InputError

__all__ = ["EdgeRecord"]


class EdgeRecord(BaseModel):
    """A frozen record checked at the edge: unknown fields are refused, with the nearest known name."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    @classmethod
    def parse(cls, raw: dict[str, Any], where: str) -> Self:
        """Check a plain mapping; ``where`` names the file in the error.

        Raises
        ------
        InputError
            With one line a fault: file, field, what was found, what is allowed.
        """
        try:
            return cls.model_validate(raw)
        except ValidationError as error:
            lines = [_explain(e, cls) for e in error.errors()]
            raise InputError(f"{where}: " + "; ".join(lines)) from error


def _names(model: Any, path: tuple[Any, ...]) -> list[str]:
    for part in path:
        fields = getattr(model, "model_fields", {})
        if part not in fields:
            continue
        inner = fields[part].annotation
        candidates = [inner, *getattr(inner, "__args__", ())]
        model = next((c for c in candidates if hasattr(c, "model_fields")), model)
    return list(getattr(model, "model_fields", {}))


def _explain(fault: Any, model: Any) -> str:
    path = tuple(fault["loc"])
    name = ".".join(str(p) for p in path) or "file"
    if fault["type"] == "extra_forbidden":
        near = difflib.get_close_matches(str(path[-1]), _names(model, path[:-1]), n=1)
        return f"{name} is not a known field" + (f" (did you mean {near[0]}?)" if near else "")
    if fault["type"] == "missing":
        return f"{name} is missing: add it"
    found = f", found {fault['input']!r}" if isinstance(fault["input"], str | int | float | bool) else ""
    return f"{name}: {fault['msg'][0].lower()}{fault['msg'][1:]}{found}"
