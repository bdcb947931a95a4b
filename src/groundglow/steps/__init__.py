"""One folder a step; no step imports another."""
