"""The page on target size shows what the model computes, and its claims hold."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "target-size.md"


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("maker", ROOT / "tools" / "make_target_size_page.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_table_on_the_page_is_the_one_the_model_makes(maker):
    """After a change of the model run tools/make_target_size_page.py."""
    page = PAGE.read_text(encoding="utf-8")
    assert maker.with_table(page) == page


def test_claims_of_the_page_hold(maker):
    def peaks(side):
        return [maker.target_response(side, side, s, shape="rectangle").share for s in maker.LENSES.values()]

    assert min(peaks(10)) > 0.945
    assert max(peaks(10)) < 0.975
    assert 20 * (1 - max(peaks(3))) == pytest.approx(2.3, abs=0.06)
    assert 20 * (1 - min(peaks(3))) == pytest.approx(11, abs=0.5)
