"""Numbers in the units of the reader, by definition: a foot is 0.3048 m, an acre 4046.856 m2, a mile 1609.344 m."""

import pytest

from groundglow.paper.measures import METRIC, Measures

FEET = Measures("ft")


def test_lengths_speeds_areas_and_temperatures_by_definition():
    assert FEET.long_value(0.3048) == pytest.approx(1.0)
    assert FEET.warm_value(310.15) == pytest.approx(98.6)
    assert FEET.length(100.0) == "328 ft"
    assert FEET.speed(10.0) == "22 mph"
    assert FEET.area(20_000.0) == "4.94 acres"
    assert FEET.temperature(273.15) == "32.0 °F"


def test_masses_ways_and_differences_by_definition():
    """A pound is 0.45359237 kg, a mile 1609.344 m; a kelvin is 1.8 degrees Fahrenheit."""
    assert FEET.mass(0.45359237 * 3) == "3.0 lb"
    assert FEET.mass(0.3) == "11 oz"
    assert FEET.way(16093.44) == "10 mi"
    assert FEET.way(300.0) == "984 ft"
    assert FEET.difference(5.0, sign="±") == "±9.0 °F"
    assert FEET.difference(1.5, sign="+") == "+2.7 °F"
    assert FEET.within(2.0) == "±3.6 °F"
    assert FEET.short_length(0.0254) == "1 in"
    assert (METRIC.mass(1.59), METRIC.way(3e4), METRIC.within(5.0), METRIC.short_length(0.074)) == (
        "1590 g", "30 km", "±5 K", "7.4 cm",
    )  # fmt: skip


def test_areas_are_never_told_in_powers_of_ten():
    assert FEET.area(2000.0) == "21,500 ft²"
    assert METRIC.area(1234.0) == "1,230 m²"
    assert METRIC.area(1.51e6) == "151 ha"


def test_metric_words():
    assert METRIC.length(12.34) == "12 m"
    assert METRIC.length(0.456) == "0.46 m"
    assert METRIC.speed(5.0) == "5 m/s"
    assert [METRIC.area(a) for a in (500.0, 20_000.0, 3e7)] == ["500 m²", "2 ha", "30 km²"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("12 m closer: at 25 m", "39 ft closer: at 82 ft"),
        ("wind 3 m/s, lens 13 mm, 1000 W/m2, 2 m² of 3 K", "wind 6.7 mph, lens 13 mm, 1000 W/m2, 21.5 ft² of 5.4 °F"),
        ("the limits are 5 to 120 m", "the limits are 16 to 394 ft"),
        ("a face of 30 x 20 m; 2 ha, 120 x 40 m", "a face of 98 x 66 ft; 4.94 acres, 394 x 131 ft"),
        ("air of -10 to 20 °C, ±5.0 K, a rise of -1.5 K", "air of 14 to 68 °F, ±9.0 °F, a rise of -2.7 °F"),
        ("weigh 1590 g; it lifts 300 g", "weigh 3.5 lb; it lifts 11 oz"),
        ("25 min at 9 Hz", "25 min at 9 Hz"),
    ],
)
def test_sentences_are_turned_and_nothing_else_in_them(words, said):
    assert FEET.spoken(words) == said
    assert METRIC.spoken(words) == words
