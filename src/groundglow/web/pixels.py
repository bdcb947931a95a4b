"""Arrays of one frame, as a browser asks for them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from groundglow.job.plans.frames import measured_field
from groundglow.job.plans.measure import field_path
from groundglow.model.doubt import combined
from groundglow.records.field import REASON_TEXT, Field
from groundglow.steps.find.departure import local_departure
from groundglow.steps.measure.asking.setting import Setting
from groundglow.steps.measure.live import in_codes, signal_codes
from groundglow.web.binary import Named, packed
from groundglow.web.context import Context
from groundglow.web.live import FrameAt, files_of, setting_for, surfaces_of
from groundglow.web.telling import clock

__all__ = ["ARRAYS", "pixels_of"]

ARRAYS = ("value", "sd", "mask", "departure", "signal", "surface")
FROM_FIELD = ("value", "sd", "mask", "departure")


def pixels_of(here: Context, at: FrameAt, wanted: Sequence[str], *, coded: bool = False) -> bytes:
    """Header and arrays of a frame, real numbers as they are or as 16-bit codes; kept for whoever asks again."""
    files = (*files_of(at), field_path(at.job, at.flight, at.job.root / at.entry.path))
    key = ("pixels", files[0], tuple(wanted), coded)
    return here.large.get(key, files, lambda: _packed(here, at, wanted, coded=coded))


def _packed(here: Context, at: FrameAt, wanted: Sequence[str], *, coded: bool) -> bytes:
    made, entry = Pixels(here, at), at.entry
    header: dict[str, Any] = {
        "frame": entry.name, "time": clock(entry.time), "unit": made.unit(wanted), "surfaces": [],
        "mask_words": {int(r): text for r, text in REASON_TEXT.items()},
    }  # fmt: skip
    arrays = [_in_codes(made.array(name)) if coded else made.array(name) for name in wanted]
    for array in arrays:
        if array.name == "signal":
            codes = array.values[array.values > 0]
            header["codes"] = [int(codes.min()), int(codes.max())] if codes.size else [1, 1]
        if array.name == "surface":
            header |= {"surfaces": surfaces_of(made.setting), "surfaces_shown": np.unique(array.values).tolist()}
    return packed(header, arrays)


def _in_codes(array: Named) -> Named:
    """Real numbers as codes, 0 where there is none; what is whole already stays as it is."""
    if array.values.dtype.kind != "f":
        return array
    made = in_codes(array.values, np.isfinite(array.values), array.unit)
    return Named(array.name, made.codes, array.unit, f"{array.words}; 0 is none", made.scale, made.add)


class Pixels:
    """Arrays of one frame; what several need is read once."""

    def __init__(self, here: Context, at: FrameAt) -> None:
        self.here, self.at = here, at
        self._field: Field | None = None
        self._setting: Setting | None = None

    @property
    def field(self) -> Field:
        """The measured field."""
        if self._field is None:
            self._field = measured_field(self.at.job, self.at.flight, self.at.entry)
        return self._field

    @property
    def setting(self) -> Setting:
        """Setting of the frame, levelled."""
        if self._setting is None:
            self._setting = setting_for(self.here, self.at, {})
        return self._setting

    def unit(self, wanted: Sequence[str]) -> str:
        """Unit of the measured values, when any are wanted."""
        return self.field.unit if set(wanted) & set(FROM_FIELD) else ""

    def array(self, name: str) -> Named:
        """One of `ARRAYS`."""
        return {"value": self._value, "sd": self._sd, "mask": self._mask, "departure": self._departure,
                "signal": self._signal, "surface": self._surface}[name]()  # fmt: skip

    def _value(self) -> Named:
        return Named("value", self.field.value, self.field.unit, self.field.quantity.replace("_", " "))

    def _sd(self) -> Named:
        sd = np.asarray(combined(self.field.doubt), dtype=np.float32)
        return Named("sd", np.broadcast_to(sd, self.field.value.shape), self.field.unit, "standard uncertainty")

    def _mask(self) -> Named:
        return Named("mask", self.field.mask, "", "why there is no supported value; 0 is good")

    def _departure(self) -> Named:
        return Named("departure", local_departure(self.field.value), self.field.unit, "value minus local background")

    def _signal(self) -> Named:
        made = signal_codes(self.setting)
        return Named("signal", made.codes, made.unit, "apparent temperature, levelled", made.scale, made.add)

    def _surface(self) -> Named:
        shares, shape = self.setting.shares, self.setting.shape
        index = np.zeros(shape, np.uint8) if shares is None else shares.argmax(axis=0).astype(np.uint8)
        return Named("surface", index, "", "place in surfaces")
