"""The errors a user can catch, and what each means for a command line or a web request.

Every message says what is wrong, where, what was found and what to do next. The faces print
it without a traceback.
"""

from __future__ import annotations

__all__ = [
    "EXIT_CODES",
    "HTTP_STATUS",
    "FileError",
    "FrameError",
    "GroundglowError",
    "InputError",
    "JobError",
    "MissingExtraError",
    "RangeError",
    "UnmetError",
    "exit_code",
    "http_status",
]


class GroundglowError(Exception):
    """Base of all errors that Groundglow raises on purpose."""


class InputError(GroundglowError, ValueError):
    """Something given is wrong: a field of a file, an option, an argument."""


class RangeError(InputError):
    """A number lies outside what it may be.

    Examples
    --------
    >>> raise RangeError("emissivity", 1.2, "", "0 < emissivity <= 1", "a share of black-body emission",
    ...                  "Check percent against fraction.")
    Traceback (most recent call last):
    groundglow.errors.RangeError: emissivity out of range: emissivity is 1.2; allowed 0 < emissivity <= 1 \
(a share of black-body emission). Check percent against fraction.
    """

    def __init__(self, name: str, value: object, unit: str, allowed: str, why: str, hint: str = "") -> None:
        self.name, self.value, self.unit, self.allowed, self.why, self.hint = (
            name,
            value,
            unit,
            allowed,
            why,
            hint,
        )
        found = f"{value} {unit}".strip()
        super().__init__(f"{name} out of range: {name} is {found}; allowed {allowed} ({why}). {hint}".strip())

    def __reduce__(self) -> tuple[object, ...]:
        """Travel between processes with all parts."""
        return RangeError, (self.name, self.value, self.unit, self.allowed, self.why, self.hint)


class FileError(GroundglowError):
    """A file is missing, unreadable or not what its name says."""

    def __init__(self, path: object, what: str, hint: str = "") -> None:
        self.path, self.what, self.hint = path, what, hint
        super().__init__(f"{path}: {what}. {hint}".strip())

    def __reduce__(self) -> tuple[object, ...]:
        """Travel between processes with all parts."""
        return FileError, (self.path, self.what, self.hint)


class FrameError(GroundglowError):
    """One frame cannot be used. It is set aside with this reason; the flight goes on."""


class JobError(GroundglowError):
    """The job folder is not in a state for what was asked."""


class UnmetError(GroundglowError):
    """The work was done, but what was asked is not met."""


class MissingExtraError(GroundglowError, ImportError):
    """An optional library is not installed; the message names the extra that brings it."""


EXIT_CODES: dict[type[GroundglowError], int] = {UnmetError: 1, GroundglowError: 2}
HTTP_STATUS: dict[type[GroundglowError], int] = {
    UnmetError: 409,
    JobError: 409,
    FileError: 404,
    MissingExtraError: 501,
    GroundglowError: 422,
}


def _lookup(table: dict[type[GroundglowError], int], error: GroundglowError) -> int:
    return next(code for kind, code in table.items() if isinstance(error, kind))


def exit_code(error: GroundglowError) -> int:
    """Exit code of the command line for an error: 1 asked result unmet, 2 bad input.

    Examples
    --------
    >>> exit_code(InputError("no such zone")), exit_code(UnmetError("coverage 80 %, asked 95 %"))
    (2, 1)
    """
    return _lookup(EXIT_CODES, error)


def http_status(error: GroundglowError) -> int:
    """HTTP status of a web request that ends in an error.

    Examples
    --------
    >>> http_status(FileError("brief.toml", "not there"))
    404
    """
    return _lookup(HTTP_STATUS, error)
