"""Pictures of findings: departure from the surroundings, with ring, scale bar and legend in its unit."""

from __future__ import annotations

import io
from dataclasses import dataclass

import cmap
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from groundglow.paper.drawing import round_down

__all__ = ["PictureStyle", "departure_picture"]

#: A diverging map, symmetric in lightness about its middle; values around the background stay pale.
DEPARTURE_MAP = "crameri:vik"
INK = (32, 36, 40)
PAPER = (255, 255, 255)


@dataclass(frozen=True)
class PictureStyle:
    """Size and contents of a finding's picture.

    ``margin`` is the least number of pixels shown around the finding; ``width`` of the picture in dots.
    """

    margin: int = 40
    width: int = 560
    legend: int = 64


def departure_picture(
    values: NDArray[np.float32],
    box: tuple[int, int, int, int],
    background: float,
    *,
    unit: str,
    number: int,
    metres_a_pixel: float | None,
    style: PictureStyle = PictureStyle(),
) -> bytes:
    """PNG of the surroundings of one finding, coloured by departure from its background.

    Parameters
    ----------
    values : ndarray, shape (rows, columns)
        Of the frame, K or counts.
    box : tuple of int
        Left, top, right, bottom of the finding, px.
    background : float
        What departure is counted from; drawn pale.
    unit : str
        ``K`` or ``counts``, for the legend.
    number : int
        Written beside the ring.
    metres_a_pixel : float or None
        Ground sampling distance for the scale bar; without it the bar counts pixels.
    """
    left, top, right, bottom = _window(values.shape, box, style.margin)
    part = values[top:bottom, left:right] - np.float32(background)
    span = _span(part, values[box[1] : box[3], box[0] : box[2]] - np.float32(background))
    zoom = max(1, round(style.width / part.shape[1]))
    picture = Image.fromarray(_coloured(part, span)).resize(
        (part.shape[1] * zoom, part.shape[0] * zoom), Image.Resampling.NEAREST
    )
    whole = Image.new("RGB", (picture.width + style.legend, picture.height), PAPER)
    whole.paste(picture, (0, 0))
    pen = ImageDraw.Draw(whole)
    _ring(pen, [(v - o) * zoom for v, o in zip(box, (left, top, left, top), strict=True)], number, picture.size)
    _scale_bar(pen, picture.size, zoom, metres_a_pixel)
    _legend(whole, pen, picture.width, span, unit)
    stream = io.BytesIO()
    whole.save(stream, "PNG")
    return stream.getvalue()


def _window(shape: tuple[int, ...], box: tuple[int, int, int, int], margin: int) -> tuple[int, int, int, int]:
    """Part of the frame to show, near 4 : 3, wholly inside the frame."""
    rows, columns = shape
    half = max((box[2] - box[0]) / 2 + margin, (box[3] - box[1]) / 2 * 4 / 3 + margin)
    wide, high = min(int(2 * half), columns), min(int(1.5 * half), rows)
    left = int(np.clip((box[0] + box[2]) / 2 - wide / 2, 0, columns - wide))
    top = int(np.clip((box[1] + box[3]) / 2 - high / 2, 0, rows - high))
    return left, top, left + wide, top + high


def _span(part: NDArray[np.float32], core: NDArray[np.float32]) -> float:
    """Half range of the colours: holds the finding and most of its surroundings."""
    around = float(np.nanpercentile(np.abs(part), 95))
    inner = float(np.nanmax(np.abs(core))) if core.size and np.isfinite(core).any() else 0.0
    return max(inner, 0.6 * around, 1e-3)


def _coloured(part: NDArray[np.float32], span: float) -> NDArray[np.uint8]:
    share = np.clip(np.nan_to_num(part / span, nan=0.0) / 2 + 0.5, 0, 1)
    table = np.asarray(cmap.Colormap(DEPARTURE_MAP).lut(256)[:, :3] * 255, dtype=np.uint8)
    return np.asarray(table[(share * 255).astype(np.uint8)])


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _ring(pen: ImageDraw.ImageDraw, box: list[int], number: int, size: tuple[int, int]) -> None:
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    radius = min(max(box[2] - box[0], box[3] - box[1]) / 2 + 14, min(size) / 2 - 3)
    corners = [middle[0] - radius, middle[1] - radius, middle[0] + radius, middle[1] + radius]
    pen.ellipse(corners, outline=PAPER, width=5)
    pen.ellipse(corners, outline=INK, width=2)
    at = (min(middle[0] + 0.72 * radius, size[0] - 30), max(middle[1] - 0.72 * radius - 24, 2))
    pen.text(at, str(number), fill=INK, font=_font(22), stroke_width=3, stroke_fill=PAPER)


def _scale_bar(pen: ImageDraw.ImageDraw, size: tuple[int, int], zoom: int, metres: float | None) -> None:
    each = metres if metres else 1.0
    room = size[0] / zoom * each / 3
    length = round_down(room)
    dots = int(length / each * zoom)
    text = f"{length:g} m" if metres else f"{length:g} px"
    y = size[1] - 14
    pen.rectangle([10, y - 24, 26 + dots, y + 9], fill=PAPER)
    pen.line([18, y, 18 + dots, y], fill=INK, width=3)
    pen.text((18, y - 22), text, fill=INK, font=_font(15))


def _legend(whole: Image.Image, pen: ImageDraw.ImageDraw, left: int, span: float, unit: str) -> None:
    height = whole.height - 60
    ramp = np.linspace(1, -1, height, dtype=np.float32)[:, None] * np.ones((1, 14), dtype=np.float32)
    whole.paste(Image.fromarray(_coloured(ramp, 1.0)), (left + 8, 36))
    pen.rectangle([left + 7, 35, left + 22, 36 + height], outline=INK)
    pen.text((left + 6, 6), unit, fill=INK, font=_font(16))
    for share in (1.0, 0.5, 0.0, -0.5, -1.0):
        y = 36 + (1 - share) / 2 * (height - 1)
        pen.line([left + 22, y, left + 26, y], fill=INK)
        text = f"{share * span:+.2g}" if share else "0"
        pen.text((left + 28, y - 8), text, fill=INK, font=_font(13))
