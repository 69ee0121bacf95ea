"""The outside world against respcalc: printed values, measurements, limits and independent solutions."""
