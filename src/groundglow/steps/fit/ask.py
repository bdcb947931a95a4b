"""From a question as a person wrote it to the question that is worked out: units, defaults, contradictions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from groundglow.errors import InputError
from groundglow.frames.clock import iso_time
from groundglow.frames.outline import Zone
from groundglow.kit.figures import Faults
from groundglow.kit.targets import target
from groundglow.model.ground import ground
from groundglow.model.surface import material
from groundglow.records.brief import FitQuestion, Limits, Site
from groundglow.records.fit import Ask, Target, Use, View, Warmth, Work
from groundglow.records.kit import RECORDING_KINDS
from groundglow.records.quantity import quantity
from groundglow.steps.fit.air import FARTHEST
from groundglow.steps.fit.asked import Reader, sky_of
from groundglow.steps.fit.geometry import check_place, middle_of, work_from, work_of_zones

__all__ = ["Setting", "ask_of"]

#: Stand-off that is kept where the brief says none, m (common practice, no source).
NEAREST: Final = 5.0
#: Probability that is asked of a task where the brief says none.
PROBABILITY: Final = 0.9
#: Clutter of a target of one's own where the brief says none, K (common practice, no source).
CLUTTER: Final = 0.5
_NOON = 43200.0
_TASKS_OF_SEEING = ("detect", "recognise", "identify")


@dataclass(frozen=True)
class Setting:
    """What a question refers to beside itself: site, limits, drawn zones, the land if given, targets of one's own."""

    site: Site = field(default_factory=lambda: Site(name=""))
    limits: Limits = field(default_factory=Limits)
    zones: Sequence[Zone] = ()
    land: Sequence[Zone] = ()
    targets: Mapping[str, Target] = field(default_factory=dict)


def ask_of(asked: FitQuestion, setting: Setting | None = None) -> Ask:
    """The question with its units, defaults and shape of work.

    Parameters
    ----------
    asked : FitQuestion
    setting : Setting, optional

    Returns
    -------
    Ask

    Raises
    ------
    InputError
        For a missing unit, a contradiction, an unknown target, or a place that cannot be meant.

    Examples
    --------
    >>> ask_of(FitQuestion(target="person", distance="80 m")).distance
    80.0
    """
    given, read = setting or Setting(), Reader(asked)
    zones = _zones(read, given)
    place = _place(given, zones)
    check_place(read.name, place, zones=zones, land=given.land)
    of = _target(read, given)
    work = _work(read, zones, place)
    sky, assumed = sky_of(read)
    probability, accuracy = _wanted(read)
    distance, nearest, highest = _stand_off(read, given)
    day = _day(read)
    if asked.hour is not None and (place is None or day is None):
        raise read.fail("hour is given, but no hours can be told apart without a place and a date: give both")
    if asked.recording and asked.recording not in RECORDING_KINDS:
        faults = Faults(read.name)
        faults.unknown("recording", asked.recording, RECORDING_KINDS)
        raise InputError(faults.lines[0])
    limits = given.limits
    return Ask(
        name=asked.name or of.name,
        target=of,
        task=asked.task,
        probability=probability,
        accuracy=accuracy,
        distance=distance,
        nearest=nearest,
        highest=highest,
        work=work,
        sky=sky,
        view=_view(asked, of, work),
        of=asked.of or ("rise" if of.warmth.rise is not None else "temperature"),
        hour=asked.hour,
        ground_height=read("ground_height", "length") or 0.0,
        lon_deg=place[0] if place else None,
        lat_deg=place[1] if place else None,
        day=day,
        speed=read("speed", "speed"),
        people_near=limits.people_near if asked.people_near is None else asked.people_near,
        live_parts=limits.live_parts if asked.live_parts is None else asked.live_parts,
        budget=asked.budget,
        currency=asked.currency,
        highest_frame_rate=read("highest_frame_rate", "rate"),
        recording=asked.recording,
        use=Use(asked.bought_in, asked.used_in, asked.end_user, asked.end_use, asked.temporary),
        notes=assumed,
    )


def _zones(read: Reader, given: Setting) -> Sequence[Zone]:
    wanted = read.asked.zone
    if wanted is None:
        return given.zones
    found = [zone for zone in given.zones if zone.name == wanted]
    if not found:
        names = ", ".join(zone.name for zone in given.zones) or "none: the site has no outline"
        raise read.fail(f"there is no zone {wanted!r}; there are {names}")
    return found


def _place(given: Setting, zones: Sequence[Zone]) -> tuple[float, float] | None:
    site = given.site
    if site.lon_deg is not None and site.lat_deg is not None:
        return site.lon_deg, site.lat_deg
    return middle_of(zones) if zones else None


def _day(read: Reader) -> float | None:
    if not read.asked.date:
        return None
    midnight = iso_time(read.asked.date)
    if midnight is None:
        raise read.fail(f"date is {read.asked.date!r}, which is no date; write for example 2026-06-21")
    return midnight + _NOON


def _target(read: Reader, given: Setting) -> Target:
    asked = read.asked
    if asked.target is None:
        return _own_target(read)
    ready = target(asked.target, given.targets)
    sides = {name: size for name in ("length", "width", "height") if (size := read(name, "length")) is not None}
    changes: dict[str, Any] = dict(sides)
    if asked.material:
        made = material(asked.material)
        changes |= {"material": made.name, "emissivity": made.emissivity_7_5_13_5}
        changes["emissivity_sd"] = made.standard_uncertainty
    if asked.background:
        changes["background"] = ground(asked.background).name
    if (clutter := read("clutter", "difference")) is not None:
        changes["clutter"] = clutter
    if asked.rise is not None or asked.temperature is not None:
        changes["warmth"] = _warmth(read)
    return _checked(read, replace(ready, **changes))


def _own_target(read: Reader) -> Target:
    asked = read.asked
    length, width, tall = (read(name, "length") for name in ("length", "width", "height"))
    if length is None or width is None:
        raise read.fail(
            "say what is to be seen: a target, or length and width with a material and a rise or temperature"
        )
    if asked.material is None:
        raise read.fail("material is missing: what the target is made of decides its emissivity")
    made = material(asked.material)
    clutter = read("clutter", "difference")
    return _checked(
        read,
        Target(
            "own", asked.name or "target", length, width, tall or 0.0, made.name, made.emissivity_7_5_13_5,
            made.standard_uncertainty, _warmth(read), ground(asked.background).name if asked.background else "",
            CLUTTER if clutter is None else clutter, {"size": "as asked", "emissivity": made.source},
        ),
    )  # fmt: skip


def _checked(read: Reader, of: Target) -> Target:
    if not (of.length > 0 and of.width > 0):
        raise read.fail(f"a target of {of.length:g} x {of.width:g} m cannot be seen; give sides above 0")
    if not of.clutter > 0:
        raise read.fail("clutter is 0; every ground differs from place to place: give a spread above 0 K")
    return of


def _warmth(read: Reader) -> Warmth:
    rise, kelvin = read("rise", "difference"), read("temperature", "temperature")
    if (rise is None) == (kelvin is None):
        both = "both rise and temperature are given" if rise is not None else "neither rise nor temperature is given"
        raise read.fail(f"{both}; give one: the rise over the surroundings, or the temperature of the target")
    return Warmth(temperature=kelvin, rise=rise)


def _work(read: Reader, zones: Sequence[Zone], place: tuple[float, float] | None) -> Work:
    face = read.asked.face
    sides = None
    if face is not None:
        sides = tuple(quantity(side, "length", f"{read.name}: face") for side in face)
    sizes = {"area": read("area", "area"), "length": read("length_of_line", "length"), "face": sides}
    said = work_from(read.name, sizes)
    if said is not None:
        return said
    if zones and place is not None:
        return work_of_zones(zones, *place)
    return Work("point", "no area, line or face is given: one point is looked at")


def _view(asked: FitQuestion, of: Target, work: Work) -> View:
    if asked.view is not None:
        return asked.view
    return "side" if work.shape == "face" else of.view


def _wanted(read: Reader) -> tuple[float, float | None]:
    """Probability and accuracy that are asked."""
    asked = read.asked
    given = read("probability", "share")
    probability = PROBABILITY if given is None else given
    if not 0 < probability < 1:
        raise read.fail(f"probability is {probability:g}; allowed above 0 and below 1: nothing is seen for certain")
    accuracy = read("accuracy", "difference")
    if asked.task == "measure" and accuracy is None:
        raise read.fail('accuracy is missing: how close must the measurement be? Write for example accuracy = "2 K"')
    if accuracy is not None and not accuracy > 0:
        raise read.fail(f"accuracy is {accuracy:g} K; allowed above 0: no measurement is exact")
    return probability, accuracy


def _stand_off(read: Reader, given: Setting) -> tuple[float | None, float, float]:
    """The distance asked for, and the limits."""
    distance, nearest, highest = (read(name, "length") for name in ("distance", "nearest", "highest"))
    low = NEAREST if nearest is None else nearest
    high = given.limits.highest_m if highest is None else highest
    if nearest is None and distance is not None:
        low = min(low, distance)
    if highest is None and distance is not None:
        high = max(high, distance)
    for name, far in (("distance", distance), ("nearest", nearest)):
        if far is not None and far > FARTHEST:
            raise read.fail(
                f"{name} {far:g} m is beyond {FARTHEST:.0f} m, where the model of the air ends; check the unit"
            )
    if low > high:
        raise read.fail(f"the limits contradict each other: nearest {low:g} m is above highest {high:g} m")
    if distance is not None and not low <= distance <= high:
        raise read.fail(f"distance {distance:g} m contradicts the limits: nearest {low:g} m, highest {high:g} m")
    if (distance is not None and distance <= 0) or high <= 0:
        raise read.fail("the distance is 0; give a stand-off above 0 m")
    return distance, max(low, 0.1), high
