"""Times in files: ISO 8601, UTC or a camera's own clock, to seconds since 1970-01-01T00:00Z."""

from __future__ import annotations

import re
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from groundglow.errors import InputError

__all__ = ["UNKNOWN_ZONE", "clock_time", "iso_text", "iso_time", "zone_of"]

#: ``time_zone`` of a clock whose zone nobody knows: its times order the frames, they place no sun.
UNKNOWN_ZONE = "unknown"


def iso_time(text: str, zone: tzinfo = UTC) -> float | None:
    """Seconds since 1970-01-01T00:00Z of an ISO 8601 time; None when the text is no time.

    Parameters
    ----------
    text : str
        Such as ``2026-02-03T04:05:06.25Z``. Without a zone of its own, ``zone`` holds.

    Examples
    --------
    >>> iso_time("1970-01-02T00:00:00.5"), iso_time("1970-01-01T01:00:00+01:00"), iso_time("soon")
    (86400.5, 0.0, None)
    """
    try:
        moment = datetime.fromisoformat(_six_digits(text.strip()))
        return (moment if moment.tzinfo else moment.replace(tzinfo=zone)).timestamp()
    except (ValueError, OverflowError):
        return None


def _six_digits(text: str) -> str:
    """At most six decimals of a second, which is what `datetime` keeps."""
    return re.sub(r"(\.\d{6})\d+", r"\1", text)


def iso_text(time: float) -> str:
    """ISO 8601 text in UTC of a time in seconds, to the millisecond.

    See Also
    --------
    iso_time : the other way round.

    Examples
    --------
    >>> iso_text(86400.5)
    '1970-01-02T00:00:00.500Z'
    """
    moment = datetime.fromtimestamp(round(time, 3), UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def zone_of(name: str) -> tzinfo:
    """The zone named in flight.toml: ``UTC``, an offset such as ``+01:00``, or a name such as ``Etc/GMT-1``.

    ``unknown`` is taken as UTC; whoever reads the times adds a note.

    Raises
    ------
    InputError
        When there is no such zone.
    """
    if name in ("UTC", "Z", UNKNOWN_ZONE):
        return UTC
    try:
        if re.fullmatch(r"[+-]\d\d:\d\d", name):
            return datetime.fromisoformat(f"2000-01-01T00:00{name}").tzinfo or UTC
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(
            f'poses.time_zone is {name!r}; allowed "UTC", an offset such as "+01:00", a zone of the tz '
            f'database such as "Etc/GMT-1", or "unknown"'
        ) from error


def clock_time(text: str, *, time_zone: str, clock_offset: float) -> float | None:
    """UTC seconds of a reading of the camera's clock; None when the text is no time.

    Parameters
    ----------
    text : str
        ISO 8601. A zone of its own wins over ``time_zone``.
    time_zone : str
        The zone that the clock keeps.
    clock_offset : float
        Seconds by which the clock is ahead of the true time of its zone; subtracted.

    Examples
    --------
    >>> clock_time("1970-01-01T01:00:03", time_zone="+01:00", clock_offset=3.0)
    0.0
    """
    time = iso_time(text, zone_of(time_zone))
    return None if time is None else time - clock_offset
