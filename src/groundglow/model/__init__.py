"""What physics says: pure functions on arrays, SI units, no clock, no files but the package's own data."""
