"""Expected contrast as the camera will read it, through the hours, with its interval, and when it vanishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import SKY_TEMPERATURE_SD, AirPath, air_path, sky_hemisphere_radiance
from groundglow.model.band import Band, BandTable, lookup, nominal_band
from groundglow.model.doubt import COVERAGE_95, Doubt, combined
from groundglow.model.humidity import dew_point
from groundglow.model.sensing import Surroundings, at_sensor_radiance
from groundglow.model.sun import Irradiance, plane_irradiance, sun_position
from groundglow.model.surface import material
from groundglow.steps.plan.pairs import Pair
from groundglow.steps.plan.sides import Setting, Sides, sides_of

__all__ = ["Crossover", "Day", "Eye", "crossovers", "expect", "sign_changes"]

Array = NDArray[np.float64]
_RATED: Final = 300.0  # K, at which noise is stated
_DAY: Final = 86400.0
_SKY_STEP: Final = 3600.0  # s between skies that are worked out


@dataclass(frozen=True)
class Eye:
    """The camera as far as contrast hangs on it.

    Parameters
    ----------
    band : str
        Of the nominal bands: "7.5-13.5" or "8-14".
    noise : float
        Noise-equivalent difference at 300 K, K.
    pattern : float
        Residual fixed pattern, standard deviation, K.
    accuracy : float
        Limits of error of an absolute reading, +- K.
    distance : float
        From camera to target, m.
    response : float
        Share of the rise that blur and sampling leave, 0..1.
    """

    band: str = "7.5-13.5"
    noise: float = 0.06
    pattern: float = 0.05
    accuracy: float = 5.0
    distance: float = 60.0
    response: float = 1.0


@dataclass(frozen=True)
class Day:
    """What a camera will read of a pair; arrays over ``time`` (UTC s), K where not said.

    ``target`` and ``background`` are surface temperatures, ``seen_target`` and ``seen_background`` apparent ones
    at the camera, ``contrast`` their difference, signed, with ``doubt``; ``level_doubt`` is of ``seen_background``
    as the camera shows it. ``noise`` is of a pixel, clutter in it. ``sun`` is the sun's height, rad; ``irradiance``
    on the surface W/m2; ``after_sunset`` s, NaN by day; ``dew_margin`` the colder surface above the dew point.
    ``reflected`` is the reflected apparent temperature, ``emissivity`` that of the target in the band.
    """

    pair: Pair
    setting: Setting
    eye: Eye
    time: Array
    target: Array
    background: Array
    seen_target: Array
    seen_background: Array
    doubt: Doubt
    level_doubt: Doubt
    noise: Array
    sun: Array
    irradiance: Array
    after_sunset: Array
    dew_margin: Array
    reflected: Array
    emissivity: float
    series: Mapping[str, Array] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def contrast(self) -> Array:
        """Apparent rise of the target, signed, K."""
        return self.seen_target - self.seen_background

    @property
    def contrast_sd(self) -> Array:
        """Standard uncertainty of the contrast, K."""
        return np.asarray(combined(self.doubt))

    @property
    def interval(self) -> tuple[Array, Array]:
        """95 % interval of the contrast, K."""
        half = COVERAGE_95 * self.contrast_sd
        return self.contrast - half, self.contrast + half

    @property
    def sure_contrast(self) -> Array:
        """Contrast less its standard uncertainty, never past zero, signed."""
        least = np.maximum(np.abs(self.contrast) - self.contrast_sd, 0.0)
        return np.asarray(np.sign(self.contrast) * least)

    @property
    def contrast_to_noise(self) -> Array:
        """Of the sure contrast, without sign."""
        return np.asarray(np.abs(self.sure_contrast) / self.noise)


class Crossover(NamedTuple):
    """When the contrast passes zero: UTC s, its standard uncertainty s, and the sign after it."""

    time: float
    standard_uncertainty: float
    sign: int


def expect(of: Pair, setting: Setting, eye: Eye | None = None) -> Day:
    """What a camera will read of a pair through the weather.

    Parameters
    ----------
    of : Pair
    setting : Setting
    eye : Eye, optional

    Returns
    -------
    Day

    Raises
    ------
    InputError
        For weather shorter than a day or without air temperature.

    Notes
    -----
    First order: each source moves both temperatures, the emissivities, the sky or the air by one standard
    uncertainty, and what the camera then reads is subtracted (JCGM 100:2008, 5.1.2).
    """
    lens, sides = eye or Eye(), sides_of(of, setting)
    scene = _Scene.of(of, setting, sides, lens)
    seen = scene.read()
    contrast, level = _doubts(scene, sides, seen)
    sun = sun_position(sides.time, setting.place)
    w = sides.weather
    solar = Irradiance(w["global_horizontal"], w["direct_normal"], w["diffuse"])
    lit = plane_irradiance(solar, sun, tilt=setting.plane.tilt, azimuth=setting.plane.azimuth)
    height = 0.5 * np.pi - sun.apparent_zenith
    dew = dew_point(w["air_temperature"], np.clip(w["relative_humidity"], 0.01, 1.0))
    own = lens.noise * scene.table.slope(_RATED) / scene.table.slope(seen[1])
    clutter = of.number("clutter_k") * scene.air.transmittance
    return Day(
        of, setting, lens, sides.time, sides.target, sides.background, *seen, contrast, level,
        np.asarray(np.sqrt(own**2 + lens.pattern**2 + clutter**2)), height, np.asarray(lit),
        _after_sunset(sides.time, height), np.minimum(sides.target, sides.background) - dew,
        np.asarray(scene.table.temperature(scene.reflected)), scene.emissivity[0], w.series, w.notes,
    )  # fmt: skip


@dataclass(frozen=True)
class _Scene:
    """All that a reading of both sides hangs on; a changed copy is read for each source of doubt."""

    table: BandTable
    target: Array
    background: Array
    emissivity: tuple[float, float]
    emissivity_sd: tuple[float, float]
    one_material: bool
    reflected: Array
    air: AirPath
    response: float

    @classmethod
    def of(cls, pair: Pair, setting: Setting, sides: Sides, eye: Eye) -> _Scene:
        band = nominal_band(eye.band)
        table, w = lookup(band), sides.weather
        reflected = _sky(band, sides)
        if pair.view == "side":
            reflected = 0.5 * reflected + 0.5 * table.radiance(sides.background)
        air = air_path(
            band, eye.distance, air_temperature=w["air_temperature"], relative_humidity=_moist(w["relative_humidity"]),
            pressure=w["pressure"], source_temperature=float(np.clip(sides.background.mean(), 230.0, 1200.0)),
        )  # fmt: skip
        materials = material(pair.material), material(pair.background_material)
        both = materials[0].normal_emissivity(eye.band), materials[1].normal_emissivity(eye.band)
        spread = materials[0].standard_uncertainty, materials[1].standard_uncertainty
        return cls(
            table, sides.target, sides.background, both, spread, materials[0] == materials[1], np.asarray(reflected),
            air, eye.response,
        )  # fmt: skip

    def read(self) -> tuple[Array, Array]:
        """Apparent temperatures of target and background at the camera, K."""
        around = Surroundings(self.reflected, self.air.transmittance, self.air.radiance)
        sides = zip((self.target, self.background), self.emissivity, strict=True)
        target, back = (at_sensor_radiance(self.table, kelvin, share, around) for kelvin, share in sides)
        target = back + self.response * (target - back)
        return np.asarray(self.table.temperature(target)), np.asarray(self.table.temperature(back))


def _moist(share: Array) -> Array:
    return np.clip(share, 0.0, 1.0)


def _sky(band: Band, sides: Sides) -> Array:
    """Radiance of the sky over a level matt surface, worked out each hour and laid between."""
    w = sides.weather
    at = np.append(np.arange(sides.time[0], sides.time[-1], _SKY_STEP), sides.time[-1])
    names = ("air_temperature", "relative_humidity", "pressure", "cloud_fraction")
    rows = np.column_stack([np.interp(at, w.time, w[name]) for name in names])
    sky = [
        sky_hemisphere_radiance(
            band, air_temperature=round(t, 2), relative_humidity=float(np.clip(round(h, 3), 0.0, 1.0)),
            pressure=round(p, -1), cloud_fraction=float(np.clip(round(n, 3), 0.0, 1.0)),
        )
        for t, h, p, n in rows.tolist()
    ]  # fmt: skip
    return np.interp(sides.time, at, sky)


def _doubts(scene: _Scene, sides: Sides, seen: tuple[Array, Array]) -> tuple[Doubt, Doubt]:
    """Doubt of the contrast, and of the background's level as the camera shows it."""
    changed = {name: replace(scene, target=scene.target + a, background=scene.background + b)
               for name, (a, b) in sides.changes.items()}  # fmt: skip
    moves = {name: _moved(other, seen) for name, other in (changed | _optical(scene)).items()}
    own = [_moved(replace(scene, target=scene.target + a, background=scene.background + b), seen) for a, b in sides.own]
    apart = np.sqrt(sum((a - b) ** 2 for a, b in own))
    level = _moved(replace(scene, background=scene.background + sides.own_level), seen)[1]
    contrast = Doubt(np.asarray(apart), flight={n: a - b for n, (a, b) in moves.items()})
    return contrast, Doubt(np.abs(level), flight={n: b for n, (_, b) in moves.items()})


def _moved(scene: _Scene, seen: tuple[Array, Array]) -> tuple[Array, Array]:
    target, background = scene.read()
    return target - seen[0], background - seen[1]


def _optical(scene: _Scene) -> dict[str, _Scene]:
    """The scene with other emissivities, another sky, other air."""
    sky = scene.table.radiance(scene.table.temperature(scene.reflected) + SKY_TEMPERATURE_SD)
    sd = scene.air.transmittance_sd
    clearer = np.minimum(scene.air.transmittance + sd, 1.0)
    air = AirPath(clearer, np.maximum(scene.air.radiance + sd * scene.air.radiance_slope, 0.0), sd)
    return _emissivities(scene) | {"sky": replace(scene, reflected=sky), "transmittance": replace(scene, air=air)}


def _emissivities(scene: _Scene) -> dict[str, _Scene]:
    """Less emissivity: of one material on both sides at once, else of each by itself."""
    (target, target_sd), (under, under_sd) = zip(scene.emissivity, scene.emissivity_sd, strict=True)
    if scene.one_material:
        return {"emissivity": replace(scene, emissivity=(target - target_sd, under - under_sd))}
    return {
        "emissivity of the target": replace(scene, emissivity=(target - target_sd, under)),
        "emissivity of the surroundings": replace(scene, emissivity=(target, under - under_sd)),
    }


def _after_sunset(time: Array, height: Array) -> Array:
    """Seconds since the sun went down, NaN while it is up; before the first sunset the last one's hour counts."""
    down = height < 0
    if down.all() or not down.any():
        return np.full(time.shape, np.inf if down.all() else np.nan)
    starts = np.flatnonzero(down[1:] & ~down[:-1]) + 1
    sets = time[starts] if starts.size else time[:1]
    earlier = np.concatenate([sets[:1] - _DAY, sets])
    last = earlier[np.clip(np.searchsorted(sets, time, side="right"), 0, earlier.size - 1)]
    return np.where(down, time - last, np.nan)


def crossovers(day: Day) -> tuple[Crossover, ...]:
    """When the contrast passes zero, with the doubt of the hour from that of the contrast over its slope."""
    found = []
    for time, sign in sign_changes(day.time, day.contrast):
        slope = abs(float(np.interp(time, day.time, np.gradient(day.contrast, day.time))))
        spread = float(np.interp(time, day.time, day.contrast_sd))
        found.append(Crossover(time, spread / max(slope, 1e-9), sign))
    return tuple(found)


def sign_changes(time: Array, values: Array) -> list[tuple[float, int]]:
    """Times at which a series passes zero, by straight lines, and its sign after each.

    Examples
    --------
    >>> sign_changes(np.array([0.0, 10.0, 20.0]), np.array([-1.0, 1.0, 3.0]))
    [(5.0, 1)]
    """
    sign = np.where(values >= 0, 1, -1)
    at = np.flatnonzero(sign[1:] != sign[:-1])
    share = values[at] / (values[at] - values[at + 1])
    when = time[at] + share * (time[at + 1] - time[at])
    return [(float(t), int(s)) for t, s in zip(when, sign[at + 1], strict=True)]
