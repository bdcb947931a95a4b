"""What was recorded: readers (one small module a format), calibration, companions, writers."""
