"""The public face of the measurement model holds together: every name it offers is one thing, documented."""

from __future__ import annotations

import inspect

from groundglow.model import correction, measurement, reason, sensing, surroundings


def test_face_offers_all_that_its_rooms_offer():
    rooms = {name for room in (correction, measurement, reason, surroundings) for name in room.__all__}
    assert set(sensing.__all__) == rooms
    assert all(hasattr(sensing, name) for name in rooms)


def test_inverse_pairs_name_each_other():
    """Each of a pair of inverses names the other under See Also."""
    pairs = [
        (sensing.at_sensor_radiance, sensing.surface_temperature),
        (sensing.undo_correction, sensing.redo_correction),
    ]
    for forward, backward in pairs:
        assert f"{backward.__name__} :" in inspect.getdoc(forward)
    assert f"{sensing.at_sensor_radiance.__name__} :" in inspect.getdoc(sensing.surface_temperature)
