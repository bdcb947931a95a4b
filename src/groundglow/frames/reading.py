"""Any frame file: find its reader, read it, check it against flight.toml."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any

import numpy as np

from groundglow.errors import FileError, FrameError, InputError
from groundglow.frames.base import Reader
from groundglow.frames.exif import read_tags, stamp_from_tags
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, ValueKind

__all__ = ["MAX_NAN_SHARE", "PICTURE_REASON", "list_frames", "read_frame", "readers"]

GROUP = "groundglow.readers"
#: A frame with a greater share of pixels that are not numbers is set aside.
MAX_NAN_SHARE = 0.5
PICTURE_REASON = "8-bit picture: no temperature can be stated"
#: What may lie beside a frame and carry its Exif.
COMPANIONS = (".jpg", ".jpeg", ".png", ".tif", ".tiff")


@cache
def readers() -> dict[str, Reader]:
    """Reader of each file suffix, from the entry points ``groundglow.readers``; our own come first."""
    found: dict[str, Reader] = {}
    for entry in sorted(entry_points(group=GROUP), key=_own_first):
        reader = _load(entry)
        for suffix in reader.suffixes:
            found.setdefault(suffix.lower(), reader)
    return found


def _own_first(entry: EntryPoint) -> tuple[bool, str]:
    return not entry.value.startswith("groundglow."), entry.name


def _load(entry: EntryPoint) -> Reader:
    try:
        reader: Reader = entry.load()()
    except (ImportError, AttributeError, TypeError) as error:
        raise InputError(
            f"the frame reader {entry.name!r} ({entry.value}) cannot be loaded: {error}. Repair or remove it."
        ) from error
    return reader


def list_frames(folder: Path) -> list[Path]:
    """Frame files of a folder in order of name.

    Of several files with one stem only one is the frame (TIFF before .npy before PNG before pictures);
    the others are its companions. Hidden files and other kinds of file are passed over.

    Raises
    ------
    FileError
        When the folder is not there or holds no frame.
    """
    if not folder.is_dir():
        raise FileError(folder, "there is no such folder", "Put the frames of the flight there.")
    best: dict[str, Path] = {}
    for path in sorted(folder.iterdir()):
        reader = readers().get(path.suffix.lower())
        if reader is None or path.name.startswith(".") or not path.is_file():
            continue
        other = best.get(path.stem)
        if other is None or reader.rank < readers()[other.suffix.lower()].rank:
            best[path.stem] = path
    if not best:
        known = ", ".join(sorted(readers()))
        raise FileError(folder, "holds no frames", f"Known kinds: {known}.")
    return sorted(best.values())


def read_frame(path: Path, spec: FlightSpec) -> Frame:
    """One frame with its stamp, checked against what flight.toml says.

    Parameters
    ----------
    path : Path
        The file; a companion picture of the same stem beside it fills in Exif that it lacks.
    spec : FlightSpec
        What the stored numbers mean and how large frames are.

    Returns
    -------
    Frame
        Values exactly as stored. An 8-bit frame is a picture whatever flight.toml says, and
        ``tags["reason"]`` says so.

    Raises
    ------
    FrameError
        When this frame cannot be used; the message is the reason.
    """
    reader = readers().get(path.suffix.lower())
    if reader is None:
        known = ", ".join(sorted(readers()))
        raise FrameError(f"{path.name}: no reader for {path.suffix or 'a file without suffix'} ({known})")
    frame = reader.read(path)
    _check_size(frame, spec)
    _check_numbers(frame)
    tags = _companion_tags(path) | frame.tags | _kind_tags(frame, spec)
    return replace(frame, kind=_kind(frame, spec), tags=tags, stamp=stamp_from_tags(tags, spec.poses))


def _kind(frame: Frame, spec: FlightSpec) -> ValueKind:
    return ValueKind.PICTURE if frame.kind is ValueKind.PICTURE else ValueKind(spec.values.kind)


def _kind_tags(frame: Frame, spec: FlightSpec) -> dict[str, Any]:
    said = spec.values.kind
    if frame.kind is not ValueKind.PICTURE or said == ValueKind.PICTURE.value:
        return {}
    return {"reason": f'{PICTURE_REASON}, though flight.toml says kind = "{said}"'}


def _check_size(frame: Frame, spec: FlightSpec) -> None:
    rows, columns = frame.values.shape
    width, height = spec.camera.width_px or columns, spec.camera.height_px or rows
    if (columns, rows) != (width, height):
        raise FrameError(f"{frame.name}: is {columns} x {rows} px; flight.toml [camera] says {width} x {height} px")


def _check_numbers(frame: Frame) -> None:
    bad = ~np.isfinite(frame.values) | (frame.values == frame.tags.get("nodata", np.nan))
    share = float(bad.mean())
    if share > MAX_NAN_SHARE:
        raise FrameError(f"{frame.name}: {share:.0%} of its pixels are not numbers")


def _companion_tags(path: Path) -> dict[str, Any]:
    """Exif of pictures that share the frame's stem, the first of them winning."""
    beside = (path.with_suffix(s) for end in COMPANIONS for s in (end, end.upper()) if s != path.suffix)
    tags: dict[str, Any] = {}
    for companion in beside:
        if companion.is_file():
            tags = read_tags(companion) | tags
    return tags
