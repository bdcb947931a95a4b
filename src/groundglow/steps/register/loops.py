"""Ties checked against each other: going round three frames must lead back to the same place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from groundglow.steps.register.expected import grid_of, transfer
from groundglow.steps.register.link import Link

__all__ = ["consistent_links"]

#: A way round may miss by this share of the frame's width: ties follow the plane that most features lie in, and
#: that may be treetops in one pair and the ground in the next.
MISS_SHARE = 0.06
#: Ways round that are tried for one tie, and how many must miss before it is dropped.
MOST_WAYS, LEAST_WAYS = 4, 2

Graph = Mapping[str, Mapping[str, NDArray[np.float64]]]


def consistent_links(links: Sequence[Link], shape: tuple[int, int]) -> tuple[tuple[Link, ...], tuple[Link, ...]]:
    """Links that other links confirm or say nothing about, and those that every other way contradicts.

    Parameters
    ----------
    links : sequence of Link
    shape : tuple of int
        Rows and columns of a frame.

    Returns
    -------
    kept, dropped : tuple of Link
    """
    graph = _graph(links)
    limit = MISS_SHARE * shape[1]
    wrong = [_contradicted(link, graph, shape, limit) for link in links]
    kept = tuple(x for x, bad in zip(links, wrong, strict=True) if not bad)
    return kept, tuple(x for x, bad in zip(links, wrong, strict=True) if bad)


def _graph(links: Sequence[Link]) -> Graph:
    graph: dict[str, dict[str, NDArray[np.float64]]] = {}
    for link in links:
        matrix = np.array(link.tie.homography).reshape(3, 3)
        graph.setdefault(link.tie.a, {})[link.tie.b] = matrix
        graph.setdefault(link.tie.b, {})[link.tie.a] = np.linalg.inv(matrix)
    return graph


def _contradicted(link: Link, graph: Graph, shape: tuple[int, int], limit: float) -> bool:
    ways = 0
    for miss in _misses(link, graph, shape):
        if miss <= limit:
            return False
        ways += 1
    return ways >= LEAST_WAYS


def _misses(link: Link, graph: Graph, shape: tuple[int, int]) -> Iterator[float]:
    """How far ways round over a third frame miss, px; ways without common ground are passed over."""
    a, b = link.tie.a, link.tie.b
    places = grid_of(shape, 7)
    direct = transfer(graph[a][b], places)
    places, direct = (x[_within(direct, shape)] for x in (places, direct))
    tried = 0
    for c in graph[a]:
        if c in graph[b] and len(places):
            between = transfer(graph[a][c], places)
            seen = _within(between, shape)
            if seen.sum() >= 4 and tried < MOST_WAYS:
                tried += 1
                round_about = transfer(graph[c][b], between[seen])
                yield float(np.median(np.linalg.norm(round_about - direct[seen], axis=1)))


def _within(places: NDArray[np.float64], shape: tuple[int, int]) -> NDArray[np.bool_]:
    rows, columns = shape
    return np.asarray(np.all((places >= 0) & (places <= np.array([columns - 1, rows - 1])), axis=1))
