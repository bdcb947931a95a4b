"""Quantities as people write them: every unit that is meant is read, a missing one is never guessed."""

from __future__ import annotations

import pytest

from groundglow.errors import InputError
from groundglow.records.quantity import in_unit, quantity

#: Exact by definition: international foot, statute mile, knot, acre (of international feet), degree Fahrenheit.
EXACT = [
    ("100 ft", "length", 30.48),
    ("1 mile", "length", 1609.344),
    ("20 kn", "speed", 20 * 1852 / 3600),
    ("36 km/h", "speed", 10.0),
    ("10 mph", "speed", 4.4704),
    ("1 acre", "area", 4046.8564224),
    ("2 ha", "area", 20000.0),
    ("-40 C", "temperature", 233.15),
    ("-40 F", "temperature", 233.15),
    ("18 F", "difference", 10.0),
    ("3 K", "difference", 3.0),
    ("9 fps", "rate", 9.0),
    ("45 %", "share", 0.45),
    ("0.45", "share", 0.45),
]


@pytest.mark.parametrize(("text", "kind", "value"), EXACT)
def test_units_convert_exactly(text: str, kind: str, value: float) -> None:
    assert quantity(text, kind, "x") == pytest.approx(value, rel=1e-6)  # type: ignore[arg-type]
    assert quantity(text.replace(" ", ""), kind, "x") == pytest.approx(value, rel=1e-6)  # type: ignore[arg-type]


@pytest.mark.parametrize("given", ["80", 80, 80.0])
def test_a_missing_unit_is_an_error_that_shows_how_to_write_it(given: object) -> None:
    with pytest.raises(InputError, match=r"--from: '?80.*has no unit; write for example '80 m' or '260 ft'"):
        quantity(given, "length", "--from")


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("80 s", "length", "no unit of length"),
        ("80 parsnips", "length", "no unit of length"),
        ("far", "length", "no number"),
        ("nan m", "length", "no number"),
        ("-3 m", "length", "below zero"),
        ("-300 C", "temperature", "below absolute zero"),
        ("120 %", "share", "outside 0 to 1"),
        ("5 m", "share", "no share"),
        (True, "length", "no number"),
    ],
)
def test_what_cannot_be_meant_is_refused(text: object, kind: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        quantity(text, kind, "x")  # type: ignore[arg-type]


def test_showing_is_the_inverse_of_reading() -> None:
    assert in_unit(quantity("68 F", "temperature", "x"), "F", "temperature") == pytest.approx(68.0)
