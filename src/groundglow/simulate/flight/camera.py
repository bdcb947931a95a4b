"""The invented camera: blur, pixels, fixed pattern, drift, noise, counts."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import BandTable
from groundglow.model.sakuma_hattori import SakumaHattori, fit_sakuma_hattori

__all__ = [
    "CAMERA",
    "SUPERSAMPLING",
    "Calibration",
    "Camera",
    "blurred",
    "expose",
    "make_calibration",
    "make_pattern",
    "noise_counts",
]

#: Rays a pixel in each direction.
SUPERSAMPLING = 2
#: Optical point spread without the pixel's own size, standard deviation, px: diffraction at f/1 and 10 um (0.36)
#: and aberrations (0.26). The aircraft stops for each frame: no smear.
_OPTICS_SIGMA_PX = 0.45
_MOST_COUNTS = 16383
#: A (um), B (um K), C and D (counts) of counts = C / (exp(c2 / (A T + B)) - 1) + D.
Calibration = tuple[float, float, float, float]


@dataclass(frozen=True)
class Camera:
    """Columns, rows; pitch and focal length in m; noise at 303 K in K; counts per K at 300 K and at zero signal."""

    columns: int = 640
    rows: int = 512
    pitch: float = 12e-6
    focal_length: float = 13e-3
    noise: float = 0.05
    counts_per_kelvin: float = 45.0
    counts_offset: float = 1200.0

    @property
    def focal_px(self) -> float:
        """Focal length over pixel pitch."""
        return self.focal_length / self.pitch


CAMERA = Camera()


def _equation(calibration: Calibration) -> SakumaHattori:
    a, b, c, _ = calibration
    return SakumaHattori(a * 1e-6, b * 1e-6, c)


def noise_counts(calibration: Calibration) -> float:
    """Standard deviation of the noise, counts: the noise-equivalent temperature difference at 303 K."""
    return float(CAMERA.noise * _equation(calibration).slope(303.15))


def make_calibration(table: BandTable, camera: Camera) -> Calibration:
    """Coefficients A (um), B (um K), C and D (counts) of this camera's counts by black-body temperature."""
    kelvin = np.arange(238.15, 424.0, 3.0)
    shape = fit_sakuma_hattori(kelvin, table.radiance(kelvin))
    gain = camera.counts_per_kelvin / float(shape.slope(300.0))
    return tuple(round(x, 6) for x in (shape.a * 1e6, shape.b * 1e6, shape.c * gain, camera.counts_offset))  # type: ignore[return-value]


def make_pattern(rng: np.random.Generator, camera: Camera, *, rms: float = 0.12) -> NDArray[np.float32]:
    """Fixed pattern, K, zero mean: darker corners and slow waves, columns and rows, single pixels."""
    shape = (camera.rows, camera.columns)
    y, x = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    slow = cv2.resize(rng.standard_normal((5, 6)).astype(np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC)
    large = -0.9 * (x**2 + y**2 - 2 / 3) * rng.uniform(0.7, 1.3) + 0.45 * slow
    lines = rng.standard_normal((1, shape[1])) + 0.6 * rng.standard_normal((shape[0], 1))
    fine = 0.7 * lines + rng.standard_normal(shape)
    large = (large - large.mean()) / large.std()
    fine = (fine - fine.mean()) / fine.std()
    return np.asarray(0.9 * rms * large + 0.44 * rms * fine, dtype=np.float32)


def blurred(rays: NDArray[np.float32], margin: int) -> NDArray[np.float32]:
    """Pixel values from supersampled rays: optical blur, mean over each pixel, ``margin`` pixels cut off."""
    n = SUPERSAMPLING
    soft = cv2.GaussianBlur(rays, (0, 0), _OPTICS_SIGMA_PX * n, borderType=cv2.BORDER_REPLICATE)
    rows, columns = (size // n for size in rays.shape)
    pixels = cv2.resize(soft, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(pixels[margin : rows - margin, margin : columns - margin])


def expose(
    radiance: NDArray[np.float32],
    table: BandTable,
    calibration: Calibration,
    *,
    offset: NDArray[np.float32] | float,
    noise: NDArray[np.float32] | float,
) -> NDArray[np.uint16]:
    """14-bit counts of at-sensor radiance.

    Parameters
    ----------
    radiance : ndarray, shape (rows, columns)
        At-sensor band radiance, W m-2 sr-1.
    calibration : tuple
        As `make_calibration` gives it; also what flight.toml states.
    offset : ndarray or float
        Error of the camera in black-body temperature, K: calibration, drift and pattern.
    noise : ndarray or float
        In counts.
    """
    apparent = table.temperature(radiance.astype(np.float64)) + offset
    counts = _equation(calibration).signal(apparent) + calibration[3] + noise
    return np.clip(np.rint(counts), 0, _MOST_COUNTS).astype(np.uint16)
