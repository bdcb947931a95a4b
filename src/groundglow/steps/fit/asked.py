"""The quantities of one question, read with its name and the field's in every error; and the weather it names."""

from __future__ import annotations

from dataclasses import replace

from groundglow.errors import InputError
from groundglow.records.brief import FitQuestion
from groundglow.records.fit import Sky
from groundglow.records.quantity import Kind, quantity

__all__ = ["Reader", "sky_of"]


class Reader:
    """Reads the quantities of one question; errors name the question and the field."""

    def __init__(self, asked: FitQuestion) -> None:
        self.asked = asked
        self.name = asked.name or "fit"

    def __call__(self, name: str, kind: Kind) -> float | None:
        given = getattr(self.asked, name)
        return None if given is None else quantity(given, kind, f"{self.name}: {name}")

    def fail(self, what: str) -> InputError:
        """An error about this question."""
        return InputError(f"{self.name}: {what}")


def sky_of(read: Reader) -> tuple[Sky, tuple[str, ...]]:
    """The weather as asked, and a line about what was taken where nobody said it."""
    asked, plain = read.asked, Sky()
    fields: tuple[tuple[str, str, Kind], ...] = (
        ("lowest", "air_lowest", "temperature"),
        ("highest", "air_highest", "temperature"),
        ("relative_humidity", "humidity", "share"),
        ("wind_speed", "wind", "speed"),
        ("cloud_fraction", "cloud", "share"),
        ("load_fraction", "load", "share"),
    )
    known = {name: value for name, written, kind in fields if (value := read(written, kind)) is not None}
    if "lowest" in known and "highest" not in known:
        known["highest"] = known["lowest"] + (plain.highest - plain.lowest)
    if "highest" in known and "lowest" not in known:
        known["lowest"] = known["highest"] - (plain.highest - plain.lowest)
    assumed = tuple(written for name, written, _ in fields if name not in known)
    sky = replace(plain, **known, visibility=read("visibility", "length"), rain=asked.rain, assumed=assumed)
    if sky.lowest > sky.highest:
        raise read.fail("air_lowest is above air_highest: swap them")
    return sky, _assumed_words(sky, assumed)


def _assumed_words(sky: Sky, assumed: tuple[str, ...]) -> tuple[str, ...]:
    words = {
        "air_lowest": f"air of {sky.lowest - 273.15:.0f} °C at its coldest",
        "air_highest": f"{sky.highest - 273.15:.0f} °C at its warmest",
        "humidity": f"relative humidity {100 * sky.relative_humidity:.0f} %",
        "wind": f"wind {sky.wind_speed:.0f} m/s",
        "cloud": f"{100 * sky.cloud_fraction:.0f} % cloud",
        "load": f"{100 * sky.load_fraction:.0f} % load",
    }
    said = [words[name] for name in assumed if name != "load"]
    return (f"nobody said the weather in full; taken: {', '.join(said)}",) if said else ()
