"""The page on measuring shows what the model gives now, and its claims hold."""

from __future__ import annotations

import importlib.util
import re
import struct
import sys
from pathlib import Path

import pytest

from groundglow.model.surface import materials

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "measuring.md"


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("measuring_maker", ROOT / "tools" / "make_measuring_figures.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_tables_on_the_page_are_those_the_model_makes(maker) -> None:
    """After a change of the model run tools/make_measuring_figures.py."""
    page = PAGE.read_text(encoding="utf-8")
    assert maker.with_tables(page) == page


def test_each_figure_of_the_page_is_there_and_one_that_is_made(maker) -> None:
    named = set(re.findall(r"figures/(measuring-[a-z]+\.png)", PAGE.read_text(encoding="utf-8")))
    assert named == set(maker.FIGURES)
    for name in named:
        head = (ROOT / "docs" / "figures" / name).read_bytes()[:24]
        assert head[1:4] == b"PNG"
        assert struct.unpack(">II", head[16:24]) > (800, 400)


def test_bare_metal_lies_below_0_3_as_the_page_says() -> None:
    bare = [m.emissivity for m in materials().values() if m.group == "bare metal"]
    assert bare
    assert max(bare) <= 0.3
