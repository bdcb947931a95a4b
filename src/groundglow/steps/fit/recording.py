"""What to record for a task, from physics: the step of one level against rise and noise, what stays open, storage."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from groundglow.kit.recording import RecordingKind, recording_kinds
from groundglow.records.fit import Answer, Ask
from groundglow.records.kit import Camera
from groundglow.steps.fit.settings import FORWARD_OVERLAP

__all__ = ["LEAST_LEVELS", "Recorded", "RecordingAdvice", "Taking", "advice_for", "recording_advice"]

#: Levels between a target and its surroundings below which it drowns in the steps (common practice, no source).
LEAST_LEVELS: Final = 4.0
#: Range that is assumed where a camera states none, K: -20 to 120 degrees Celsius (common practice, no source).
NOMINAL_RANGE: Final = (253.15, 393.15)
#: Overlap of one frame with the next that a map needs.
MAP_OVERLAP: Final = FORWARD_OVERLAP["measure"]
#: Coldest to warmest thing in a picture of ordinary ground, K (common practice, no source).
SCENE_SPAN: Final = 30.0
# Without an aircraft: a minute of looking.
_ONE_LOOK = 60.0


@dataclass(frozen=True)
class Taking:
    """How frames are taken.

    Parameters
    ----------
    frame_rate : float
        Hz.
    seconds : float
        In the air.
    rise : float
        Of the target in the picture, after air and blur, K.
    scene : float
        Coldest to warmest thing in the picture, K: what automatic contrast spreads its greys over.
    speed : float
        Over the ground, m/s.
    along : float
        Side of the footprint along the flight, m.
    """

    frame_rate: float
    seconds: float
    rise: float
    scene: float
    speed: float = 0.0
    along: float = math.inf

    @property
    def least_rate(self) -> float:
        """Frames a second that a map needs at this speed, Hz; 0 when it stands still."""
        return self.speed / ((1.0 - MAP_OVERLAP) * self.along)


@dataclass(frozen=True)
class Recorded:
    """What one way to record means for what is asked.

    ``step`` K of one level at 300 K; ``levels`` between target and surroundings; ``noise`` K, of camera and rounding
    together; ``bytes_an_hour`` and ``bytes`` of storage; ``verdict`` why it serves or does not.
    """

    kind: str
    values: str
    serves: bool
    offered: bool
    keeps: str
    loses: str
    needs: str
    step: float
    levels: float
    noise: float
    bytes_an_hour: float
    bytes: float
    verdict: str


@dataclass(frozen=True)
class RecordingAdvice:
    """All ways to record for one camera and task.

    ``enough`` is the smallest that serves, ``fullest`` the one that leaves most open later, among those that the camera
    offers; empty where none serves. ``notes`` say what is needed besides.
    """

    ways: tuple[Recorded, ...]
    enough: str
    fullest: str
    notes: tuple[str, ...]

    def way(self, kind: str) -> Recorded:
        """What one way means."""
        return next(way for way in self.ways if way.kind == kind)


def recording_advice(ask: Ask, camera: Camera, taking: Taking) -> RecordingAdvice:
    """What each way to record keeps, loses and costs, and which one this task needs.

    Parameters
    ----------
    ask : Ask
    camera : Camera
    taking : Taking

    Returns
    -------
    RecordingAdvice

    Notes
    -----
    One level spans range / levels, or scene / 256 in a picture. Rounding to levels adds a variance of step^2 / 12
    (uniform distribution). A rise of fewer than `LEAST_LEVELS` steps is taken as lost.
    """
    ways = tuple(_recorded(name, kind, ask, camera, taking) for name, kind in recording_kinds().items())
    serving = [way for way in ways if way.serves and way.offered]  # the table begins with what leaves most open
    enough = min(serving, key=lambda way: way.bytes).kind if serving else ""
    fullest = serving[0].kind if serving else ""
    return RecordingAdvice(ways, enough, fullest, _notes(ask, taking, recording_kinds(), (enough, fullest)))


def advice_for(ask: Ask, answer: Answer) -> RecordingAdvice:
    """The advice for the kit of an answer, as it would fly."""
    at = answer.at
    taking = Taking(
        frame_rate=answer.frame_rate or 1.0,
        seconds=answer.effort.seconds if answer.effort else _ONE_LOOK,
        rise=at.rise * at.transmittance,
        scene=SCENE_SPAN,
        speed=at.speed,
        along=at.footprint[1],
    )
    return recording_advice(ask, answer.combination.camera, taking)


def _recorded(name: str, kind: RecordingKind, ask: Ask, camera: Camera, taking: Taking) -> Recorded:
    step = _step(kind, camera, taking)
    levels = abs(taking.rise) / step
    pixels = camera.detector.columns * camera.detector.rows
    an_hour = 3600.0 * taking.frame_rate * pixels * kind.bits.value / 8.0
    serves, verdict = _verdict(kind, ask, levels)
    return Recorded(
        kind=name,
        values=kind.values,
        serves=serves,
        offered=name in camera.records,
        keeps=kind.keeps,
        loses=kind.loses,
        needs=kind.needs,
        step=step,
        levels=levels,
        noise=math.hypot(camera.noise, step / math.sqrt(12.0)),
        bytes_an_hour=an_hour,
        bytes=an_hour * taking.seconds / 3600.0,
        verdict=verdict,
    )


def _step(kind: RecordingKind, camera: Camera, taking: Taking) -> float:
    if kind.over == "scene":
        return max(taking.scene, abs(taking.rise)) / kind.levels.value
    low, high = min(camera.ranges or (NOMINAL_RANGE,), key=lambda pair: pair[1] - pair[0])
    return (high - low) / kind.levels.value


def _verdict(kind: RecordingKind, ask: Ask, levels: float) -> tuple[bool, str]:
    if ask.task == "measure" and not kind.temperature:
        return False, "loses temperatures, and a temperature is asked"
    if levels < LEAST_LEVELS:
        return False, f"the rise is {levels:.1f} levels: it drowns in the steps"
    if ask.task == "measure" and kind.inputs == "if said":
        return True, "serves, if the inputs it was corrected with are written down"
    if not kind.temperature:
        return True, f"enough to {ask.task}: the rise is {levels:.0f} greys; never a temperature"
    return True, "serves"


def _notes(ask: Ask, taking: Taking, kinds: Mapping[str, RecordingKind], chosen: tuple[str, str]) -> tuple[str, ...]:
    needs = [f"For {name}: {kinds[name].needs}." for name in dict.fromkeys(chosen) if name]
    notes = needs or ["No way that this camera records serves the task."]
    if ask.work.shape != "point":
        notes.append(
            "A map or a list of places needs the camera's place, attitude and time for each frame: frames that carry "
            "them, or a log with frame times."
        )
    if taking.least_rate > 0 and ask.work.shape in ("area", "line", "face"):
        notes.append(
            f"At {taking.speed:.3g} m/s frames overlap by {100 * MAP_OVERLAP:.0f} % from {taking.least_rate:.2g} a "
            f"second on; the camera gives {taking.frame_rate:g}."
        )
    if ask.task == "measure":
        notes.append("Write emissivity, reflected temperature, air, humidity and distance down in any case.")
    return tuple(notes)
