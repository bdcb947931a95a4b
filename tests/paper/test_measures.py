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
