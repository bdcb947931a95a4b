"""Levels: known offsets come back, groups stay apart, uncertainties hold the truth."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from tests.steps.test_register_scene import SHAPE

from groundglow.records.tie import Tie
from groundglow.steps.register import Link, RegisterSettings
from groundglow.steps.register.large import polynomials, solve_large_scale, unit_places
from groundglow.steps.register.levels import solve_levels
from groundglow.steps.register.middle import refine_pattern

ONE = (1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0)


def _tie(a: str, b: str, difference: float, sd: float = 0.1, *, held_out: bool = False) -> Tie:
    return Tie(a, b, ONE, 50, 1.0, 0.5, difference, sd, held_out)


def _chain(levels: np.ndarray, noise: np.ndarray | None = None, steps: tuple[int, ...] = (1, 2, 3)) -> list[Tie]:
    pairs = [(i, i + s) for i in range(len(levels)) for s in steps if i + s < len(levels)]
    off = np.zeros(len(pairs)) if noise is None else noise[: len(pairs)]
    return [_tie(f"{i}", f"{j}", levels[i] - levels[j] + o) for (i, j), o in zip(pairs, off, strict=True)]


def _names(count: int) -> list[str]:
    return [f"{i}" for i in range(count)]


def test_known_levels_come_back_with_mean_zero() -> None:
    levels = np.random.default_rng(1).normal(0, 10, 30)
    found = solve_levels(_names(30), _chain(levels))
    offsets = [x.offset for x in found.levels]
    np.testing.assert_allclose(offsets, levels - levels.mean(), atol=1e-4)
    assert sum(offsets) == pytest.approx(0.0, abs=1e-9)
    assert all(x.tied for x in found.levels)
    assert found.notes == ()


def test_levels_agree_with_dense_least_squares() -> None:
    """Against NumPy's own solver where no tie is far off and all count alike."""
    rng = np.random.default_rng(2)
    ties = _chain(rng.normal(0, 10, 12), rng.normal(0, 0.5, 40))
    rows = np.array([[(t.a == n) - (t.b == n) for n in _names(12)] for t in ties], dtype=float)
    expected, *_ = np.linalg.lstsq(rows, np.array([t.level_difference for t in ties]), rcond=None)
    found = np.array([x.offset for x in solve_levels(_names(12), ties).levels])
    np.testing.assert_allclose(found, expected - expected.mean(), atol=1e-4)


def test_a_few_blunders_do_not_move_the_levels() -> None:
    rng = np.random.default_rng(3)
    levels = rng.normal(0, 10, 40)
    noise = rng.normal(0, 0.1, 200)
    noise[[5, 40, 77]] += [60.0, -80.0, 50.0]
    found = solve_levels(_names(40), _chain(levels, noise))
    off = np.array([x.offset for x in found.levels]) - (levels - levels.mean())
    assert np.abs(off).max() < 3.0
    assert np.median(np.abs(off)) < 0.5


def test_held_out_ties_have_no_say() -> None:
    levels = np.arange(10.0)
    ties = _chain(levels)
    lies = [_tie("0", "4", 1000.0, held_out=True), _tie("3", "7", -500.0, held_out=True)]
    assert solve_levels(_names(10), ties + lies).levels == solve_levels(_names(10), ties).levels


def test_two_groups_that_nothing_joins_each_have_mean_zero_and_are_noted() -> None:
    levels = np.random.default_rng(4).normal(0, 5, 12)
    ties = [t for t in _chain(levels) if (int(t.a) < 7) == (int(t.b) < 7)]
    found = solve_levels(_names(12), ties)
    offsets = np.array([x.offset for x in found.levels])
    np.testing.assert_allclose(offsets[:7], levels[:7] - levels[:7].mean(), atol=1e-4)
    np.testing.assert_allclose(offsets[7:], levels[7:] - levels[7:].mean(), atol=1e-4)
    assert any("2 groups" in n and "7, 5 frames" in n for n in found.notes)
    assert found.levels[9].standard_uncertainty > 10 * found.levels[2].standard_uncertainty


def test_a_frame_without_ties_stays_untied_and_is_named() -> None:
    found = solve_levels([*_names(10), "lost.tif"], _chain(np.arange(10.0)))
    lost = found.levels[-1]
    assert not lost.tied
    assert lost.offset == 0.0
    assert lost.standard_uncertainty == pytest.approx(np.std(np.arange(10.0)), rel=1e-3)
    assert found.notes == ("Not tied to any other frame, level unknown: lost.tif.",)


def test_without_any_tie_no_frame_is_tied() -> None:
    found = solve_levels(["a", "b"], [])
    assert not any(x.tied for x in found.levels)
    assert "a, b" in found.notes[0]


def test_uncertainty_of_two_tied_frames_is_half_that_of_their_tie() -> None:
    found = solve_levels(["a", "b"], [_tie("a", "b", 3.0, sd=0.4)])
    assert [x.standard_uncertainty for x in found.levels] == pytest.approx([0.2, 0.2], rel=0.15)


def test_uncertainties_of_levels_hold_their_errors() -> None:
    """Forty flights of forty frames with noise of known size in each tie."""
    scores = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        levels = rng.normal(0, 10, 40)
        found = solve_levels(_names(40), _chain(levels, rng.normal(0, 0.5, 200))).levels
        off = np.array([x.offset for x in found]) - (levels - levels.mean())
        scores.append(off / np.array([x.standard_uncertainty for x in found]))
    assert 0.85 < np.std(scores) < 1.15


def test_levels_are_the_same_whenever_they_are_solved() -> None:
    ties = _chain(np.arange(20.0), np.random.default_rng(1).normal(0, 1, 100))
    assert solve_levels(_names(20), ties).levels == solve_levels(_names(20), ties).levels


def test_ties_of_less_weight_give_way() -> None:
    ties = [*_chain(np.zeros(6)), _tie("0", "5", 10.0, sd=0.1)]
    full = solve_levels(_names(6), ties).levels
    light = solve_levels(_names(6), ties, weights={("0", "5"): 1e-3}).levels
    assert abs(light[0].offset - light[5].offset) < 0.2 * abs(full[0].offset - full[5].offset)


COEFFICIENTS = {(2, 0): 3.0, (0, 2): 4.0, (1, 1): -2.0, (1, 0): 1.5, (0, 1): 0.0}


def _made_links(
    frames: list[tuple[float, float, int]],
    slopes: np.ndarray,
    levels: np.ndarray,
    noise: float,
    pattern: dict[tuple[int, int], float] = COEFFICIENTS,
) -> list[Link]:
    """Links between frames at places (px) turned by quarter turns, with cells that follow the model exactly."""
    rng = np.random.default_rng(7)
    grid = np.stack(np.meshgrid(np.arange(20.0, 240, 24), np.arange(20.0, 192, 24)), axis=-1).reshape(-1, 2)
    links = []
    for i, j in itertools.combinations(range(len(frames)), 2):
        world = _out(grid, frames[i])
        there = _into(world, frames[j])
        seen = np.all((there >= 0) & (there <= np.array(SHAPE[::-1]) - 1), axis=1)
        if seen.sum() >= 12:
            here, other = grid[seen], there[seen]
            value = _model(here, pattern) - _model(other, pattern) + levels[i] - levels[j]
            value += unit_places(here, SHAPE) @ slopes[i] - unit_places(other, SHAPE) @ slopes[j]
            value += rng.normal(0, noise, len(value))
            cells = np.column_stack([here, other, value, np.ones(len(value))]).astype(np.float32)
            links.append(Link(_tie(f"{i}", f"{j}", float(np.median(value))), cells, False))
    return links


def _out(places: np.ndarray, frame: tuple[float, float, int]) -> np.ndarray:
    x, y, half_turns = frame
    return (places - [119.5, 95.5]) * (-1) ** half_turns + [x, y]


def _into(world: np.ndarray, frame: tuple[float, float, int]) -> np.ndarray:
    x, y, half_turns = frame
    return (world - [x, y]) * (-1) ** half_turns + [119.5, 95.5]


def _model(places: np.ndarray, pattern: dict[tuple[int, int], float] = COEFFICIENTS) -> np.ndarray:
    """The large-scale pattern, in products of Legendre polynomials written out."""
    u, v = unit_places(places, SHAPE).T
    values = {(2, 0): (3 * u**2 - 1) / 2, (0, 2): (3 * v**2 - 1) / 2, (1, 1): u * v, (1, 0): u, (0, 1): v}
    return np.asarray(sum(c * values[k] for k, c in pattern.items()))


def _two_headings(count: int = 10) -> list[tuple[float, float, int]]:
    up = [(3.0 * np.sin(k), 38.0 * k, 0) for k in range(count)]
    return up + [(90.0 + 3 * np.cos(k), 38.0 * k + 11, 1) for k in range(count)]


def _solve(links: list[Link], frames: int, *, slopes: bool = False) -> object:
    return solve_large_scale(links, {f"{i}": i for i in range(frames)}, SHAPE, RegisterSettings(slopes=slopes))


def test_pattern_and_levels_are_told_apart_when_lines_are_flown_both_ways() -> None:
    frames = _two_headings()
    levels = np.random.default_rng(5).normal(0, 10, len(frames))
    large = _solve(_made_links(frames, np.zeros((20, 2)), levels, 0.2), 20)
    places = np.random.default_rng(6).uniform([0, 0], np.array(SHAPE[::-1]) - 1, (500, 2))
    found = polynomials(unit_places(places, SHAPE), 4) @ large.coefficients
    off = found - _model(places)
    assert np.std(off) < 0.05 * np.std(_model(places))
    assert np.std(large.levels - levels - np.mean(large.levels - levels)) < 0.3


def test_slopes_of_frames_come_back_when_asked_for() -> None:
    frames = _two_headings()
    rng = np.random.default_rng(5)
    slopes = rng.normal(0, 3, (20, 2))
    links = _made_links(frames, slopes, rng.normal(0, 10, 20), 0.2)
    large = _solve(links, 20, slopes=True)
    off = (large.slopes - large.slopes.mean(axis=0)) - (slopes - slopes.mean(axis=0))
    assert np.std(off) < 0.35 * np.std(slopes)
    assert not _solve(links, 20).slopes.any()


def test_what_one_heading_cannot_tell_is_held_by_the_doubt_of_levels() -> None:
    """A slope of the pattern along the line is a ramp of levels: unknowable from overlaps flown one way."""
    frames = [(2.0 * np.sin(k), 38.0 * k, 0) for k in range(15)]
    levels = np.random.default_rng(8).normal(0, 1, 15) + 0.6 * np.arange(15)
    one_way = _solve(_made_links(frames, np.zeros((15, 2)), levels, 0.1), 15)
    both = _solve(_made_links(_two_headings(), np.zeros((20, 2)), np.resize(levels, 20), 0.1), 20)
    doubts = [np.sqrt(np.mean(np.sum(x.level_errors**2, axis=1))) for x in (one_way, both)]
    off = one_way.levels - levels
    assert doubts[0] > 5 * doubts[1]
    assert doubts[0] > 0.3 * np.std(off - off.mean())


@pytest.mark.parametrize("step", [0.1, 1.0])
def test_doubt_of_levels_is_as_large_as_their_errors_where_all_is_flown_one_way(step: float) -> None:
    """Flights of known levels, a wandering camera and a pattern of any slope; the error is a ramp a flight."""
    frames = [(2.0 * np.sin(k), 38.0 * k, 0) for k in range(15)]
    scores = []
    for seed in range(12):
        rng = np.random.default_rng([11, seed])
        levels, pattern = np.cumsum(rng.normal(0, step, 15)), {k: rng.normal(0, 2.0) for k in COEFFICIENTS}
        large = _solve(_made_links(frames, np.zeros((15, 2)), levels, 0.2, pattern), 15)
        errors = large.level_errors - large.level_errors.mean(axis=0)
        off = large.levels - levels
        scores.append((off - off.mean()) / np.sqrt(np.sum(errors**2, axis=1)))
    assert 0.5 < np.sqrt(np.mean(np.square(scores))) < 1.5
    assert np.mean(np.abs(scores) < 1.96) > 0.85


def test_cells_over_trees_and_roofs_do_not_pull_the_pattern() -> None:
    frames = _two_headings()
    links = _made_links(frames, np.zeros((20, 2)), np.zeros(20), 0.2)
    rng = np.random.default_rng(9)
    for link in links:
        wild = rng.random(len(link.cells)) < 0.15
        link.cells[wild, 4] += rng.normal(15, 20, wild.sum()).astype(np.float32)
    places = rng.uniform([0, 0], np.array(SHAPE[::-1]) - 1, (500, 2))
    found = polynomials(unit_places(places, SHAPE), 4) @ _solve(links, 20).coefficients
    assert np.std(found - _model(places)) < 0.1 * np.std(_model(places))


def test_rings_and_streaks_are_found_on_block_means() -> None:
    shape = (48, 60)
    rng = np.random.default_rng(10)
    row, column = np.mgrid[-1:1:48j, -1:1:60j]
    ring = 3.0 * np.exp(-(((np.hypot(row, column) - 0.6) / 0.06) ** 2))
    ring -= ring.mean()
    scene = rng.normal(0, 5, (200, 200))
    scene = scene + np.roll(scene, 1, 0) + np.roll(scene, 1, 1)
    shifts = [(int(6 * k + 2 * np.sin(k)), int(20 + 9 * np.sin(1.3 * k))) for k in range(20)]
    frames = {
        f"{k}": (scene[y : y + 48, x : x + 60] + ring + rng.normal(0, 0.2, shape)).astype(np.float32)
        for k, (y, x) in enumerate(shifts)
    }
    links = []
    for i, j in ((i, i + s) for i in range(20) for s in (1, 2) if i + s < 20):
        (y0, x0), (y1, x1) = shifts[i], shifts[j]
        matrix = (1.0, 0, 4.0 * (x0 - x1), 0, 1.0, 4.0 * (y0 - y1), 0, 0, 1.0)
        links.append(Link(Tie(f"{i}", f"{j}", matrix, 50, 1.0, 0.5, 0.0, 0.1), np.zeros((6, 6), np.float32), False))
    found, error = refine_pattern(links, frames.__getitem__, shape, RegisterSettings())
    assert np.corrcoef(found.ravel(), ring.ravel())[0, 1] > 0.95
    assert error < 0.5 * ring.std()
    assert not refine_pattern([], frames.__getitem__, shape, RegisterSettings())[0].any()
