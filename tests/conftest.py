"""Hypothesis profiles: quick by default, repeatable and deeper where CI is set."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("quick", deadline=None, max_examples=25, database=None)
settings.register_profile("ci", deadline=None, max_examples=50, database=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "quick")
