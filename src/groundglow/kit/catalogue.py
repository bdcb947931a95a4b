"""Reads the catalogue of cameras and hands out their specifications."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from groundglow.errors import InputError
from groundglow.kit.fleet import catalogue
from groundglow.records.flight import CameraSpec
from groundglow.records.kit import Combination, Figure

__all__ = ["CameraEntry", "Figure", "camera", "camera_entry", "camera_ids"]

#: Figures that go into `CameraSpec` under their own name.
DIRECT = (
    "width_px",
    "height_px",
    "pitch_um",
    "focal_mm",
    "f_number",
    "netd_mk",
    "time_constant_ms",
    "drift_k",
    "pattern_k",
)
PAIRS = {
    "band_um": ("band_low_um", "band_high_um"),
    "saturation_counts": ("saturation_low_counts", "saturation_high_counts"),
}


@dataclass(frozen=True)
class CameraEntry:
    """A camera of the catalogue with all its figures."""

    id: str
    name: str
    note: str
    figures: Mapping[str, Figure]


@cache
def _entries() -> dict[str, CameraEntry]:
    raw = tomllib.loads(files("groundglow.kit").joinpath("cameras.toml").read_text("utf-8"))
    return {name: _entry(name, table) for name, table in raw.items()}


def _entry(name: str, table: dict[str, Any]) -> CameraEntry:
    figures = {key: Figure(**figure) for key, figure in table["figures"].items()}
    return CameraEntry(name, table["name"], table["note"], figures)


def camera_ids() -> tuple[str, ...]:
    """Ids of the cameras in the catalogue.

    Examples
    --------
    >>> camera_ids()
    ('demo-640',)
    """
    return tuple(_entries())


def camera_entry(id: str) -> CameraEntry:
    """All figures of one camera with their sources.

    Raises
    ------
    InputError
        When there is no such camera; the message names the nearest.

    Examples
    --------
    >>> camera_entry("demo-640").figures["focal_mm"]
    Figure(value=13.0, unit='mm', source='invented for the demo', standard_uncertainty=None)
    """
    found = _entries().get(id)
    if found is None:
        near = difflib.get_close_matches(id, camera_ids(), n=1, cutoff=0.4)
        hint = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(camera_ids())}."
        raise InputError(
            f"no camera {id!r} in the catalogue; {hint} Or give pitch_um, focal_mm, width_px and height_px "
            "of your own under [camera]"
        )
    return found


def camera(id: str) -> CameraSpec:
    """The specification of a camera in the catalogue.

    Parameters
    ----------
    id : str
        As `camera_ids` lists them, or a camera and a lens of those that are chosen from, as
        `groundglow.records.kit.Combination` names them.

    Raises
    ------
    InputError
        When there is no such camera; the message names the nearest.

    Examples
    --------
    >>> camera("demo-640").pitch_um
    12.0
    >>> camera("demo-640-field + l640-22").focal_mm
    22.0
    >>> camera("demo640")
    Traceback (most recent call last):
    groundglow.errors.InputError: no camera 'demo640' in the catalogue; did you mean 'demo-640'? Or give \
pitch_um, focal_mm, width_px and height_px of your own under [camera]
    """
    chosen = _chosen(id)
    if chosen is not None:
        return _spec(id, chosen)
    figures = camera_entry(id).figures
    plain = {name: figures[name].value for name in DIRECT if name in figures}
    pairs = {
        name: tuple(figures[part].value for part in parts)
        for name, parts in PAIRS.items()
        if all(part in figures for part in parts)
    }
    return CameraSpec.parse({"id": id, **plain, **pairs}, f"catalogue, camera {id}")


def _chosen(id: str) -> Combination | None:
    """A camera with a lens by their joined ids; None where the id joins none that fit."""
    camera_id, plus, lens_id = id.partition(" + ")
    found = catalogue().cameras.get(camera_id) if plus else None
    lens = next((x for x in found.lenses if x.id == lens_id), None) if found else None
    return Combination(found, lens) if found and lens else None


def _spec(id: str, kit: Combination) -> CameraSpec:
    detector = kit.camera.detector
    raw = {
        "id": id,
        "pitch_um": round(detector.pitch * 1e6, 6),
        "focal_mm": round(kit.lens.focal_length * 1e3, 6),
        "f_number": kit.lens.f_number,
        "width_px": detector.columns,
        "height_px": detector.rows,
        "netd_mk": round(kit.camera.noise * 1e3, 6),
        "time_constant_ms": round(detector.time_constant * 1e3, 6),
        "band_um": tuple(round(edge * 1e6, 6) for edge in detector.band),
        "drift_k": kit.camera.drift,
        "pattern_k": kit.camera.pattern,
    }
    return CameraSpec.parse(raw, f"catalogue, camera {id}")
