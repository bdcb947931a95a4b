"""The ways to record: every figure has a unit and a source, temperatures agree with the records."""

from groundglow.kit.recording import recording_kinds
from groundglow.records.kit import RECORDING_KINDS


def test_each_way_of_the_records_is_described_and_no_other():
    assert list(recording_kinds()) == list(RECORDING_KINDS)


def test_figures_have_sources_and_possible_values():
    for kind in recording_kinds().values():
        assert kind.levels.source
        assert kind.bits.source
        assert 256 <= kind.levels.value <= 65536
        assert 0.01 <= kind.bits.value <= 16


def test_what_loses_temperature_says_so():
    for name, kind in recording_kinds().items():
        assert kind.temperature == RECORDING_KINDS[name]
        assert kind.temperature or "temperature, for good" in kind.loses
        assert (kind.inputs == "none") == (not kind.temperature)
