"""Errors as JSON of one shape, with the status that fits; messages are those of the command line."""

from __future__ import annotations

import json
import logging
import math
from collections.abc import Mapping, Sequence
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from groundglow.errors import GroundglowError, http_status
from groundglow.web.telling import without_place

__all__ = ["Plain", "Refusal", "error_body", "handle_errors"]

LOG = logging.getLogger("groundglow.web")


class Refusal(Exception):
    """A request that is refused for what it is, not for what a step says of it."""

    def __init__(self, status: int, message: str, kind: str = "Refusal", headers: Mapping[str, str] | None = None):
        self.status, self.message, self.kind, self.headers = status, message, kind, dict(headers or {})
        super().__init__(message)


class Plain(JSONResponse):
    """JSON in which what is no number is null."""

    def render(self, content: Any) -> bytes:
        """Text of the content."""
        try:
            return super().render(content)
        except ValueError:
            return super().render(_finite(content))


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _finite(v) for key, v in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(v) for v in value]
    return value


def error_body(status: int, kind: str, message: str, faults: Sequence[str] = ()) -> dict[str, Any]:
    """The one shape of an error."""
    return {"error": {"status": status, "kind": kind, "message": message, "faults": list(faults or [message])}}


def _answer(request: Request, status: int, kind: str, message: str, faults: Sequence[str] = ()) -> Response:
    """As JSON; as a page to somebody who opened an address of a page."""
    page = getattr(request.app.state, "lost", None)
    path = request.url.path
    if page and "text/html" in request.headers.get("accept", "") and not path.startswith(("/api/", "/static/")):
        shown: Response = page(request, status, message)
        return shown
    return Plain(error_body(status, kind, message, faults), status)


def _of_ours(request: Request, error: Exception) -> Response:
    if not isinstance(error, GroundglowError):
        raise error
    status, message = http_status(error), _without_place(request, str(error))
    return _answer(request, status, type(error).__name__, message)


def _without_place(request: Request, message: str) -> str:
    """The message without where on the server's disk the jobs lie."""
    return without_place(message, request.app.state.settings.root.resolve())


def _of_refusal(request: Request, error: Exception) -> Response:
    if not isinstance(error, Refusal):
        raise error
    answer = _answer(request, error.status, error.kind, error.message)
    answer.headers.update(error.headers)
    return answer


def _of_request(request: Request, error: Exception) -> Response:
    """A request whose fields are wrong: each by its name."""
    if not isinstance(error, RequestValidationError):
        raise error
    faults = [_fault(e) for e in error.errors()]
    return _answer(request, 422, "InputError", "; ".join(faults), faults)


def _fault(error: Mapping[str, Any]) -> str:
    place = ".".join(str(part) for part in error["loc"] if part not in ("body", "query", "path"))
    found = error.get("input")
    shown = f", found {json.dumps(found)[:80]}" if isinstance(found, str | int | float | bool) else ""
    if error["type"] == "extra_forbidden":
        return f"{place} is not a known field"
    message = str(error["msg"])
    return f"{place or 'request'}: {message[:1].lower()}{message[1:]}{shown}"


def _of_http(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    words = {404: f"{request.url.path}: there is no such thing here.", 405: "This cannot be done here."}
    answer = _answer(request, error.status_code, "HTTPError", words.get(error.status_code, str(error.detail)))
    answer.headers.update(error.headers or {})
    return answer


def _of_bug(request: Request, error: Exception) -> Response:
    LOG.error("internal error at %s", request.url.path, exc_info=error)
    message = f"internal error: {type(error).__name__}. The server's own log shows where."
    return _answer(request, 500, "InternalError", message)


def handle_errors(app: FastAPI) -> None:
    """Give an application these answers."""
    app.add_exception_handler(GroundglowError, _of_ours)
    app.add_exception_handler(Refusal, _of_refusal)
    app.add_exception_handler(RequestValidationError, _of_request)
    app.add_exception_handler(HTTPException, _of_http)
    app.add_exception_handler(Exception, _of_bug)
