"""Large-scale pattern, levels and slopes of all frames at once, by sparse least squares over overlaps.

Where frames a and b show the same ground, a - b = pattern at the place in a - pattern at the place in b
+ level of a - level of b (+ slopes). The scene drops out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import linalg

from groundglow.steps.register.link import Link
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["LargeScale", "polynomials", "solve_large_scale", "tie_names", "unit_places"]

#: Rounds of reweighting, and residuals (in robust deviations) at which the weight of a cell is halved.
ROUNDS, HALF_WEIGHT = 8, 2.0
#: Of longer flights every second, third, ... cell of each tie is taken, so that memory stays bounded.
MOST_CELLS = 500_000
#: What is held against a level, a slope and the pattern, as a share of the cells of a typical frame that say zero.
#: It settles what overlaps cannot tell: a ramp of levels along a line from a slope of the pattern.
LEVEL_PRIOR, SLOPE_PRIOR, PATTERN_PRIOR = 1e-4, 1e-2, 1e-3
#: The same, small enough to show what overlaps tell by themselves.
NEXT_TO_NOTHING = 1e-4


@dataclass(frozen=True)
class LargeScale:
    """What the cells of all overlaps say together.

    Parameters
    ----------
    coefficients : ndarray, shape (k,)
        Of the pattern (see `polynomials`).
    levels : ndarray, shape (frames,)
    slopes : ndarray, shape (frames, 2)
        Change of level over half the width and half the height; zeros when they were not asked for.
    level_errors : ndarray, shape (frames, m)
        Errors of the levels that come with errors of the pattern: their covariance is this times its transpose.
    """

    coefficients: NDArray[np.float64]
    levels: NDArray[np.float64]
    slopes: NDArray[np.float64]
    level_errors: NDArray[np.float64]


def unit_places(places: NDArray[np.floating], shape: tuple[int, int]) -> NDArray[np.float64]:
    """Places (n, 2) in px as shares of half width and half height from the middle: -1..1 over the frame.

    Examples
    --------
    >>> unit_places(np.array([[319.5, 255.5], [639.5, -0.5]]), (512, 640))
    array([[ 0.,  0.],
           [ 1., -1.]])
    """
    rows, columns = shape
    return np.asarray((places - np.array([columns - 1, rows - 1]) / 2) / (np.array([columns, rows]) / 2))


def polynomials(places: NDArray[np.float64], degree: int) -> NDArray[np.float64]:
    """Products of Legendre polynomials of total degree 1 to ``degree`` at unit places (n, 2), shape (n, k)."""
    table = legendre.legvander2d(places[:, 0], places[:, 1], [degree, degree])
    kept = [i * (degree + 1) + j for i in range(degree + 1) for j in range(degree + 1) if 0 < i + j <= degree]
    return np.asarray(table[:, kept])


def solve_large_scale(
    links: Sequence[Link], index: Mapping[str, int], shape: tuple[int, int], settings: RegisterSettings
) -> LargeScale:
    """Pattern, levels and slopes that make overlaps agree best, robust against what differs by relief.

    Parameters
    ----------
    links : sequence of Link
        Those that take part.
    index : mapping of str to int
        Number of each frame.
    shape : tuple of int
        Of a frame.
    settings : RegisterSettings

    Returns
    -------
    LargeScale
        Levels and slopes are relative to the pattern that was found with them.

    Notes
    -----
    Iteratively reweighted least squares with Cauchy weights. The normal matrix of levels and slopes is sparse; the
    few coefficients of the pattern are eliminated by its Schur complement: work grows with the number of frames.
    Cells of one tie share trees, roofs and changes of the camera, so the covariance of the pattern is the
    sandwich estimate with each tie as one cluster. Lines flown one way only cannot tell a slope of the pattern from
    a ramp of levels: the levels are kept small, and their uncertainty says so.

    References
    ----------
    Liang and Zeger, Longitudinal data analysis using generalized linear models, Biometrika 73 (1986), for the
    clustered covariance.
    """
    frames = len(index)
    if not links:
        count = polynomials(np.zeros((1, 2)), settings.pattern_degree).shape[1]
        return LargeScale(np.zeros(count), np.zeros(frames), np.zeros((frames, 2)), np.zeros((frames, count)))
    system = _System(links, index, shape, settings)
    solution = system.solve(system.weights)
    for _ in range(ROUNDS):
        weights = system.robust_weights(solution)
        solution = system.solve(weights)
    slopes = solution.frames[frames:].reshape(2, frames).T if settings.slopes else np.zeros((frames, 2))
    errors = system.level_errors(solution, weights, frames)
    return LargeScale(solution.pattern, solution.frames[:frames], slopes, errors)


@dataclass(frozen=True)
class _Solution:
    """The frames' part, the pattern's, how the one is pulled by the other, and the pattern's reduced matrix."""

    frames: NDArray[np.float64]
    pattern: NDArray[np.float64]
    pulled: NDArray[np.float64]
    reduced: NDArray[np.float64]


class _System:
    """Observations of all cells: ``frame_rows @ frame_part + pattern_rows @ pattern = observed``."""

    def __init__(
        self, links: Sequence[Link], index: Mapping[str, int], shape: tuple[int, int], settings: RegisterSettings
    ) -> None:
        step = -(-sum(len(x.cells) for x in links) // MOST_CELLS)
        chosen = [x.cells[::step] for x in links]
        cells, counts = np.concatenate(chosen).astype(np.float64), [len(x) for x in chosen]
        a, b = (np.repeat([index[n] for n in names], counts) for names in tie_names(links))
        here, there = unit_places(cells[:, :2], shape), unit_places(cells[:, 2:4], shape)
        self.observed = cells[:, 4]
        self.starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
        crossing = np.repeat([settings.crossing_weight if x.crossing else 1.0 for x in links], counts)
        self.weights = cells[:, 5] * crossing
        self.pattern_rows = polynomials(here, settings.pattern_degree) - polynomials(there, settings.pattern_degree)
        columns = [np.ones((len(cells), 2))]
        if settings.slopes:
            columns += [np.column_stack([here[:, k], there[:, k]]) for k in (0, 1)]
        self.frame_rows = sparse.hstack([_differences(c, a, b, len(index)) for c in columns]).tocsr()
        self.prior = self._prior(len(index), settings)

    def _prior(self, frames: int, settings: RegisterSettings) -> tuple[NDArray[np.float64], float]:
        typical = self.weights.sum() / frames
        shares = [np.full(frames, LEVEL_PRIOR)] + [np.full(frames, SLOPE_PRIOR)] * (2 if settings.slopes else 0)
        return typical * np.concatenate(shares), typical * PATTERN_PRIOR

    def solve(self, weights: NDArray[np.float64], prior: float = 1.0) -> _Solution:
        """Least squares with given weights, and what is held against frames and pattern times ``prior``."""
        weighted = self.frame_rows.multiply(weights[:, None]).T.tocsr()
        frames = linalg.splu((weighted @ self.frame_rows + sparse.diags(prior * self.prior[0])).tocsc())
        mixed = weighted @ self.pattern_rows
        pulled, direct = frames.solve(mixed), frames.solve(weighted @ self.observed)
        held = prior * self.prior[1] * np.eye(mixed.shape[1])
        own = (self.pattern_rows.T * weights) @ self.pattern_rows + held
        reduced = own - mixed.T @ pulled
        pattern = np.linalg.solve(reduced, self.pattern_rows.T @ (weights * self.observed) - mixed.T @ direct)
        return _Solution(direct - pulled @ pattern, pattern, pulled, reduced)

    def residuals(self, solution: _Solution) -> NDArray[np.float64]:
        """What the solution leaves of each cell."""
        return np.asarray(self.observed - self.frame_rows @ solution.frames - self.pattern_rows @ solution.pattern)

    def robust_weights(self, solution: _Solution) -> NDArray[np.float64]:
        """Weights against cells that a solution leaves far off."""
        residuals = self.residuals(solution)
        spread = 1.4826 * float(np.median(np.abs(residuals)))
        scale = HALF_WEIGHT * max(spread, float(np.finfo(float).tiny))
        return np.asarray(self.weights / (1.0 + (residuals / scale) ** 2))

    def level_errors(self, solution: _Solution, weights: NDArray[np.float64], frames: int) -> NDArray[np.float64]:
        """Errors of levels that come with the pattern, shape (frames, m): scatter with each tie as one cluster, and
        what the overlaps leave open, which may be as large as the pattern, but no larger than the levels."""
        own = self.pattern_rows - self.frame_rows @ solution.pulled
        scores = np.add.reduceat(own * (weights * self.residuals(solution))[:, None], self.starts)
        scatter = np.linalg.solve(solution.reduced, np.linalg.qr(scores).R.T)
        told = np.linalg.solve(solution.reduced, self.solve(weights, NEXT_TO_NOTHING).reduced)
        pulled = solution.pulled[:frames] - solution.pulled[:frames].mean(axis=0)
        sides, size, _ = np.linalg.svd(pulled @ (np.eye(len(told)) - told), full_matrices=False)
        most = float(np.std(solution.frames[:frames])) * np.sqrt(frames)
        left_open = sides * np.minimum(size * float(np.linalg.norm(solution.pattern)), most)
        return np.column_stack([pulled @ scatter, left_open])


def tie_names(links: Sequence[Link]) -> tuple[list[str], list[str]]:
    """Names of the first frames and of the second frames."""
    return [x.tie.a for x in links], [x.tie.b for x in links]


def _differences(
    values: NDArray[np.float64], a: NDArray[np.intp], b: NDArray[np.intp], frames: int
) -> sparse.csr_matrix:
    """Rows with the first value in column a and minus the second in column b."""
    rows = np.arange(len(a))
    entries = np.concatenate([values[:, 0], -values[:, 1]])
    places = (np.concatenate([rows, rows]), np.concatenate([a, b]))
    return sparse.csr_matrix((entries, places), shape=(len(a), frames))
