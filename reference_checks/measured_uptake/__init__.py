"""Measured loadings of vapours on activated carbons, and what the capacity models make of them."""
