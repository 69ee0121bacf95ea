"""Statements of published abstracts about breakthrough, held against the library's chain."""
