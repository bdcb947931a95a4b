"""Write docs/checks.md: each check that was asked for, the tests that hold it, and how closely it is met.

    python tools/make_checks_page.py [docs]

Figures come from docs/validation.md, which the external checks write themselves: make that page first.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
HEAD = """# What was asked, and how closely it is met

Made by `python tools/make_checks_page.py` from docs/validation.md; a test keeps both as they are. A row stands for one
demand: what was asked, how many values are compared, the one of them that comes nearest to the tolerance that its test
holds (often tighter than asked), and the tests. Demands that are no single number name their tests, or the page with
their figures.
"""


class Line(NamedTuple):
    """One comparison of docs/validation.md."""

    topic: str
    quantity: str
    values: str
    published: str
    ours: str
    difference: str
    tolerance: str
    source: str


@dataclass(frozen=True)
class Check:
    """One demand; ``lines`` are (topic, start of the quantity), ``tests`` are under tests/, ``page`` under docs/."""

    topic: str
    asked: str
    tests: tuple[str, ...]
    lines: tuple[tuple[str, str], ...] = ()
    page: str = ""


CHECKS = (
    Check(
        "Planck",
        "spectral radiance against a table, `ht` and astropy: 1e-6 relative",
        (
            "external/test_planck.py::test_spectral_radiance_agrees_with_the_reference_table",
            "external/test_planck.py::test_spectral_radiance_agrees_with_astropy",
            "external/test_planck.py::test_spectral_radiance_agrees_with_ht",
        ),
        (("Planck's law", "spectral radiance"),),
    ),
    Check(
        "in-band radiance",
        "radiance and slope, exact integral: 1e-6 relative",
        ("external/test_planck.py::test_band_radiance_slope_and_share_agree_with_the_reference_table",),
        (
            ("Planck's law", "band radiance, 8-14 um"),
            ("Planck's law", "band radiance, 7.5-13.5 um"),
            ("Planck's law", "its slope, 8-14 um"),
            ("Planck's law", "its slope, 7.5-13.5 um"),
        ),
    ),
    Check(
        "in-band radiance, any table",
        "1 mK, 230-450 K",
        (
            "external/test_planck.py::test_table_reads_the_reference_radiances_to_a_millikelvin",
            "model/test_table.py::test_error_is_below_a_hundredth_of_a_millikelvin_over_the_whole_range",
            "external/test_satellite_band.py::test_fast_table_adds_nothing_for_a_measured_response",
        ),
        (("Planck's law", "temperature by the fast table"),),
    ),
    Check(
        "band fractions",
        "handbook table, 90 rows: 1e-4",
        ("external/test_planck.py::test_band_fractions_agree_with_a_handbook",),
        (("Planck's law", "share below a wavelength"),),
    ),
    Check(
        "satellite band",
        "measured response, 250-350 K: 3 mK",
        ("external/test_satellite_band.py::test_published_table_is_met_to_3_millikelvin",),
        (("Satellite bands", "temperature of a measured band"),),
    ),
    Check(
        "satellite band, two constants",
        "reads +0.105 to +0.145 K above exact: 0.01 K",
        ("external/test_satellite_band.py::test_two_constant_inversion_reads_a_tenth_of_a_kelvin_high",),
        (("Satellite bands", "excess of the two-constant form"),),
    ),
    Check(
        "Sakuma-Hattori",
        "8-14 um, -20 to 100 °C: A, B within 1e-3; residual at most 2 mK",
        ("external/test_sakuma_hattori.py::test_fit_to_an_ideal_band",),
        (
            ("Sakuma-Hattori equation", "A, 8-14 um"),
            ("Sakuma-Hattori equation", "B, 8-14 um"),
            ("Sakuma-Hattori equation", "residual, 8-14 um"),
        ),
    ),
    Check(
        "measurement equation",
        "signals, apparent temperatures, sensitivities: 1e-4 K",
        (
            "external/test_measurement_equation.py::test_signal_and_apparent_temperature",
            "external/test_measurement_equation.py::test_apparent_temperature_through_a_window",
            "external/test_measurement_equation.py::test_inversion_returns_the_surface",
            "external/test_measurement_equation.py::test_effect_of_a_wrong_assumption",
        ),
        (
            ("Measurement equation", "apparent temperature"),
            ("Measurement equation", "surface temperature"),
            ("Measurement equation", "error for a wrong assumption"),
        ),
    ),
    Check(
        "measurement equation, identity",
        "all temperatures equal read themselves: 1e-4 K",
        (
            "external/test_measurement_equation.py::test_all_temperatures_equal_is_the_identity",
            "property/test_sensing.py::test_a_closed_cavity_hides_emissivity_and_air",
        ),
    ),
    Check(
        "air path, table points",
        "72 rows, three of them pressures apart: 0.005",
        ("external/test_air_path.py::test_every_row_of_the_reference_table",),
        (("Air path", "band transmittance, 7.5-13.5 um"), ("Air path", "band transmittance, 8-14 um")),
    ),
    Check(
        "air path, elsewhere to 300 m",
        "0-40 g/m3 of water: 0.01",
        ("external/test_air_path.py::test_random_conditions",),
        (("Air path", "band transmittance, random air to 40 g/m3 of water, 0 to 300 m"),),
    ),
    Check(
        "air path, elsewhere to 1 km",
        "0-40 g/m3 of water: 0.02",
        ("external/test_air_path.py::test_random_conditions",),
        (("Air path", "band transmittance, random air to 40 g/m3 of water, 300 to 1000 m"),),
    ),
    Check(
        "air path, beyond",
        "above 40 g/m3 or 1 km: a stated larger doubt",
        (
            "external/test_air_path.py::test_random_conditions",
            "external/test_air_path.py::test_errors_lie_within_the_stated_doubt",
            "model/test_air.py::test_doubt_is_a_share_of_what_is_absorbed_and_wider_far_or_wet",
        ),
        (
            ("Air path", "band transmittance, random air to 40 g/m3 of water, 1000 to 5000 m"),
            ("Air path", "band transmittance, random air above 40 g/m3"),
        ),
    ),
    Check(
        "not Beer-Lambert",
        "absorption a km falls several times from 10 m to 1 km, as the table",
        ("external/test_air_path.py::test_absorption_is_not_beer_lambert",),
        (("Air path", "-ln(transmittance)/distance"),),
    ),
    Check(
        "clear sky",
        "apparent temperature by angle, four atmospheres: 8 K, RMS 5 K",
        ("external/test_clear_sky.py::test_four_atmospheres_at_all_angles",),
        (
            ("Clear sky", "apparent temperature, 7.5-13.5 um, 4"),
            ("Clear sky", "apparent temperature, 8.0-14.0 um, 4"),
            ("Clear sky", "RMS"),
        ),
    ),
    Check(
        "clear sky, flux",
        "15 W/m2",
        ("external/test_clear_sky.py::test_the_total_flux_of_six_atmospheres",),
        (("Clear sky", "longwave flux,"),),
    ),
    Check(
        "clear sky, doubt",
        "stated for a real clear sky: at least 8 K",
        ("model/test_sky.py::test_the_stated_doubt_of_a_real_sky_is_wide",),
    ),
    Check(
        "humidity",
        "IAPWS column, 0-50 °C: 0.5 %",
        ("external/test_humidity.py::test_saturation_over_water_follows_iapws_from_0_to_50",),
        (("Humidity", "saturation over water, 0 to 50"),),
    ),
    Check(
        "emissivity, Fresnel",
        "water and glass with angle: 0.005",
        (
            "external/test_emissivity.py::test_water_and_glass_follow_fresnel",
            "external/test_emissivity.py::test_each_wavelength_of_water_and_glass",
        ),
        (
            ("Emissivity", "water, 8-14"),
            ("Emissivity", "glass, soda-lime"),
            ("Emissivity", "water at"),
            ("Emissivity", "glass at"),
        ),
    ),
    Check(
        "emissivity, published spans",
        "soils, skin, roofs and others lie inside",
        (
            "external/test_emissivity.py::test_published_spans_hold",
            "external/test_emissivity.py::test_roofs_lie_in_the_span_of_measured_ones",
        ),
        (
            ("Emissivity", "sand, dry"),
            ("Emissivity", "clay soil"),
            ("Emissivity", "peat"),
            ("Emissivity", "human skin"),
            ("Emissivity", "roofing"),
        ),
    ),
    Check(
        "emissivity, open spectra",
        "band averages of measured urban samples",
        ("external/test_emissivity.py::test_urban_samples_are_their_spectra",),
        (("Emissivity", "urban samples"),),
    ),
    Check(
        "sun",
        "worked example: 0.001 degree",
        ("external/test_sun.py::test_worked_example",),
        (("Sun", "zenith and azimuth"), ("Sun", "incidence")),
    ),
    Check(
        "sun, rise and set",
        "printed table and pvlib: 1 s",
        (
            "external/test_sun.py::test_sunrise_table",
            "external/test_sun.py::test_rise_transit_and_set_of_the_worked_example",
        ),
        (("Sun", "sunrise and sunset"), ("Sun", "rise, transit")),
    ),
    Check(
        "conduction",
        "damping and lag at 0.1 m in concrete: 1 %",
        ("external/test_conduction.py::test_damping_and_lag_at_a_tenth_of_a_metre",),
        (("Conduction", "amplitude ratio"), ("Conduction", "lag")),
    ),
    Check(
        "measured day",
        "RMS error at most 3 K, measured and modelled sky; rivals air temperature and a constant",
        ("external/test_measured_day.py::test_error_stays_below_three_kelvin_and_beats_both_rivals",),
        (("Measured day", "RMS error"),),
        "ground.md",
    ),
    Check(
        "seeing",
        "criteria, probability function, its table: 1e-3",
        (
            "external/test_seeing.py::test_criteria_of_johnson_1958",
            "external/test_seeing.py::test_table_of_the_probability_function",
            "external/test_seeing.py::test_inverse_of_the_probability_function",
        ),
        (("Seeing", "line pairs"), ("Seeing", "probability of a task, E")),
    ),
    Check(
        "pixels on target",
        "the computed bias shows where 10 x 10 and 3 x 3 come from (common practice, no source)",
        (
            "model/test_targetsize.py::test_ten_by_ten_reads_nearly_true_whatever_the_lens_and_three_by_three_does_not",
            "model/test_targetcorrection.py::test_rise_of_simulated_discs_comes_back_within_the_stated_doubt",
            "model/test_target_size_page.py::test_claims_of_the_page_hold",
        ),
        (),
        "target-size.md",
    ),
    Check(
        "photogrammetry",
        "flight planning example; collinearity against cv2.projectPoints",
        (
            "external/test_collinearity.py::test_projection_agrees_with_opencv",
            "external/test_collinearity.py::test_worked_case_of_the_collinearity_equations",
            "external/test_flight_planning.py::test_strips",
        ),
        (
            ("Collinearity", "image of three points"),
            ("Collinearity", "projection by"),
            ("Optics and flight planning", "spacing of strips"),
        ),
    ),
    Check(
        "geodesy",
        "Snyder, EPSG, GeographicLib points, as rows",
        (
            "external/test_geodesy.py::test_transverse_mercator_of_snyder",
            "external/test_geodesy.py::test_british_grid_example_of_epsg",
            "external/test_geodesy.py::test_geodesics_of_the_geographiclib_examples",
            "external/test_geodesy.py::test_geocentric_example",
        ),
    ),
    Check(
        "uncertainty, GUM",
        "H.1 to H.3, as rows",
        (
            "external/test_uncertainty.py::test_end_gauge_budget",
            "external/test_uncertainty.py::test_correlated_inputs",
            "external/test_uncertainty.py::test_correlated_results",
            "external/test_uncertainty.py::test_thermometer_line",
        ),
        (
            ("Guides to uncertainty", "end gauge"),
            ("Guides to uncertainty", "R and"),
            ("Guides to uncertainty", "correlation"),
            ("Guides to uncertainty", "thermometer"),
        ),
    ),
    Check(
        "uncertainty, JCGM 101",
        "9.2 to 9.5, as rows",
        (
            "external/test_uncertainty.py::test_additive_model_of_normal_inputs",
            "external/test_uncertainty.py::test_mass_calibration_needs_more_than_first_order",
            "external/test_uncertainty.py::test_comparison_loss",
            "external/test_uncertainty.py::test_gauge_block",
        ),
        (
            ("Guides to uncertainty", "sum of"),
            ("Guides to uncertainty", "mass"),
            ("Guides to uncertainty", "comparison loss"),
            ("Guides to uncertainty", "gauge block"),
        ),
    ),
    Check(
        "intervals",
        "stated 95 % intervals on simulated truth, pooled, family-wise 99 %",
        (
            "model/test_intervals.py::test_some_hundred_readings_miss_as_often_as_they_say",
            "accept/test_intervals.py::test_all_readings_pooled",
            "accept/test_intervals.py::test_every_part_of_the_readings",
        ),
        (),
        "intervals.md",
    ),
)


def lines(page: str) -> Iterator[Line]:
    """Comparisons that stand on docs/validation.md."""
    topic = ""
    for text in page.splitlines():
        if text.startswith("## "):
            topic = text[3:]
        elif text.startswith("| ") and not text.startswith("| quantity"):
            yield Line(topic, *(cell.strip() for cell in text.strip("|").split("|")))


def of_check(check: Check, known: Iterable[Line]) -> list[Line]:
    """Comparisons that belong to a demand."""
    return [one for one in known if any(one.topic == t and one.quantity.startswith(q) for t, q in check.lines)]


def _share(line: Line) -> float:
    return abs(float(line.difference)) / float(line.tolerance)


def missing(check: Check, known: Iterable[Line]) -> list[str]:
    """Tests that are not there, and starts of quantities that stand on no line."""
    met = [*known]
    lost = [f"{t}: {q}" for t, q in check.lines if not any(o.topic == t and o.quantity.startswith(q) for o in met)]
    for test in check.tests:
        path, name = test.split("::")
        tree = ast.parse((ROOT / "tests" / path).read_text(encoding="utf-8"))
        if name not in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}:
            lost.append(test)
    return lost


def _row(check: Check, known: list[Line]) -> str:
    found = of_check(check, known)
    cells = ["", "", "", "", ""]
    if found:
        worst = max(found, key=_share)
        values = str(sum(int(line.values) for line in found))
        cells = [values, f"{worst.quantity}: {worst.published}", worst.ours, worst.difference, worst.tolerance]
    shown = [f"`{test}`" for test in check.tests] + ([f"[{check.page}]({check.page})"] if check.page else [])
    return f"| {' | '.join([check.topic, check.asked, *cells, '<br>'.join(shown)])} |"


def page(validation: str) -> str:
    """The whole page."""
    known = list(lines(validation))
    head = ("topic", "asked", "values", "nearest to its tolerance", "ours", "difference", "held", "shown by")
    table = [f"| {' | '.join(head)} |", "|---" * len(head) + "|", *(_row(check, known) for check in CHECKS)]
    return "\n".join([HEAD, *table, ""])


def main(folder: Path) -> None:
    """Write the page."""
    (folder / "checks.md").write_text(page((folder / "validation.md").read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "docs"))
