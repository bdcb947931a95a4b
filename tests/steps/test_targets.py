"""Reference targets: a camera that reads high is told so by a target, and pixels elsewhere are put right by it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.steps.test_measure import AIR, HEIGHT, HUMIDITY, SHAPE, inputs_of, spec_of

from groundglow.errors import InputError
from groundglow.model.doubt import combined
from groundglow.model.sky import sky_hemisphere_radiance
from groundglow.model.surface import material
from groundglow.model.through_air import at_sensor_radiance_through_air
from groundglow.records.frame import Frame, Stamp, ValueKind
from groundglow.records.visit import Reference
from groundglow.steps.measure import (
    FrameInputs,
    Spot,
    at_target,
    constraint_from_json,
    constraint_note,
    constraint_of,
    constraint_to_json,
    measure_frame,
    read_reference,
    resolve_surfaces,
    target_row,
)
from groundglow.steps.measure.frame import band_and_table
from groundglow.steps.measure.references import KNOWN_HALF

TRUE_GROUND, TRUE_BOARD = 300.0, 311.0
SPOT = Spot("f.npy", 60.0, 40.0, KNOWN_HALF)


def reference(kind: str = "board", value: float = TRUE_BOARD, **more: object) -> Reference:
    return Reference("t", kind, 0.0, value, 0.2, "use", frame="f.npy", column=60.0, row=40.0, **more)  # type: ignore[arg-type]


def scene(*, camera_error: float = 0.0, sky_factor: float = 1.0, board: tuple[float, float] | None = None) -> Frame:
    """Ground with a board in it, seen by a camera that reads too high by so many K."""
    band, table = band_and_table(7.5, 13.5)
    weather = {"air_temperature": AIR, "relative_humidity": HUMIDITY}
    sky = sky_factor * sky_hemisphere_radiance(band, **weather, cloud_fraction=0.0)
    kelvin = np.full(SHAPE, TRUE_GROUND)
    emissivity = np.full(SHAPE, resolve_surfaces([], {})[-1].emissivity)
    here = (slice(35, 46), slice(55, 66))
    kelvin[here], emissivity[here] = board or (TRUE_BOARD, material("paint, matt black").emissivity)
    radiance = at_sensor_radiance_through_air(
        table, kelvin, emissivity=emissivity, reflected_radiance=sky, distance=HEIGHT, **weather
    )
    apparent = table.temperature(radiance)
    shown = table.radiance(apparent + camera_error).astype(np.float32)
    return Frame("f.npy", shown, ValueKind.RADIANCE, Stamp(), {})


def inputs(frame: Frame) -> FrameInputs:
    spec = spec_of("radiance", calibration={"standard_uncertainty_k": 1.0})
    return inputs_of(spec, resolve_surfaces([], {}), float(np.median(frame.values)))


def known_from(frame: Frame, target: Reference):
    row = target_row(target, SPOT, frame, inputs(frame))
    assert row is not None
    return constraint_of([row], [n for n in row.by_source if not n.startswith("emissivity")])


def test_a_camera_that_reads_high_is_put_right_elsewhere_in_the_frame() -> None:
    frame = scene(camera_error=1.5)
    before = measure_frame(frame, inputs(frame))
    after = measure_frame(frame, replace(inputs(frame), known=known_from(frame, reference())))
    place = (5, 5)
    assert before.value[place] - TRUE_GROUND == pytest.approx(1.55, abs=0.15)
    assert abs(after.value[place] - TRUE_GROUND) < 0.8
    left = np.broadcast_to(after.doubt.flight["calibration"], SHAPE)[place]
    assert left < 0.75 * np.broadcast_to(before.doubt.flight["calibration"], SHAPE)[place]


def test_a_camera_that_reads_right_is_left_as_it_is_but_becomes_more_certain() -> None:
    frame = scene()
    before = measure_frame(frame, inputs(frame))
    after = measure_frame(frame, replace(inputs(frame), known=known_from(frame, reference())))
    assert abs(float(after.value[5, 5] - before.value[5, 5])) < 0.05
    assert combined(after.doubt)[5, 5] < combined(before.doubt)[5, 5]


def test_crumpled_foil_tells_the_sky_that_is_reflected() -> None:
    foil = material("aluminium, foil, crumpled")
    frame = scene(sky_factor=1.25, board=(AIR, foil.emissivity_7_5_13_5))
    known = known_from(frame, reference("foil", AIR))
    # The sky was taken too low: given minus true is negative.
    assert known.estimate[known.names.index("sky")] < -0.5
    assert abs(known.estimate[known.names.index("calibration")]) < 0.5


def test_a_target_reads_its_own_temperature_with_its_own_material() -> None:
    frame = scene()
    field = measure_frame(frame, at_target(inputs(frame), reference()))
    reading = read_reference(reference(), SPOT, field)
    assert reading is not None
    assert reading.within
    assert reading.read == pytest.approx(TRUE_BOARD, abs=0.1)


def test_a_target_of_an_unknown_material_is_refused() -> None:
    frame = scene()
    with pytest.raises(InputError, match="cheese"):
        target_row(reference(material="cheese"), SPOT, frame, inputs(frame))


def test_counts_without_a_calibration_say_nothing_of_a_target() -> None:
    counts = Frame("f.npy", np.full(SHAPE, 5000, np.uint16), ValueKind.COUNTS, Stamp(), {})
    given = inputs_of(spec_of("counts"), resolve_surfaces([], {}), 5000.0)
    assert target_row(reference(), SPOT, counts, given) is None


def test_what_targets_said_travels_as_text_and_is_told_in_words() -> None:
    frame = scene(camera_error=1.5)
    known = known_from(frame, reference())
    text = constraint_to_json(known, ["t"])
    back = constraint_from_json(text)
    assert back is not None
    np.testing.assert_allclose(back.root, known.root)
    assert "calibration moved by" in constraint_note(text)
    assert constraint_from_json(constraint_to_json(known, [])) is None
