"""Rules of tasks: every figure has its source, one's own win, and what is wrong with them is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundglow.errors import FileError, InputError
from groundglow.kit.rules import FLYING, TASK, flying_rules, task_rules
from groundglow.steps.plan.pairs import pairs


def test_every_rule_of_flying_is_shipped_with_its_source() -> None:
    """All that are known, in their range."""
    found = flying_rules()
    assert found.keys() == FLYING.keys()
    for name, figure in found.items():
        assert figure.source
        assert FLYING[name].low <= float(figure.value) <= FLYING[name].high


def test_every_ready_made_pair_has_rules_with_their_source() -> None:
    """A file a task."""
    for name in pairs():
        found = task_rules(name)
        assert found
        assert found.keys() <= TASK.keys()
        assert all(figure.source for figure in found.values())
    assert task_rules("nothing-of-the-sort") == {}


def test_own_rules_of_flying_change_what_they_name(tmp_path: Path) -> None:
    """The rest stays."""
    (tmp_path / "flying.toml").write_text('[rules]\nslope = { value = 0.1, unit = "", source = "our handbook" }\n')
    found = flying_rules(tmp_path)
    assert (found["slope"].value, found["slope"].source) == (0.1, "our handbook")
    assert {n: f for n, f in found.items() if n != "slope"} == {n: f for n, f in flying_rules().items() if n != "slope"}


def test_own_rules_of_a_task_are_taken_as_a_whole(tmp_path: Path) -> None:
    """A line that is left out is a rule that is dropped."""
    text = '[rules]\nmost_wind_m_s = { value = 8.0, unit = "m/s", source = "our handbook" }\n'
    (tmp_path / "hot-clamp.toml").write_text(text)
    assert {n: f.value for n, f in task_rules("hot-clamp", tmp_path).items()} == {"most_wind_m_s": 8.0}
    assert task_rules("buried-pipe", tmp_path) == task_rules("buried-pipe")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[rules]\nslop = 3\n", "did you mean 'slope'"),
        ('[rules]\nslope = { value = 0.3, unit = "%", source = "x" }\n', "unit is '%'"),
        ('[rules]\nslope = { value = 0.3, unit = "" }\n', "source is missing"),
        ('[rules]\nbank_deg = { value = 95.0, unit = "deg", source = "x" }\n', "allowed 1 to 80"),
        ("[rule]\n", "did you mean 'rules'"),
        ("rules = 3\n", "is not a table"),
    ],
)
def test_what_is_wrong_with_a_file_is_said(tmp_path: Path, text: str, said: str) -> None:
    """With the file's name."""
    (tmp_path / "flying.toml").write_text(text)
    with pytest.raises(InputError, match=r"flying\.toml") as caught:
        flying_rules(tmp_path)
    assert said in str(caught.value)


def test_no_toml_is_said(tmp_path: Path) -> None:
    """And how to write it."""
    (tmp_path / "flying.toml").write_text("slope: 3")
    with pytest.raises(FileError, match="is not TOML"):
        flying_rules(tmp_path)
