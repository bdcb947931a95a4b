"""From the stored numbers of a frame to band radiance at the sensor, and back."""

from groundglow.frames.radiometry.calibration import counts_to_radiance, radiance_to_counts
from groundglow.frames.radiometry.signal import RADIANCE, Signal, to_signal

__all__ = ["RADIANCE", "Signal", "counts_to_radiance", "radiance_to_counts", "to_signal"]
