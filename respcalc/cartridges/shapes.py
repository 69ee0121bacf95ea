"""From what a ruler and a sieve tell to a face area and a granule: round, annular, sieved."""

from __future__ import annotations

import math
import re

from respcalc.core.errors import CartridgeError
from respcalc.core.units import read_value

__all__ = ["annular_bed", "round_face", "sieved_diameter"]

# Openings [mm] of test sieves by mesh number: ASTM E11 / ISO 3310-1, from memory
_OPENINGS = {
    4: 4.75, 5: 4.00, 6: 3.35, 7: 2.80, 8: 2.36, 10: 2.00, 12: 1.70, 14: 1.40, 16: 1.18, 18: 1.00, 20: 0.850,
    25: 0.710, 30: 0.600, 35: 0.500, 40: 0.425, 45: 0.355, 50: 0.300, 60: 0.250, 70: 0.212, 80: 0.180, 100: 0.150,
}  # fmt: skip
_MESH = re.compile(r"(\d+)\s*[x×/]\s*(\d+)(?:\s*mesh)?")


def round_face(diameter: float, half_width: float = 0.0) -> tuple[float, float, float]:
    """Face area [m2] of a round bed: as measured, least and most within the tolerance."""
    low, high = diameter - half_width, diameter + half_width
    return tuple(math.pi / 4 * d * d for d in (diameter, low, high))  # type: ignore[return-value]


def annular_bed(inner: float, outer: float, height: float) -> tuple[float, float]:
    """Face area [m2] and depth [m] that stand for a ring of carbon with the flow across it.

    The velocity falls from the inner face to the outer one, and a rate coefficient rises with it less than in
    proportion: taking the outer face everywhere gives the ring no more transfer units than it has (shown in the
    tests), at the same carbon.

    Raises
    ------
    CartridgeError
        The outer diameter is not above the inner one.
    """
    if not outer > inner > 0 or not height > 0:
        raise CartridgeError(
            f"inner_diameter = {1e3 * inner:g} mm, outer_diameter = {1e3 * outer:g} mm, bed_height = {1e3 * height:g} "
            "mm: a ring needs an outer diameter above the inner one, and a height above 0"
        )
    area = math.pi * outer * height
    volume = math.pi / 4 * (outer * outer - inner * inner) * height
    return area, volume / area


def sieved_diameter(fraction: str) -> tuple[float, float]:
    """Mean granule diameter [m] of a sieve fraction, and its tolerance.

    Parameters
    ----------
    fraction
        Two mesh numbers of ASTM E11 (``"12x20"``) or two openings (``"0.85 mm to 1.70 mm"``).

    Returns
    -------
    tuple
        The middle of the fraction, and a quarter of its width: where in it the mean lies is not told by the
        sieves (common practice, no source).

    Raises
    ------
    CartridgeError
        It cannot be read, or is no fraction.
    """
    text = str(fraction).strip()
    if match := _MESH.fullmatch(text):
        unknown = [n for n in match.groups() if int(n) not in _OPENINGS]
        if unknown:
            raise CartridgeError(
                f"sieve = {text!r}: {', '.join(unknown)} is no mesh number known here "
                f'({", ".join(map(str, _OPENINGS))}); give the openings, such as sieve="0.85 mm to 1.70 mm"'
            )
        ends = [_OPENINGS[int(n)] * 1e-3 for n in match.groups()]
    else:
        parts = re.split(r"\s+to\s+", text)
        try:
            if len(parts) != 2:
                raise ValueError
            ends = [float(read_value("sieve", "length", part)) for part in parts]
        except ValueError:
            raise CartridgeError(
                f'sieve = {text!r}: write two mesh numbers, sieve="12x20", or two openings, sieve="0.85 mm to 1.70 mm"'
            ) from None
    low, high = min(ends), max(ends)
    if not high > low > 0:
        raise CartridgeError(f"sieve = {text!r}: a fraction lies between two different openings above 0")
    return 0.5 * (low + high), 0.25 * (high - low)
