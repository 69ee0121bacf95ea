"""Measured water isotherms of carbons, what the models make of them, and the curve between carbons."""
