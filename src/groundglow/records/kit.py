"""What there is to fly with: detectors, lenses, cameras, aircraft, batteries. SI inside; every figure has a source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

__all__ = [
    "RECORDING_KINDS",
    "Aircraft",
    "Battery",
    "Camera",
    "Combination",
    "Detector",
    "Figure",
    "Lens",
    "Offer",
]

#: How a camera may record, and whether temperatures survive it. More on each: the table of recording kinds in kit/.
RECORDING_KINDS: Final[Mapping[str, bool]] = {
    "raw frames": True,
    "temperature frames": True,
    "corrected frames": True,
    "raw video": True,
    "picture frames": False,
    "picture video": False,
}


@dataclass(frozen=True)
class Figure:
    """One number of a data sheet, or a list of them: value, unit, where it comes from."""

    value: Any
    unit: str
    source: str
    standard_uncertainty: float | None = None


@dataclass(frozen=True)
class Offer:
    """What an item costs and how long it takes to come, when the user gave them; None is unknown."""

    price: float | None = None
    currency: str = ""
    lead_time_days: float | None = None


@dataclass(frozen=True)
class Detector:
    """An array of pixels. ``pitch`` m, ``band`` (m, m), ``time_constant`` s."""

    id: str
    name: str
    columns: int
    rows: int
    pitch: float
    band: tuple[float, float]
    time_constant: float
    figures: Mapping[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class Lens:
    """A lens. ``focal_length`` m; ``transmission`` 0..1; ``distortion`` as a share of the image height at the corner
    (negative: barrel); ``aberration`` m, standard deviation of its blur on the detector beyond diffraction.
    """

    id: str
    name: str
    focal_length: float
    f_number: float
    transmission: float = 1.0
    distortion: float = 0.0
    aberration: float = 0.0
    mass: float = 0.0
    offer: Offer = Offer()
    figures: Mapping[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class Camera:
    """A camera with the lenses that fit it.

    Parameters
    ----------
    noise : float
        Noise-equivalent difference at 300 K behind a lens of ``noise_f_number`` that passes everything, K.
    frame_rates : tuple of float
        That it can be had with or set to, Hz.
    ranges : tuple of (float, float)
        Temperatures that it is calibrated for, K; empty: none.
    accuracy : float or None
        Limits of error of a calibrated temperature, +- K; None: not calibrated.
    pattern, drift : float
        Standard deviation of the residual fixed pattern, and of one frame's level, K.
    records : tuple of str
        Keys of `RECORDING_KINDS`.
    rating : str
        IP code (IEC 60529), such as ``"IP54"``; empty: no protection stated.
    mass : float
        Without lens, kg.
    warm_up : float
        s.
    """

    id: str
    name: str
    detector: Detector
    lenses: tuple[Lens, ...]
    noise: float
    noise_f_number: float
    frame_rates: tuple[float, ...]
    ranges: tuple[tuple[float, float], ...]
    accuracy: float | None
    pattern: float
    drift: float
    records: tuple[str, ...]
    rating: str
    mass: float
    mount: str
    warm_up: float
    offer: Offer = Offer()
    note: str = ""
    figures: Mapping[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class Battery:
    """A set of batteries for one flight. ``share`` is the endurance against the aircraft's standard set; ``count`` how
    many sets are owned; ``charge`` and ``swap`` in s.
    """

    id: str
    name: str
    share: float
    count: int
    charge: float
    swap: float
    mass: float = 0.0
    offer: Offer = Offer()
    figures: Mapping[str, Figure] = field(default_factory=dict)


@dataclass(frozen=True)
class Aircraft:
    """An unmanned aircraft.

    Parameters
    ----------
    mounts : tuple of str
        Mounts that it carries; a camera's ``mount`` must be among them.
    endurance : tuple of (float, float)
        Payload kg and endurance s in still air, rising in payload. The heaviest is the payload limit.
    in_wind : tuple of (float, float)
        Wind m/s and the share of the endurance that is left in it, rising in wind.
    speeds : (float, float)
        Least and greatest speed through the air, m/s; least 0: it can hover.
    wind_limit : float
        m/s.
    ceiling : float
        Above sea level, m.
    temperatures : (float, float)
        Of the air that it may fly in, K.
    reserve : float
        Share of the endurance that is not planned with.
    """

    id: str
    name: str
    mounts: tuple[str, ...]
    endurance: tuple[tuple[float, float], ...]
    in_wind: tuple[tuple[float, float], ...]
    speeds: tuple[float, float]
    wind_limit: float
    rating: str
    ceiling: float
    temperatures: tuple[float, float]
    reserve: float
    battery: Battery | None = None
    offer: Offer = Offer()
    note: str = ""
    figures: Mapping[str, Figure] = field(default_factory=dict)

    @property
    def hovers(self) -> bool:
        """Whether it can stand still in the air."""
        return self.speeds[0] == 0.0

    @property
    def payload(self) -> float:
        """Heaviest payload, kg."""
        return self.endurance[-1][0]


@dataclass(frozen=True)
class Combination:
    """One camera with one of its lenses; under one aircraft, or in the hand where that is None."""

    camera: Camera
    lens: Lens
    aircraft: Aircraft | None = None

    @property
    def id(self) -> str:
        """Ids of the parts, joined by `` + ``."""
        parts = (self.camera.id, self.lens.id, *((self.aircraft.id,) if self.aircraft else ()))
        return " + ".join(parts)

    @property
    def name(self) -> str:
        """Names of the parts in words."""
        held = f"{self.camera.name} with {self.lens.name}"
        return f"{held}, under {self.aircraft.name}" if self.aircraft else held

    @property
    def ifov(self) -> float:
        """Of one pixel, rad."""
        return self.camera.detector.pitch / self.lens.focal_length

    @property
    def mass(self) -> float:
        """Of camera and lens: the payload, kg."""
        return self.camera.mass + self.lens.mass

    @property
    def offers(self) -> tuple[Offer, ...]:
        """Of camera, lens and aircraft."""
        return (self.camera.offer, self.lens.offer, *((self.aircraft.offer,) if self.aircraft else ()))

    @property
    def price(self) -> float | None:
        """Of all parts, or None when one of them is not known."""
        prices = [offer.price for offer in self.offers]
        return None if None in prices else float(sum(p for p in prices if p is not None))

    @property
    def lead_time_days(self) -> float | None:
        """Until the last part has come, or None when one of them is not known."""
        times = [offer.lead_time_days for offer in self.offers]
        return None if None in times else max(t for t in times if t is not None)
