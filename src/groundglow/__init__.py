"""Groundglow: aerial thermography from the client's brief to a defensible report."""

__version__ = "0.1.0"
__all__ = ["__version__"]
