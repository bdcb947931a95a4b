"""``budget``: why one temperature may be wrong, input by input."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from groundglow.errors import InputError, UnmetError
from groundglow.model.budget import Budget, Line
from groundglow.model.doubt import COVERAGE_95
from groundglow.model.reading import CameraDoubt, Stated, reading_budget, reading_with_interval
from groundglow.steps.measure.asking.alternatives import Alternative, alternatives
from groundglow.steps.measure.asking.measures import Halving, halving
from groundglow.steps.measure.asking.regions import Region
from groundglow.steps.measure.asking.scene import Mirrored, Scene, mirrored, situation
from groundglow.steps.measure.asking.sensor import Received, Sensor, errors_of, noise_of
from groundglow.steps.measure.asking.setting import Setting, received_by, scene_of
from groundglow.steps.measure.asking.support import why_no_temperature
from groundglow.steps.measure.asking.trying import Trials, try_out

__all__ = ["BudgetLine", "Explanation", "explain", "explain_pixel"]

#: What shares an error, in words, where the model's budget says otherwise or in its own terms.
PARTS = {"independent": "pixel", "frame": "frame", "flight": "flight", "distance": "frame"}
#: Errors of the camera: the model takes them off, so that they lower the temperature.
CAMERA_ERRORS = ("calibration", "drift", "noise", "pattern")
#: Lines of the model's budget that are one thing to a reader, or have no value that says anything.
JOINT = {
    "spectral response": ("response, short edge", "response, long edge", "response, tilt"),
    "spectra of surface and sky": ("spectra",),
}


@dataclass(frozen=True)
class BudgetLine:
    """One input: value and standard uncertainty in SI, change of the temperature for a unit of it and for one standard
    uncertainty, K, share of the variance, and what shares its error: pixel, frame or flight. An error of the
    camera counts as more apparent temperature.

    ``sensitivity`` is NaN for a line that stands for several.
    """

    name: str
    value: float
    unit: str
    standard_uncertainty: float
    sensitivity: float
    contribution: float
    share: float
    part: str


@dataclass(frozen=True)
class Explanation:
    """One reading explained.

    ``by_surface`` and ``by_air`` are what emissivity with reflection, and the air, add to the apparent temperature, K.
    ``low`` and ``high`` are the interval to state: first order's where ``trials`` agree with it, else theirs.
    """

    scene: Scene
    mirrored: Mirrored
    apparent: float
    kelvin: float
    by_surface: float
    by_air: float
    standard_uncertainty: float
    low: float
    high: float
    trials: Trials
    lines: tuple[BudgetLine, ...]
    alternatives: tuple[Alternative, ...]
    halving: Halving

    @property
    def first_order(self) -> tuple[float, float]:
        """Ends of the interval by first order, K."""
        half = COVERAGE_95 * self.standard_uncertainty
        return self.kelvin - half, self.kelvin + half

    @property
    def dominant(self) -> BudgetLine:
        """The input that the doubt depends on most."""
        return self.lines[0]


def explain_pixel(setting: Setting, region: Region) -> Explanation:
    """Explain the reading of one pixel of a frame.

    Raises
    ------
    InputError
        When no temperature can be stated there, or it was corrected in a way that is lost.
    UnmetError
        When the reading allows no surface temperature.
    """
    rows, columns = region.pixels(setting.shape)
    if setting.signal.unit == "counts":
        raise InputError("Counts without calibration: no temperature can be stated, so there is none to explain.")
    if setting.signal.corrected:
        raise InputError(
            "These temperatures were corrected by whoever delivered them, with what is not said. Say emissivity and "
            "reflected_c under [values] of flight.toml; then they can be taken apart."
        )
    why = why_no_temperature(setting.signal.mask[rows, columns])
    if why:
        raise InputError(f"{region.label}: no temperature to explain: {why}.")
    return explain(scene_of(setting, region), received_by(setting, rows, columns), setting.sensor)


def explain(scene: Scene, received: Received, sensor: Sensor) -> Explanation:
    """Explain the reading of one pixel.

    Parameters
    ----------
    scene : Scene
    received : Received
        Of one pixel.
    sensor : Sensor

    Returns
    -------
    Explanation

    Raises
    ------
    UnmetError
        When the reading allows no surface temperature.
    """
    apparent = float(scene.table.temperature(received.radiance)[0])
    own = _own_errors(scene, received, sensor)
    whole = float(np.hypot(own["noise"], own["pattern"]))
    camera = errors_of(scene.table, received, sensor, independent=np.array([whole]))
    known, seen = situation(scene), mirrored(scene)
    budget = reading_budget(scene.table.band, apparent, known, _one(camera))
    if not np.isfinite(budget.value):
        raise UnmetError(
            f"{apparent - 273.15:.1f} C leaves no surface temperature: air and reflection alone send as much. "
            "Check the emissivity, what is reflected, and the distance."
        )
    found = reading_with_interval(scene.table.band, apparent, known, _one(camera))
    trials = try_out(scene.table.band, apparent, known, _one(camera), first_order=bool(found.first_order))
    lines = _lines(budget, own)
    no_air = replace(known, distance=Stated(0.0, 0.0))
    near = float(reading_with_interval(scene.table.band, apparent, no_air, _one(camera)).temperature)
    return Explanation(
        scene,
        seen,
        apparent,
        budget.value,
        near - apparent,
        budget.value - near,
        budget.standard_uncertainty,
        *_stated_interval(budget, trials),
        trials,
        lines,
        alternatives(scene, apparent, _one(camera)),
        halving(lines, scene.distance.value),
    )


def _stated_interval(budget: Budget, trials: Trials) -> tuple[float, float]:
    half = COVERAGE_95 * budget.standard_uncertainty
    return (budget.value - half, budget.value + half) if trials.agree else (trials.low, trials.high)


def _own_errors(scene: Scene, received: Received, sensor: Sensor) -> dict[str, float]:
    """What belongs to the pixel alone, as errors of the apparent temperature, K."""
    noise = float(noise_of(scene.table, scene.table.temperature(received.radiance), sensor)[0])
    return {"noise": noise, "pattern": sensor.pattern.standard_uncertainty}


def _one(camera: CameraDoubt) -> CameraDoubt:
    """The errors of one reading as scalars."""

    def scalar(stated: Stated) -> Stated:
        value, spread = (float(np.ravel(a)[0]) for a in stated.arrays)
        return Stated(value, spread)

    return CameraDoubt(*(scalar(camera.of(name)) for name in CameraDoubt.names()))


def _lines(budget: Budget, own: dict[str, float]) -> tuple[BudgetLine, ...]:
    """Lines of the budget, largest first: pixel errors apart, spectral ones together."""
    joined = {name for names in JOINT.values() for name in names}
    plain = [_line(line, budget) for line in budget.lines if line.quantity.name not in joined | {"noise"}]
    per_kelvin = next(-line.sensitivity for line in budget.lines if line.quantity.name == "calibration")
    pixel = [_pixel_line(name, error, per_kelvin, budget) for name, error in own.items()]
    found = [*plain, *pixel, *(_joint_line(name, budget) for name in JOINT)]
    return tuple(sorted(found, key=lambda line: -abs(line.contribution)))


def _line(line: Line, budget: Budget) -> BudgetLine:
    q = line.quantity
    share = line.contribution**2 / budget.standard_uncertainty**2
    sign = -1.0 if q.name in CAMERA_ERRORS else 1.0
    slope, change = sign * line.sensitivity, sign * line.contribution
    part = PARTS.get(q.name, PARTS[q.part])
    return BudgetLine(q.name, q.value, q.unit, q.standard_uncertainty, slope, change, share, part)


def _pixel_line(name: str, error: float, per_kelvin: float, budget: Budget) -> BudgetLine:
    change = per_kelvin * error
    return BudgetLine(name, 0.0, "K", error, per_kelvin, change, (change / budget.standard_uncertainty) ** 2, "pixel")


def _joint_line(name: str, budget: Budget) -> BudgetLine:
    """Several lines of the model's budget as one, without a value of its own."""
    parts = [line.contribution for line in budget.lines if line.quantity.name in JOINT[name]]
    change = float(np.sqrt(sum(p * p for p in parts)))
    share = (change / budget.standard_uncertainty) ** 2
    return BudgetLine(name, np.nan, "", np.nan, np.nan, change, share, "flight")
