"""Write the tables of docs/seen-sizes.md: sizes that geometry predicts against boxes in real frames.

    python tools/make_seen_sizes_page.py FOLDER_OF_PEOPLE_VEHICLES [docs]

Data: HIT-UAV, Suo et al., Scientific Data 10:227 (2023), CC BY 4.0: a subset.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.model.appearance import box_in_pixels
from groundglow.model.rotation import rotation_from_yaw_pitch_roll

Array = NDArray[np.float64]

#: Length, width, height, m. A person standing: shoulders and depth of an adult (from memory); a car: a middling one
#: (from memory). Not fitted.
SIDES = {"Person": (0.5, 0.3, 1.7), "Car": (4.5, 1.8, 1.5)}
BANDS = ((60, 80), (80, 110), (110, 131))
SHAPE = (512, 640)
START, END = "<!-- tables: made by tools/make_seen_sizes_page.py -->", "<!-- end of tables -->"


@dataclass(frozen=True)
class Boxes:
    """Boxes of one category: stated height m, stated angle rad, middle and sides px, frame. Cut ones are left out."""

    height: Array
    angle: Array
    middle: Array
    sides: Array
    frame: NDArray[np.int64]

    @property
    def size(self) -> Array:
        """Square root of the area, px."""
        return np.asarray(np.sqrt(self.sides.prod(axis=1)))


def boxes(folder: Path, name: str) -> Boxes:
    """Whole boxes of a category: those that touch the picture's edge are cut and left out."""
    data = json.loads((folder / "boxes.json").read_text())
    images = {i["id"]: i for i in data["images"]}
    wanted = next(c["id"] for c in data["categories"] if c["name"] == name)
    mine = [a for a in data["annotations"] if a["category_id"] == wanted]
    box = np.array([a["bbox"] for a in mine], dtype=float)
    far = box[:, :2] + box[:, 2:]
    whole = (box[:, :2] > 1).all(axis=1) & (far < np.array(SHAPE[::-1]) - 1.0).all(axis=1)
    of = [images[a["image_id"]] for a in mine]
    height = np.array([i["altitude_m"] for i in of], dtype=float)
    angle = np.radians([i["camera_angle_deg"] for i in of])
    frame = np.array([i["id"] for i in of])
    middle = box[:, :2] + 0.5 * box[:, 2:] - 0.5  # pixel centres have whole numbers
    return Boxes(*(part[whole] for part in (height, angle, middle, box[:, 2:], frame)))


def line_of_sight(found: Boxes, focal_px: float, *, own: bool = True) -> tuple[Array, Array]:
    """Slant distance m and angle below the horizon rad: of each box's own ray, or of the camera's axis."""
    if not own:
        return found.height / np.sin(found.angle), found.angle
    rotation = rotation_from_yaw_pitch_roll(0.0, -found.angle, 0.0)
    aside = (found.middle - 0.5 * (np.array(SHAPE[::-1]) - 1.0)) / focal_px
    rays = np.column_stack([aside, np.ones(len(aside))])
    down = -np.einsum("nij,ni->nj", rotation, rays)[:, 2] / np.linalg.norm(rays, axis=1)
    return found.height / down, np.arcsin(down)


def predicted(found: Boxes, sides: tuple[float, float, float], focal_px: float, *, own: bool = True) -> Array:
    """Square root of the box's area that geometry predicts, integrated over the heading, px."""
    slant, angle = line_of_sight(found, focal_px, own=own)
    return box_in_pixels(*sides, angle, sampling=slant / focal_px)


def errors(every: dict[str, Boxes], *, own: bool = True) -> tuple[float, dict[str, Array]]:
    """The one focal length, px, that makes the median ratio of all boxes one; and each box's relative error."""
    focal_px = 1500.0
    measured = np.concatenate([found.size for found in every.values()])
    for _ in range(25):
        made = {name: predicted(found, SIDES[name], focal_px, own=own) for name, found in every.items()}
        focal_px *= float(np.median(measured / np.concatenate(list(made.values()))))
    return focal_px, {name: made[name] / found.size - 1.0 for name, found in every.items()}


def median_by_band(found: Boxes, error: Array) -> list[tuple[int, float, float]]:
    """Number, median of the error's size and median error, a height band."""
    inside = [(found.height >= low) & (found.height < high) for low, high in BANDS]
    return [(int(k.sum()), float(np.median(np.abs(error[k]))), float(np.median(error[k]))) for k in inside]


def between_and_within(found: Boxes, error: Array) -> tuple[float, float]:
    """Median departure of a frame's own median, and of a box from its frame's median (frames of three boxes on)."""
    log = np.log1p(error)
    parts = [log[found.frame == frame] for frame in np.unique(found.frame)]
    middles = [float(np.median(part)) for part in parts]
    apart = np.concatenate([part - np.median(part) for part in parts if part.size >= 3])
    return float(np.median(np.abs(middles))), float(np.median(np.abs(apart)))


def _band_table(every: dict[str, Boxes]) -> list[str]:
    head = " | ".join(f"{low} to {high - 1 if high == 131 else high - 10} m" for low, high in BANDS)
    lines = [f"| | line of sight | focal length | {head} |", "|---" * (3 + len(BANDS)) + "|"]
    for own in (True, False):
        focal_px, error = errors(every, own=own)
        for name, found in every.items():
            cells = (f"{size:.0%} ({bias:+.0%}, n = {n})" for n, size, bias in median_by_band(found, error[name]))
            sight = "each box's own" if own else "the camera's axis for all"
            lines.append(f"| {name.lower()} | {sight} | {focal_px:.0f} px | {' | '.join(cells)} |")
    return lines


def _angle_table(every: dict[str, Boxes]) -> list[str]:
    _, error = errors(every)
    angles = range(30, 100, 10)
    lines = ["| | " + " | ".join(f"{a}°" for a in angles) + " |", "|---" * (1 + len(angles)) + "|"]
    for name, found in every.items():
        here = [np.isclose(found.angle, np.radians(a)) for a in angles]
        cells = (f"{np.median(error[name][k]):+.0%} (n = {k.sum()})" for k in here)
        lines.append(f"| {name.lower()} | " + " | ".join(cells) + " |")
    lines += ["", "| | frames against each other | boxes within a frame |", "|---|---|---|"]
    for name, found in every.items():
        between, within = between_and_within(found, error[name])
        lines.append(f"| {name.lower()} | {between:.0%} | {within:.0%} |")
    return lines


def tables(folder: Path) -> str:
    """The page's tables, Markdown."""
    every = {name: boxes(folder, name) for name in SIDES}
    middle = (
        "\n\nMedian error (sign kept) by the camera's angle below the horizon, and how far errors go with the frame:\n"
    )
    return "\n".join(_band_table(every)) + middle + "\n" + "\n".join(_angle_table(every))


def with_tables(page: str, folder: Path) -> str:
    """The page with its tables made anew."""
    before, rest = page.split(START)
    return f"{before}{START}\n\n{tables(folder)}\n\n{END}{rest.split(END)[1]}"


def main(folder: str, docs: str = "docs") -> None:
    """Rewrite the page."""
    page = Path(docs) / "seen-sizes.md"
    page.write_text(with_tables(page.read_text(encoding="utf-8"), Path(folder)), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
