"""Questions about one reading: what a frame says at a place, why it may be wrong, and short lessons from the model."""
