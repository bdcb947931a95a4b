"""Levels of frames by sparse, robust least squares over the level differences of ties."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import csgraph, linalg

from groundglow.records.tie import Level, Tie

__all__ = ["Levelled", "centred", "solve_levels"]

#: Rounds of reweighting; residuals beyond so many standard deviations lose weight.
ROUNDS, LIMIT = 15, 4.0
#: Random draws for the standard uncertainties: 4 % of themselves.
DRAWS = 300
#: Share of a typical frame's weight that holds the mean of a group in place while solving.
ANCHOR = 1e-12


@dataclass(frozen=True)
class Levelled:
    """Levels in the order of the frames, the number of the group each belongs to, and notes in words."""

    levels: tuple[Level, ...]
    groups: NDArray[np.intp]
    notes: tuple[str, ...]


def solve_levels(
    frames: Sequence[str], ties: Sequence[Tie], *, weights: Mapping[tuple[str, str], float] | None = None
) -> Levelled:
    """Offsets that make overlapping frames agree; their mean is zero in each group of connected frames.

    Parameters
    ----------
    frames : sequence of str
        All frames, tied or not.
    ties : sequence of Tie
        Held-out ties are left aside here.
    weights : mapping of (a, b) to float, optional
        Weight of a tie besides its own uncertainty, for ties that share errors; 1 where not given.

    Returns
    -------
    Levelled
        A frame without ties has offset 0, ``tied`` False and the spread of all levels as its uncertainty.

    Notes
    -----
    Minimises the sum of w (difference - (level a - level b))^2 / v, with Huber weights beyond four standard
    deviations. v is the mean square disagreement of all ties, or the tie's own variance where that is larger: what
    one number a frame leaves of a difference is mostly change across the frame, which a long overlap shares with
    a short one.
    Work grows with the number of ties. Standard uncertainties come from the factorised normal matrix by drawing
    errors of the ties from a fixed seed; they are those of a level against the mean of its group.

    Examples
    --------
    >>> ties = [Tie("a", "b", (1.0,) * 9, 50, 1.0, 0.5, -4.0, 0.1), Tie("b", "c", (1.0,) * 9, 50, 1.0, 0.5, 1.0, 0.1)]
    >>> [round(x.offset, 4) for x in solve_levels(["a", "b", "c"], ties).levels]
    [-2.3333, 1.6667, 0.6667]
    """
    index = {name: i for i, name in enumerate(frames)}
    used = [t for t in ties if not t.held_out]
    groups = _groups(index, used)
    if not used:
        return Levelled(tuple(Level(n, 0.0, 0.0, tied=False) for n in frames), groups, _notes(frames, groups))
    extra = np.array([(weights or {}).get((t.a, t.b), 1.0) for t in used])
    offsets, sd = _solve(_incidence(index, used), used, extra, groups)
    return Levelled(_levels(frames, offsets, sd, groups), groups, _notes(frames, groups))


def _incidence(index: Mapping[str, int], ties: Sequence[Tie]) -> sparse.csr_matrix:
    rows = np.tile(np.arange(len(ties)), 2)
    columns = np.array([index[t.a] for t in ties] + [index[t.b] for t in ties])
    signs = np.repeat([1.0, -1.0], len(ties))
    return sparse.csr_matrix((signs, (rows, columns)), shape=(len(ties), len(index)))


def _groups(index: Mapping[str, int], ties: Sequence[Tie]) -> NDArray[np.intp]:
    """Number of the connected group of each frame."""
    pairs = (np.array([index[t.a] for t in ties], dtype=int), np.array([index[t.b] for t in ties], dtype=int))
    graph = sparse.csr_matrix((np.ones(len(ties)), pairs), shape=(len(index), len(index)))
    return np.asarray(csgraph.connected_components(graph, directed=False)[1], dtype=np.intp)


def _solve(
    rows: sparse.csr_matrix, ties: Sequence[Tie], extra: NDArray[np.float64], groups: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Offsets and their standard uncertainties."""
    observed = np.array([t.level_difference for t in ties])
    own = np.array([t.level_difference_sd for t in ties]) ** 2
    free = max(len(ties) - len(groups) + int(groups.max()) + 1, 1)
    variance, robust = np.maximum(own, np.median(own) + np.finfo(float).tiny), np.ones(len(ties))
    for _ in range(ROUNDS):
        weights = extra * robust / variance
        solver = _factor(rows, weights)
        offsets = centred(solver.solve(rows.T @ (weights * observed)), groups)
        residuals = observed - rows @ offsets
        variance = np.maximum(own, _mean_square(residuals, extra) * len(ties) / free)
        robust = np.minimum(1.0, LIMIT / np.maximum(np.abs(residuals) / np.sqrt(variance), 1e-12))
    drawn = np.random.default_rng(1).standard_normal((len(ties), DRAWS)) * np.sqrt(weights)[:, None]
    errors = centred(solver.solve(rows.T @ drawn), groups)
    return offsets, np.sqrt(np.mean(errors**2, axis=1))


def _mean_square(residuals: NDArray[np.float64], extra: NDArray[np.float64]) -> float:
    """Mean square of the residuals of ties of full weight, those beyond the limit counted as at the limit."""
    square = residuals[extra >= 1.0] ** 2 if np.any(extra >= 1.0) else residuals**2
    limit = LIMIT**2 * 2.2 * float(np.median(square))
    return float(np.mean(np.minimum(square, limit))) + float(np.finfo(float).tiny)


def _factor(rows: sparse.csr_matrix, weights: NDArray[np.float64]) -> linalg.SuperLU:
    normal = rows.T @ sparse.diags(weights) @ rows
    anchor = ANCHOR * float(normal.diagonal().mean())
    return linalg.splu((normal + anchor * sparse.identity(rows.shape[1])).tocsc())


def centred(values: NDArray[np.float64], groups: NDArray[np.intp]) -> NDArray[np.float64]:
    """Values (frames,) or (frames, draws) less the mean of their group."""
    count = np.bincount(groups)
    columns = values.reshape(len(values), -1)
    means = np.stack([np.bincount(groups, weights=c) / count for c in columns.T], axis=1)
    return np.asarray((columns - means[groups]).reshape(values.shape))


def _levels(
    frames: Sequence[str], offsets: NDArray[np.float64], sd: NDArray[np.float64], groups: NDArray[np.intp]
) -> tuple[Level, ...]:
    """Frames off the largest group also carry the spread of levels: nothing ties them to it."""
    count = np.bincount(groups)
    tied = count[groups] > 1
    spread = float(np.std(offsets[tied])) if tied.any() else 0.0
    apart = np.where(groups == np.argmax(count), 0.0, spread)
    total = np.hypot(sd, apart)
    return tuple(
        Level(name, float(o), float(s), tied=bool(t))
        for name, o, s, t in zip(frames, np.where(tied, offsets, 0.0), total, tied, strict=True)
    )


def _notes(frames: Sequence[str], groups: NDArray[np.intp]) -> tuple[str, ...]:
    count = np.bincount(groups, minlength=1)
    alone = [name for name, group in zip(frames, groups, strict=True) if count[group] == 1]
    several = sorted((int(n) for n in count if n > 1), reverse=True)
    notes = []
    if alone:
        notes.append(f"Not tied to any other frame, level unknown: {', '.join(alone)}.")
    if len(several) > 1:
        sizes = ", ".join(str(n) for n in several)
        notes.append(f"Frames fall into {len(several)} groups that no tie joins ({sizes} frames): each has mean 0.")
    return tuple(notes)
