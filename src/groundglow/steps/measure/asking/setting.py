"""The setting of one frame: its signal, where its pixels look from, what they show, which camera saw it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.radiometry import Signal
from groundglow.model.band import BandTable
from groundglow.model.pointspread import PointSpread, point_spread
from groundglow.model.pose import pixel_rays
from groundglow.records.flight import CameraSpec
from groundglow.records.frame import Pose
from groundglow.steps.measure.asking.knowns import Known, Made
from groundglow.steps.measure.asking.regions import Region
from groundglow.steps.measure.asking.scene import Scene
from groundglow.steps.measure.asking.sensor import Received, Sensor
from groundglow.steps.measure.surfaces import MIXED_GROUND, GroundSurface

__all__ = ["Setting", "Sight", "received_by", "scene_of", "view_angle"]

#: Share of a region that one surface of the brief must fill to be called that surface.
CLEARLY = 0.95
#: Doubts of an emissivity below this are nothing.
LEAST_ERROR = 1e-6


@dataclass(frozen=True)
class Sight:
    """Geometry of a frame: distance of each pixel, m, shape (rows, columns); ``pose`` when known."""

    distance: NDArray[np.floating]
    known: Known
    focal_px: float = 0.0
    pose: Pose | None = None


@dataclass(frozen=True)
class Setting:
    """All that reading a frame needs besides the regions asked for.

    ``made`` maps labels to what was said of their surface, with ``""`` for all others; ``shares`` and ``surfaces``
    are the brief's zones as the frame shows them, when nothing was said.
    """

    table: BandTable
    signal: Signal
    sight: Sight
    sensor: Sensor
    air: Mapping[str, Known]
    reflected: Known | None
    made: Mapping[str, Made]
    camera: CameraSpec = field(default_factory=CameraSpec)
    surfaces: tuple[GroundSurface, ...] = ()
    shares: NDArray[np.float32] | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the frame."""
        rows, columns = self.signal.value.shape
        return rows, columns

    @property
    def spread(self) -> PointSpread:
        """The camera's blur at rest, from its figures.

        Raises
        ------
        InputError
            When the pitch is not known.
        """
        if self.camera.pitch_um is None:
            raise InputError(
                "A target's size needs the camera: say pitch_um, focal_mm and f_number under [camera] of "
                "flight.toml, or --camera ID, or --pitch-um, --focal-mm and --f-number."
            )
        return point_spread(self.camera.pitch_um * 1e-6, self.camera.f_number)


def scene_of(setting: Setting, region: Region) -> Scene:
    """The scene that one region shows."""
    made = setting.made.get(region.label) or setting.made.get("") or _made_by_zones(setting, region)
    rows, columns = region.pixels(setting.shape)
    middle = float(np.mean(setting.sight.distance[rows, columns]))
    return Scene(setting.table, made, setting.air, replace(setting.sight.known, value=middle), setting.reflected)


def received_by(setting: Setting, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Received:
    """What pixels of the frame received, 64-bit."""
    errors = {name: np.asarray(v[rows, columns], dtype=float) for name, v in setting.signal.flight.items()}
    radiance, distance = (np.asarray(a[rows, columns], float) for a in (setting.signal.value, setting.sight.distance))
    return Received(radiance, distance, errors)


def _made_by_zones(setting: Setting, region: Region) -> Made:
    """Mean emissivity over the surfaces that the region shows; the doubt holds their spread as well."""
    if setting.shares is None or not setting.surfaces:
        return Made("mixed ground", Known("emissivity", *MIXED_GROUND, "", "assumed", "assumed"), False, 0.0)
    rows, columns = region.pixels(setting.shape)
    share = setting.shares[:, rows, columns].mean(axis=1).astype(float)
    most = setting.surfaces[int(share.argmax())]
    errors = _errors_by_material(setting.surfaces, share)
    mean = float(share @ [s.emissivity for s in setting.surfaces])
    spread = float(np.sqrt(sum(e * e for e in errors.values())))
    origin = "assumed" if most.assumed else "brief.toml"
    name = most.name if share.max() >= CLEARLY else f"{most.name} ({100 * share.max():.0f} %) and others"
    return Made(name, Known("emissivity", mean, spread, "", origin, origin), most.mirror_like, most.tilt, errors)


def _errors_by_material(surfaces: tuple[GroundSurface, ...], share: NDArray[np.float64]) -> dict[str, float]:
    """Doubt of the mean emissivity: shared by each material, and of which surface it is, the region's own."""
    values = np.array([s.emissivity for s in surfaces])
    found: dict[str, float] = {"": float(np.sqrt(share @ (values - share @ values) ** 2))}
    for surface, part in zip(surfaces, share, strict=True):
        found[surface.name] = found.get(surface.name, 0.0) + float(part) * surface.emissivity_sd
    return {name: error for name, error in found.items() if error > LEAST_ERROR}


def view_angle(setting: Setting, region: Region) -> float | None:
    """Angle of sight to the normal of level ground in the middle of a region, rad; None without a pose."""
    sight = setting.sight
    if sight.pose is None or not sight.focal_px:
        return None
    column, row = region.middle(setting.shape)
    ray = pixel_rays(sight.pose.rotation, sight.focal_px, setting.shape, column, row)
    return float(np.arccos(np.clip(-np.asarray(ray)[..., 2], -1.0, 1.0)))
