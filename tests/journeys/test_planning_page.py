"""The commands of docs/planning.md run as they are printed there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from .conftest import groundglow

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/planning.md").read_text("utf-8")
COMMANDS = re.findall(r"^    groundglow ((?:.*\\\n)*.*)$", PAGE, re.MULTILINE)


def test_the_page_has_commands_and_its_pictures_exist() -> None:
    """Three commands, four pictures."""
    assert len(COMMANDS) == 3
    pictures = re.findall(r"\((figures/[^)]+)\)", PAGE)
    assert len(pictures) == 4
    assert all((ROOT / "docs" / name).is_file() for name in pictures)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_printed_command_runs(command: str, tmp_path: Path) -> None:
    """With its files; what it writes goes elsewhere."""
    words = [str(ROOT / w) if w.startswith("docs/") else w for w in shlex.split(command.replace("\\\n", " "))]
    words = [str(tmp_path / "plan") if w == "plan" and words[i - 1] == "--out" else w for i, w in enumerate(words)]
    done = groundglow(*words, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
