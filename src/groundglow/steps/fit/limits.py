"""Why a combination will not do, whatever it sees: mount, load, weather, ceiling, recording, frame rate, budget."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from groundglow.records.fit import Ask, Reason
from groundglow.records.kit import RECORDING_KINDS, Camera, Combination
from groundglow.steps.fit.effort import endurance
from groundglow.steps.fit.stack import highest_rate

__all__ = ["chosen_recording", "kit_reasons"]

_ZERO = 273.15
#: Second digit of the IP code from which rain is met: splashing water (IEC 60529, from memory).
_SPLASH = 4
_MEASURED_BEST = ("temperature frames", "raw frames", "raw video", "corrected frames")
_SEEN_BEST = ("raw frames", "temperature frames", "raw video", "corrected frames", "picture frames", "picture video")


def chosen_recording(ask: Ask, camera: Camera) -> str:
    """How this camera would record for the task: as asked, else the kind that keeps most; empty where none serves."""
    wanted = (ask.recording,) if ask.recording else _MEASURED_BEST if ask.task == "measure" else _SEEN_BEST
    return next((kind for kind in wanted if kind in camera.records), "")


def kit_reasons(ask: Ask, kit: Combination) -> tuple[Reason, ...]:
    """All reasons that do not hang on what is seen, in the order in which one would meet them."""
    checks: tuple[Callable[[Ask, Combination], Iterator[Reason]], ...] = (
        _mount, _load, _weather, _ceiling, _hover, _recording, _frame_rate, _budget, _endurance,
    )  # fmt: skip
    return tuple(reason for check in checks for reason in check(ask, kit))


def _mount(ask: Ask, kit: Combination) -> Iterator[Reason]:
    if kit.aircraft and kit.camera.mount not in kit.aircraft.mounts:
        carries = ", ".join(kit.aircraft.mounts)
        yield Reason("mount", f"the camera needs a {kit.camera.mount}; this aircraft carries {carries}")


def _load(ask: Ask, kit: Combination) -> Iterator[Reason]:
    if kit.aircraft and kit.mass > kit.aircraft.payload:
        yield Reason(
            "payload", f"camera and lens weigh {kit.mass * 1e3:.0f} g; it lifts {kit.aircraft.payload * 1e3:.0f} g"
        )


def _weather(ask: Ask, kit: Combination) -> Iterator[Reason]:
    sky, aircraft = ask.sky, kit.aircraft
    if sky.rain:
        parts = [("camera", kit.camera.rating), *([("aircraft", aircraft.rating)] if aircraft else [])]
        for name, rating in parts:
            if not (rating[-1:].isdigit() and int(rating[-1]) >= _SPLASH):
                yield Reason("weather", f"rain asks for IPX{_SPLASH} or better; the {name} has {rating or 'no rating'}")
    if aircraft is None:
        return
    if sky.wind_speed > aircraft.wind_limit:
        yield Reason("wind", f"wind of {sky.wind_speed:.0f} m/s; its limit is {aircraft.wind_limit:.0f} m/s")
    low, high = aircraft.temperatures
    if sky.lowest < low or sky.highest > high:
        yield Reason(
            "weather",
            f"air of {sky.lowest - _ZERO:.0f} to {sky.highest - _ZERO:.0f} °C; "
            f"it may fly in {low - _ZERO:.0f} to {high - _ZERO:.0f} °C",
        )


def _ceiling(ask: Ask, kit: Combination) -> Iterator[Reason]:
    needed = ask.ground_height + (ask.distance or ask.nearest)
    if kit.aircraft and needed > kit.aircraft.ceiling:
        yield Reason(
            "ceiling", f"{needed:.0f} m above sea level are needed; its ceiling is {kit.aircraft.ceiling:.0f} m"
        )


def _hover(ask: Ask, kit: Combination) -> Iterator[Reason]:
    if kit.aircraft and not kit.aircraft.hovers and ask.work.shape in ("point", "face"):
        what = "one point" if ask.work.shape == "point" else "an upright face"
        yield Reason(
            "hover", f"{what} is looked at standing still; it flies no slower than {kit.aircraft.speeds[0]:.0f} m/s"
        )


def _recording(ask: Ask, kit: Combination) -> Iterator[Reason]:
    camera = kit.camera
    if ask.recording and ask.recording not in camera.records:
        yield Reason("recording", f"{ask.recording} are asked for; it records {', '.join(camera.records)}")
        return
    kept = [kind for kind in camera.records if RECORDING_KINDS[kind] and kind in (ask.recording or kind)]
    if ask.task != "measure":
        return
    if not kept:
        yield Reason("recording", f"it records {', '.join(camera.records)}: temperatures are lost")
    elif camera.accuracy is None or not camera.ranges:
        yield Reason("calibration", "it is not calibrated: counts, no temperatures, until you calibrate it yourself")


def _frame_rate(ask: Ask, kit: Combination) -> Iterator[Reason]:
    limit = ask.highest_frame_rate
    if limit is not None and highest_rate(kit, limit) == 0.0:
        rates = ", ".join(f"{rate:g}" for rate in kit.camera.frame_rates)
        yield Reason("frame rate", f"you ask for at most {limit:g} Hz; it comes with {rates} Hz")


def _budget(ask: Ask, kit: Combination) -> Iterator[Reason]:
    if ask.budget is not None and kit.price is not None and kit.price > ask.budget:
        yield Reason("budget", f"it costs {kit.price:,.0f}; the budget is {ask.budget:,.0f} {ask.currency}".rstrip())


def _endurance(ask: Ask, kit: Combination) -> Iterator[Reason]:
    if kit.aircraft and kit.mass <= kit.aircraft.payload:
        useful = endurance(kit.aircraft, kit.mass, ask.sky.wind_speed)
        if useful <= 0:
            yield Reason("endurance", "with this load and wind nothing is left beside the reserve and the way there")
