"""Short ways to write the tasks of these tests."""

from __future__ import annotations

import pytest

from respcalc.core.basis import Datum
from respcalc.vapours import find_vapour
from respcalc.workplace import Inhaled, choose_limits, facepiece, may_filter


def _inhaled(name, ppm, *, average=None, limits_from="strictest", own=None, authority=None, vapour=None):
    found = vapour or find_vapour(name)
    limits = choose_limits(found, limits_from=limits_from, own_limit=own, own_authority=authority)
    return Inhaled(found, ppm * 1e-6, limits, None if average is None else average * 1e-6)


def _decide(*parts, mask="half mask", oxygen=0.209, use_limit=None, pressure=None):
    return may_filter(
        parts,
        mask=facepiece(mask),
        oxygen=None if oxygen is None else Datum("oxygen", oxygen, "given"),
        use_limit=None if use_limit is None else Datum("volume_fraction", use_limit * 1e-6, "given"),
        pressure=pressure,
    )


@pytest.fixture(scope="session")
def inhaled():
    """``inhaled("toluene", 80, average=40, limits_from="OSHA PEL")``, in ppm."""
    return _inhaled


@pytest.fixture(scope="session")
def decide():
    """``decide(part, ..., mask="full facepiece", oxygen=0.209, use_limit=1000)``, the limit in ppm."""
    return _decide
