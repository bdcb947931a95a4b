"""Bodies of the ready-made targets: one each, parts within reach of the target."""

from groundglow.kit.bodies import bodies, body_of
from groundglow.kit.targets import targets


def test_every_ready_made_target_has_a_body_and_no_body_is_without_a_target():
    assert set(bodies()) == set(targets())


def test_the_target_itself_is_among_the_parts_and_has_full_warmth_somewhere():
    for name, body in bodies().items():
        own = [part for part in body.parts if part.offset_k is None]
        assert own, name
        assert max(part.warmth for part in own) >= 1.0, name
        assert all(abs(x) <= 1.1 for part in own for x in part.at[:2]), name


def test_a_target_of_ones_own_is_a_patch_or_an_ellipsoid():
    assert body_of("mine", flat=True).parts[0].shape == "block"
    assert body_of("mine", flat=False).parts[0].shape == "ellipsoid"
