"""What follows from a formula and its groups: molar mass, diffusion volume, molar refraction, volume at boiling."""

from __future__ import annotations

import re
from collections.abc import Mapping

__all__ = [
    "ATOMIC_WEIGHTS",
    "diffusion_volume",
    "molar_mass",
    "molar_refraction",
    "parse_formula",
    "parse_groups",
    "volume_at_boiling_point",
]

# IUPAC abridged standard atomic weights, g/mol
ATOMIC_WEIGHTS: dict[str, float] = {
    "H": 1.008,
    "C": 12.011,
    "N": 14.007,
    "O": 15.999,
    "F": 18.998,
    "Si": 28.085,
    "P": 30.974,
    "S": 32.06,
    "Cl": 35.45,
    "Br": 79.904,
    "I": 126.90,
}

# Fuller's atomic diffusion volumes as restated by Poling, Prausnitz & O'Connell; from memory.
# The ring correction (-18.3) is left out on purpose: a larger volume means slower diffusion.
_DIFFUSION = {
    "C": 15.9,
    "H": 2.31,
    "O": 6.11,
    "N": 4.54,
    "F": 14.7,
    "Cl": 21.0,
    "Br": 21.9,
    "I": 29.8,
    "S": 22.9,
}

# Molar refraction at the sodium D line, cm3/mol: Eisenlohr's atomic increments, from memory.
_REFRACTION_ATOMS = {"C": 2.418, "H": 1.100, "F": 0.997, "Cl": 5.967, "Br": 8.865, "I": 13.900}
_REFRACTION_GROUPS = {
    "O hydroxyl": 1.525,
    "O ether": 1.643,
    "O carbonyl": 2.211,
    "N primary": 2.322,
    "N secondary": 2.502,
    "N tertiary": 2.840,
    "N nitrile": 3.118,
    "nitro": 6.7,
    "S thiol": 7.69,
    "S sulfide": 7.97,
    "C=C": 1.733,
    "C#C": 2.398,
}

# How many hetero-atoms one group stands for, to check groups against the formula.
_GROUP_ATOMS: dict[str, dict[str, int]] = {
    "O hydroxyl": {"O": 1},
    "O ether": {"O": 1},
    "O carbonyl": {"O": 1},
    "N primary": {"N": 1},
    "N secondary": {"N": 1},
    "N tertiary": {"N": 1},
    "N nitrile": {"N": 1},
    "nitro": {"N": 1, "O": 2},
    "S thiol": {"S": 1},
    "S sulfide": {"S": 1},
    "C=C": {},
    "C#C": {},
}

# Le Bas volumes at the normal boiling point, cm3/mol; from memory, without the ring corrections
# (all negative), so that the volume is on the large side and the density on the low side.
_LE_BAS = {
    "C": 14.8,
    "H": 3.7,
    "O": 11.0,
    "N": 15.6,
    "F": 8.7,
    "Cl": 24.6,
    "Br": 27.0,
    "I": 37.0,
    "S": 25.6,
}

_TOKEN = re.compile(r"([A-Z][a-z]?)(\d*)")


def parse_formula(formula: str) -> dict[str, int]:
    """Count the atoms of a plain formula such as ``C6H12O2``.

    Raises
    ------
    ValueError
        The text is not a plain formula of elements known here.
    """
    if not formula or _TOKEN.sub("", formula):
        raise ValueError(f"formula = {formula!r} cannot be read; write it as element symbols and counts, such as C7H8")
    counts: dict[str, int] = {}
    for symbol, count in _TOKEN.findall(formula):
        if symbol not in ATOMIC_WEIGHTS:
            known = ", ".join(ATOMIC_WEIGHTS)
            raise ValueError(f"formula = {formula!r}: {symbol!r} is not an element known here ({known})")
        counts[symbol] = counts.get(symbol, 0) + int(count or 1)
    return counts


def parse_groups(text: str) -> dict[str, int] | None:
    """Read the group list of the name table; None when the increments do not cover the molecule."""
    if text in ("", "unknown"):
        return None
    if text == "none":
        return {}
    groups: dict[str, int] = {}
    for part in text.split(";"):
        name, _, count = part.strip().rpartition(" ")
        groups[name] = int(count)
    return groups


def groups_match(elements: Mapping[str, int], groups: Mapping[str, int]) -> bool:
    """Whether the hetero-atoms in *groups* are exactly those of the formula."""
    total: dict[str, int] = {"O": 0, "N": 0, "S": 0}
    for name, count in groups.items():
        for symbol, atoms in _GROUP_ATOMS[name].items():
            total[symbol] += atoms * count
    return all(total[symbol] == elements.get(symbol, 0) for symbol in total)


def molar_mass(elements: Mapping[str, int]) -> float:
    """Molar mass in kg/mol from standard atomic weights."""
    return sum(ATOMIC_WEIGHTS[symbol] * count for symbol, count in elements.items()) * 1e-3


def diffusion_volume(elements: Mapping[str, int]) -> float | None:
    """Sum of Fuller's atomic diffusion volumes in m3/mol; None when an element has none."""
    if not elements or any(symbol not in _DIFFUSION for symbol in elements):
        return None
    return sum(_DIFFUSION[symbol] * count for symbol, count in elements.items()) * 1e-6


def molar_refraction(elements: Mapping[str, int], groups: Mapping[str, int] | None) -> float | None:
    """Molar refraction (D line) from atomic increments in m3/mol; None when they do not cover the molecule."""
    if not elements or groups is None:
        return None
    if any(s not in _REFRACTION_ATOMS and s not in ("O", "N", "S") for s in elements):
        return None
    atoms = sum(_REFRACTION_ATOMS.get(symbol, 0.0) * count for symbol, count in elements.items())
    return (atoms + sum(_REFRACTION_GROUPS[name] * count for name, count in groups.items())) * 1e-6


def volume_at_boiling_point(elements: Mapping[str, int]) -> float | None:
    """Le Bas molar volume at the boiling point in m3/mol, on the large side; None when an element has none."""
    if not elements or any(symbol not in _LE_BAS for symbol in elements):
        return None
    return sum(_LE_BAS[symbol] * count for symbol, count in elements.items()) * 1e-6
