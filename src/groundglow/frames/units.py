"""Conversions at the edge: what people write to SI."""

from __future__ import annotations

__all__ = ["ZERO_CELSIUS"]

#: K at 0 degrees Celsius (BIPM, The International System of Units, 9th edition, 2.3.1).
ZERO_CELSIUS = 273.15
