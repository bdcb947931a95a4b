"""The question of fit and its answer, as they travel between steps: target, ask, and what came of each combination.

SI inside. An answer is advice: it says what the model expects, not what will be seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from groundglow.records.kit import Combination

__all__ = [
    "Answer",
    "Ask",
    "At",
    "Change",
    "Effort",
    "Reach",
    "Reason",
    "Shape",
    "Sky",
    "Target",
    "Task",
    "Use",
    "View",
    "Warmth",
    "Work",
]

Task = Literal["detect", "recognise", "identify", "measure"]
Shape = Literal["area", "line", "point", "face"]
View = Literal["above", "side"]


@dataclass(frozen=True)
class Warmth:
    """How warm a target is. One of four, told by what is given:

    ``temperature`` K, the same at all hours; ``rise`` K over the background, the same at all hours, or in proportion
    to the sunshine on a level surface (``follows`` "sun": at 1000 W/m2) or to the square of the load ("load": at
    full load); ``body`` a body of the ground model run through the same weather; ``core`` K with ``share``: that far
    from the temperature of the air towards the core (clothed skin, fur), and ``sun`` K warmer in sunshine of 1000 W/m2.
    The last three have standard uncertainties ``core_sd`` K, ``share_sd``, ``sun_sd`` K.
    """

    temperature: float | None = None
    rise: float | None = None
    follows: Literal["", "sun", "load"] = ""
    body: str | None = None
    core: float | None = None
    share: float = 1.0
    sun: float = 0.0
    core_sd: float = 0.0
    share_sd: float = 0.0
    sun_sd: float = 0.0


@dataclass(frozen=True)
class Target:
    """A thing to be seen.

    Parameters
    ----------
    length, width, height : float
        m; height 0 is flat on the ground.
    emissivity, emissivity_sd : float
        In the camera's band.
    background : str
        A body of the ground model: what it lies on or stands against; empty: others of its kind.
    clutter : float
        Standard deviation of the surroundings from place to place, K.
    sources : mapping of str to str
        Where each figure comes from: a published source, "from memory", or "common practice, no source".
    view : str
        From where it is usually looked at.
    pixels : float
        The task rule's own: pixels across the smaller side for a reading without correction.
    caution : str
        What must be said beside it.
    aliases : tuple of str
        Other names that people call it by.
    only_at : str
        "night" where sun, shade and soil hide it by day; empty: at all hours.
    """

    id: str
    name: str
    length: float
    width: float
    height: float
    material: str
    emissivity: float
    emissivity_sd: float
    warmth: Warmth
    background: str
    clutter: float
    sources: Mapping[str, str] = field(default_factory=dict)
    pixels: float = 10.0
    caution: str = ""
    view: View = "above"
    aliases: tuple[str, ...] = ()
    only_at: Literal["", "night"] = ""

    def sides(self, view: View) -> tuple[float, float]:
        """Longer and shorter side as seen from straight above or from the side, m."""
        other = self.height if view == "side" and self.height > 0 else self.width
        return max(self.length, other), min(self.length, other)


@dataclass(frozen=True)
class Work:
    """What the flight has to cover, as deduced from the geometry; ``why`` says from what.

    ``area`` m2 of an area, ``length`` m of a line, ``face`` (width, height) m of an upright face. A point has none.
    """

    shape: Shape
    why: str
    area: float = 0.0
    length: float = 0.0
    face: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Sky:
    """Weather as asked: ``lowest`` and ``highest`` air temperature of the day K, humidity 0..1, wind m/s, cloud 0..1,
    visibility m (None: clear), load 0..1. ``assumed`` names what nobody gave.
    """

    lowest: float = 283.15
    highest: float = 293.15
    relative_humidity: float = 0.6
    wind_speed: float = 3.0
    cloud_fraction: float = 0.3
    visibility: float | None = None
    rain: bool = False
    load_fraction: float = 1.0
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Use:
    """Place of use, for the flag beside an answer: names of places as the user's table has them; empty: not said."""

    bought_in: str = ""
    used_in: str = ""
    end_user: str = ""
    end_use: str = ""
    temporary: bool = False


@dataclass(frozen=True)
class Ask:
    """One question of fit.

    Parameters
    ----------
    probability : float
        Asked of a task of seeing, 0..1.
    accuracy : float or None
        Half width of the 95 % interval asked of a temperature, K; None when seeing is asked.
    distance : float or None
        Stand-off that is given, m; None: to be chosen between ``nearest`` and ``highest``.
    nearest, highest : float
        Limits of the stand-off, m.
    ground_height : float
        Of the site above sea level, m.
    view : str
        From straight above or from the side: which sides of the target are seen.
    of : str
        What is measured: a temperature, or a rise over a like thing in the same frame.
    hour : int or None
        Of the local solar day, when one is asked for.
    lon_deg, lat_deg, day : float or None
        Place and UTC second within the day. Unknown: no hours of the day are told.
    speed : float or None
        Survey speed that is given, m/s.
    """

    name: str
    target: Target
    task: Task
    probability: float
    accuracy: float | None
    distance: float | None
    nearest: float
    highest: float
    work: Work
    sky: Sky
    view: View = "above"
    of: Literal["temperature", "rise"] = "temperature"
    hour: int | None = None
    ground_height: float = 0.0
    lon_deg: float | None = None
    lat_deg: float | None = None
    day: float | None = None
    speed: float | None = None
    people_near: bool = False
    live_parts: bool = False
    budget: float | None = None
    currency: str = ""
    highest_frame_rate: float | None = None
    recording: str = ""
    use: Use = Use()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reason:
    """Why a combination does not do. ``kind`` is one word (mount, payload, weather, pixels, ...)."""

    kind: str
    words: str


@dataclass(frozen=True)
class Reach:
    """Largest distance for each task with the asked probability, and for measuring as asked, m.

    ``measure`` is None where the camera gives no temperatures or no accuracy was asked. 0: not even close by.
    ``least_pixels`` is where the smaller side still has the task rule's pixels.
    """

    detect: float
    recognise: float
    identify: float
    measure: float | None
    least_pixels: float
    capped: bool = False


@dataclass(frozen=True)
class At:
    """What is expected at one distance, m, and one hour.

    ``footprint`` (across, along) m and ``ground_sampling`` m a pixel, square on; ``pixels`` on the target along its
    longer and shorter side as seen; ``contrast`` in standard deviations of noise and clutter; ``probability`` by
    task; ``interval`` half width K of the 95 % interval of the corrected reading, ``bias`` K of the uncorrected
    peak, both None where there is no temperature; ``support`` in the words of the report; ``speed`` m/s and the
    ``smear`` it makes, px.
    """

    distance: float
    footprint: tuple[float, float]
    ground_sampling: float
    pixels: tuple[float, float]
    rise: float
    contrast: float
    transmittance: float
    probability: Mapping[str, float]
    interval: float | None
    bias: float | None
    support: str
    speed: float
    smear: float
    hour: int | None = None


@dataclass(frozen=True)
class Effort:
    """What the work takes: ``per_battery`` in ``unit`` (m2, m or looks), flights, s in the air, and what an ``s`` of
    useful flight a battery leaves.
    """

    per_battery: float
    unit: str
    flights: int
    seconds: float
    endurance: float


@dataclass(frozen=True)
class Change:
    """The nearest change of one thing that turns the answer: ``of`` (height, speed, lens, hour), words, and size."""

    of: str
    words: str
    amount: float


@dataclass(frozen=True)
class Answer:
    """What came of one combination. ``margin``: reach over the chosen distance, less one; ``hours`` of the local solar
    day that work, 24 of them, empty when place or date are unknown; ``rank`` from 1, 0 for an unfit one; ``pareto``:
    no other is better in all that counts.
    """

    combination: Combination
    fit: bool
    reasons: tuple[Reason, ...]
    reach: Reach
    at: At
    effort: Effort | None
    margin: float
    hours: tuple[bool, ...] = ()
    rank: int = 0
    pareto: bool = False
    recording: str = ""
    frame_rate: float = 0.0
    flags: tuple[str, ...] = ()
