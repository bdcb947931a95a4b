"""``flight.toml``: what the recorded values mean, how the camera sees, what the poses say."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from groundglow.records.edge import EdgeRecord

__all__ = ["CalibrationSpec", "CameraSpec", "FlightSpec", "PosesSpec", "ValuesSpec"]


class ValuesSpec(EdgeRecord):
    """What a stored number means: ``quantity = scale * stored + offset`` in ``unit``.

    For ``surface_temperature`` the conditions that the recorder assumed are given when known, so that the
    correction can be undone.
    """

    kind: Literal["counts", "apparent_temperature", "radiance", "surface_temperature", "picture"]
    scale: float = 1.0
    offset: float = 0.0
    unit: Literal["counts", "K", "C", "W m-2 sr-1"] = "counts"
    emissivity: float | None = Field(default=None, gt=0, le=1)
    reflected_c: float | None = None
    air_c: float | None = None
    relative_humidity_pct: float | None = Field(default=None, ge=0, le=100)
    distance_m: float | None = Field(default=None, ge=0)


class CalibrationSpec(EdgeRecord):
    """How counts become band radiance or black-body temperature.

    ``linear``: quantity = c0 + c1 * counts. ``sakuma_hattori``: counts = C / (exp(c2 / (A T + B)) - 1) + D,
    coefficients A (um), B (um K), C, D (counts). ``covariance`` is of the coefficients, row-major.
    ``standard_uncertainty_k`` is of a calibrated black-body temperature, shared by the flight.
    """

    form: Literal["none", "linear", "sakuma_hattori"] = "none"
    quantity: Literal["radiance", "temperature"] = "temperature"
    coefficients: tuple[float, ...] = ()
    covariance: tuple[tuple[float, ...], ...] | None = None
    unit: Literal["", "K", "C", "W m-2 sr-1"] = ""
    valid_c: tuple[float, float] | None = None
    standard_uncertainty_k: float | None = Field(default=None, ge=0)
    date: str = ""
    file: str | None = None


class CameraSpec(EdgeRecord):
    """The camera and its lens, or the ``id`` of one in the kit."""

    id: str | None = None
    pitch_um: float | None = Field(default=None, gt=0)
    focal_mm: float | None = Field(default=None, gt=0)
    f_number: float = Field(default=1.0, gt=0)
    width_px: int | None = Field(default=None, gt=0)
    height_px: int | None = Field(default=None, gt=0)
    netd_mk: float | None = Field(default=None, gt=0)
    time_constant_ms: float | None = Field(default=None, gt=0)
    band_um: tuple[float, float] = (7.5, 13.5)
    saturation_counts: tuple[float, float] | None = None
    drift_k: float | None = Field(default=None, ge=0)
    pattern_k: float | None = Field(default=None, ge=0)


class PosesSpec(EdgeRecord):
    """Where poses come from and what their numbers mean. Nothing here is guessed."""

    file: str | None = None
    source: Literal["file", "exif", "none"] = "file"
    rotation: Literal["world-to-camera", "camera-to-world"] = "world-to-camera"
    camera_axes: Literal["y-up-looking-minus-z", "y-down-looking-plus-z"] = "y-up-looking-minus-z"
    height_reference: Literal["take-off", "ground", "sea level", "ellipsoid"] | None = None
    ground_height_m: float | None = None
    pitch_zero: Literal["horizon", "nadir"] = "horizon"
    of: Literal["camera", "aircraft"] = "camera"
    time_zone: str = "UTC"
    clock_offset_s: float = 0.0
    clock_sd_s: float = Field(default=0.0, ge=0)
    metres_per_unit: float | None = Field(default=None, gt=0)
    position_sd_m: float | None = Field(default=None, ge=0)
    shared_position_sd_m: float | None = Field(default=None, ge=0)
    height_sd_m: float | None = Field(default=None, ge=0)
    attitude_sd_deg: float | None = Field(default=None, ge=0)
    heading_sd_deg: float | None = Field(default=None, ge=0)
    columns: dict[str, str] = Field(default_factory=dict)


class FlightSpec(EdgeRecord):
    """Everything ``flight.toml`` says."""

    name: str = ""
    aircraft: str = ""
    values: ValuesSpec
    calibration: CalibrationSpec = CalibrationSpec()
    camera: CameraSpec = CameraSpec()
    poses: PosesSpec = PosesSpec(source="exif")
    frames: str = "frames"
    notes: str = ""
