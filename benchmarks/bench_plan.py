"""How long a plan takes against rasterising every planned footprint once; and how it grows with the frames.

    python benchmarks/bench_plan.py

The floor: each planned footprint filled once, convex, by OpenCV into a mask of the size of its box and added to a count
at the spacing of points of the proof. A 200-hectare site over a 5 m height raster.
"""

import time

import cv2
import numpy as np
import shapely

from groundglow.kit.fleet import catalogue
from groundglow.records.kit import Combination
from groundglow.records.log import Origin
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.ground import Ground
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.proof import frame_poses


def question(side):
    """A square with a hole over waves of 15 m; sides in m."""
    fleet = catalogue()
    camera = fleet.cameras["demo-640"]
    x, y = np.arange(-300.0, side + 300.0, 5.0), np.arange(side + 300.0, -300.0, -5.0)
    heights = 300.0 + 15.0 * np.sin(x[None] / 150.0) * np.cos(y[:, None] / 110.0)
    site = shapely.difference(
        shapely.box(0, 0, side, side), shapely.box(0.4 * side, 0.4 * side, 0.5 * side, 0.5 * side)
    )
    return PlanAsk("bench", "area", site, Origin(8.0, 47.0, 300.0), Combination(camera, camera.lenses[0],
                   fleet.aircraft["demo-quad-work"]), Ground(heights, (-300.0, side + 300.0), (5.0, -5.0)),
                   {f"home {i}": (i % 2 * side * 0.9, i // 2 * side * 0.9) for i in range(4)},
                   sampling=0.0554)  # fmt: skip


def floor(ask, plan):
    """Seconds to rasterise every footprint once."""
    places, angles = frame_poses(plan.lines)
    across, along = footprint_sides(ask.kit, plan.height)
    cell = plan.proof.cell
    half = np.array([(-across, -along), (across, -along), (across, along), (-across, along)]) / 2
    s, c = np.sin(angles[:, 0])[:, None], np.cos(angles[:, 0])[:, None]
    x = places[:, :1] + half[:, 0] * c + half[:, 1] * s
    y = places[:, 1:2] - half[:, 0] * s + half[:, 1] * c
    corners = np.stack([x, y], axis=2)
    corners = np.round((corners - corners.min(axis=(0, 1))) / cell).astype(np.int32)
    counts = np.zeros(tuple(corners.max(axis=(0, 1))[::-1] + 1), np.int32)
    begun = time.process_time()
    for one in corners:
        (left, top), (right, bottom) = one.min(axis=0), one.max(axis=0)
        mask = np.zeros((bottom - top + 1, right - left + 1), np.uint8)
        cv2.fillConvexPoly(mask, one - (left, top), 1)
        counts[top : bottom + 1, left : right + 1] += mask
    return time.process_time() - begun


def main():
    """Print figures and ratios."""
    cv2.setNumThreads(1)
    plan_of(question(150.0))  # compiled once
    found = []
    for hectares in (25, 50, 100, 200):
        ask = question((hectares * 1e4) ** 0.5)
        begun = time.process_time()
        plan = plan_of(ask)
        took = time.process_time() - begun
        least = min(floor(ask, plan) for _ in range(3))
        found.append((plan.frames, took))
        print(f"{hectares:4d} ha {plan.frames:6d} frames {len(plan.lines):4d} lines {len(plan.sorties):3d} sorties: "
              f"{took:6.2f} s, every footprint once {least:6.2f} s, ratio {took / least:.2f} (allowed 5)")  # fmt: skip
    (n0, t0), (n1, t1) = found[1], found[-1]
    print(f"growth: {n1 / n0:.2f} x the frames take {t1 / t0:.2f} x the time (linear or less: <= {n1 / n0:.2f})")


if __name__ == "__main__":
    main()
