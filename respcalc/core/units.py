"""The unit door: text and quantities in, SI floats out, and back.

User text never reaches pint's parser, which accepts ``"1 000 ppm"`` as 0 and ``"25 C"`` as
coulombs. The grammar here is one plain number and one unit from the list of that quantity's
family. pint does what it is good at: it holds the definitions and the conversion factors, and
the results that are handed back are its quantities.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pint

__all__ = [
    "FAMILIES",
    "Concentration",
    "Family",
    "Quantity",
    "Reading",
    "quantity",
    "read_censored",
    "read_censored_concentration",
    "read_concentration",
    "read_tolerance",
    "read_value",
]

# A registry of our own, small and complete at import: a lazy one breaks under threads, the full
# one costs as much to build as importing pint, and nobody's application registry is touched.
_DEFINITIONS = """
milli- = 1e-3 = m-
micro- = 1e-6 = µ- = u-
centi- = 1e-2 = c-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
meter = [length] = m
second = [time] = s
gram = [mass] = g
mole = [substance] = mol
kelvin = [temperature] = K
minute = 60 * second = min
hour = 60 * minute = h
day = 24 * hour = d
degree_Celsius = kelvin; offset: 273.15 = °C = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = °F = degF
liter = 1e-3 * meter ** 3 = L
foot = 0.3048 * meter = ft
inch = 0.0254 * meter = inch
pound = 453.59237 * gram = lb
grain = 0.06479891 * gram = gr
newton = kilogram * meter / second ** 2 = N
pascal = newton / meter ** 2 = Pa
joule = newton * meter = J
watt = joule / second = W
calorie = 4.184 * joule = cal
bar = 1e5 * pascal = bar
atmosphere = 101325 * pascal = atm
torr = atmosphere / 760 = Torr
millimeter_Hg = 133.322387415 * pascal = mmHg
psi = 4.4482216152605 * newton / inch ** 2 = psi
percent = 0.01 = %
ppm = 1e-6
ppb = 1e-9
"""


def _build_registry() -> Any:
    registry: Any = pint.UnitRegistry(None)
    for line in _DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry


_UNITS: Any = _build_registry()


class Quantity(_UNITS.Quantity):  # type: ignore[misc]
    """A number (or array) with its unit, in respcalc's own registry: ``Quantity(30, "L/min")``.

    Numbers only, and held as floats: pint would read the text "1 000 ppm" as 0, and an integer
    number of ppm becomes 0 when numpy strips its unit. Text goes to the functions as it is.
    """

    def __new__(cls, value: Any, units: Any = None) -> Quantity:
        if isinstance(value, str):
            raise ValueError(f'{value!r} is text; write Quantity(30, "L/min"), or give the text itself as the argument')
        if isinstance(value, (int, np.integer)) and not isinstance(value, bool):
            value = float(value)
        elif isinstance(value, (list, tuple)) or (isinstance(value, np.ndarray) and value.dtype.kind in "iu"):
            value = np.asarray(value, dtype=float)
        return super().__new__(cls, value, units)  # type: ignore[no-any-return]

    def __reduce__(self) -> tuple[type[Quantity], tuple[Any, str]]:
        # pint would rebuild it in whatever registry the reading process calls its own
        return Quantity, (self.magnitude, str(self.units))


@dataclass(frozen=True, slots=True)
class Family:
    """The units that one kind of quantity may be written in."""

    name: str
    si: str
    units: dict[str, str]  # what a user may write -> pint's expression for it
    example: str
    bare_number: bool = False  # a plain number is unambiguous here (pure fractions and factors)

    def offered(self) -> str:
        return ", ".join(u for u in self.units if u)


def _family(
    name: str, si: str, example: str, *units: str, bare: bool = False, same: dict[str, str] | None = None
) -> Family:
    table = {u: u.replace("3", "**3").replace("2", "**2") if u else "dimensionless" for u in units}
    return Family(name, si, table | (same or {}), example, bare)


_FLOWS = {"lpm": "L/min", "cfm": "ft**3/min", "l/min": "L/min"}
_TEMPERATURES = {"K": "K", "degC": "degC", "°C": "degC", "C": "degC", "℃": "degC", "degF": "degF", "°F": "degF"}

FAMILIES: dict[str, Family] = {
    f.name: f
    for f in (
        _family("time", "s", "8 h", "s", "min", "h", "d"),
        _family("temperature", "K", "25 degC", same=_TEMPERATURES),
        _family("pressure", "Pa", "101.3 kPa", "Pa", "hPa", "kPa", "mbar", "bar", "atm", "mmHg", "Torr", "psi"),
        _family(
            "flow", "m**3/s", "40 L/min", "L/min", "mL/min", "cm3/min", "L/s", "m3/h", "m3/s", "ft3/min", same=_FLOWS
        ),
        _family("mass", "kg", "45 g", "g", "mg", "kg", "lb"),
        _family("length", "m", "2.5 cm", "cm", "mm", "m", "um", "ft", same={"µm": "um", "in": "inch"}),
        _family("power", "W", "295 W", "W", "kW", "kcal/h"),
        _family("area", "m**2", "50 cm2", "cm2", "mm2", "m2"),
        _family("specific_volume", "m**3/kg", "0.45 cm3/g", "cm3/g", "mL/g", "m3/kg"),
        _family("density", "kg/m**3", "0.45 g/cm3", "g/cm3", "g/mL", "kg/m3", "kg/L", "g/L"),
        _family("molar_mass", "kg/mol", "92.1 g/mol", "g/mol", "kg/mol"),
        _family("molar_volume", "m**3/mol", "31.1 cm3/mol", "cm3/mol", "mL/mol", "L/mol", "m3/mol"),
        _family("molar_energy", "J/mol", "19.7 kJ/mol", "kJ/mol", "J/mol", "kcal/mol"),
        _family(
            "volume_fraction", "", "200 ppm", "ppm", "ppb", "%", "mL/m3", "cm3/m3", same={"ppmv": "ppm", "ppbv": "ppb"}
        ),
        _family(
            "mass_concentration",
            "kg/m**3",
            "750 mg/m3",
            "mg/m3",
            "g/m3",
            "ug/m3",
            "mg/L",
            "g/cm3",
            "kg/m3",
            same={"µg/m3": "ug/m**3"},
        ),
        _family("fraction", "", "50 %", "", "%", bare=True),
        _family("factor", "", "1.0", "", bare=True),
        _family("rate", "1/s", "3865 1/min", "1/min", "1/s", same={"min-1": "1/min", "s-1": "1/s"}),
        _family("velocity", "m/s", "10 cm/s", "cm/s", "m/s", "m/min"),
        _family("loading", "", "0.33 g/g", "g/g", "mg/g", "kg/kg", "%"),
        _family("mass_ratio", "", "9.3 g/kg", "g/kg", "kg/kg", "g/g", "gr/lb"),
        _family("diffusivity", "m**2/s", "0.08 cm2/s", "cm2/s", "mm2/s", "m2/s"),
        _family("inverse_temperature_squared", "1/K**2", "9e-7 1/K2", "1/K2", same={"K-2": "1/K**2"}),
    )
}

# unit text -> (factor, offset) to SI, for each family, worked out once by pint
_TO_SI: dict[str, dict[str, tuple[float, float]]] = {}
for _f in FAMILIES.values():
    _row: dict[str, tuple[float, float]] = {}
    for _text, _expression in _f.units.items():
        _unit = _UNITS.Unit(_expression)
        _si = _UNITS.Unit(_f.si or "dimensionless")
        _zero = _UNITS.Quantity(0.0, _unit).to(_si).magnitude if _f.name == "temperature" else 0.0
        _row[_text] = (_UNITS.Quantity(1.0, _unit).to(_si).magnitude - _zero, _zero)
    _TO_SI[_f.name] = _row

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_SPACES = "\u00a0\u202f\u2009\u2007"  # no-break, narrow no-break, thin, figure
_LOOKALIKE = str.maketrans({"μ": "µ", "³": "3", "²": "2", "−": "-", "⋅": "·"} | dict.fromkeys(_SPACES, " "))
_MEANT = {  # what people write -> what the lists above call it
    "F": "degF",
    "deg C": "degC",
    "deg F": "degF",
    "m": "min",
    "mins": "min",
    "minutes": "min",
    "hr": "h",
    "hrs": "h",
    "hour": "h",
    "hours": "h",
    "days": "d",
    "pct": "%",
    "%RH": "%",
    "% RH": "%",
}


def unit_text(text: str) -> str:
    """Write a unit as the lists here do: ``g/cm^3``, ``g/cm**3`` and ``g / cm³`` are ``g/cm3``."""
    plain = text.translate(_LOOKALIKE).strip().replace("**", "").replace("^", "")
    return re.sub(r" */ *", "/", plain)


def _hint(family: Family, unit: str) -> str:
    meant = [_MEANT[unit]] if unit in _MEANT else [u for u in family.units if u.lower() == unit.lower()]
    return f'; write "{meant[0]}"' if meant and meant[0] in family.units else ""


_HOURS = 12.0
_OWN_UNIT = {
    "altitude": "m",
    "diameter": "mm",
    "inner_diameter": "mm",
    "outer_diameter": "mm",
    "granule_diameter": "mm",
}
_OWN_EXAMPLE = {"absolute_humidity": "11 g/m3"}  # milligrams would be air a thousand times too dry


def _refusal(name: str, family: Family, shown: str, why: str, number: str = "") -> str:
    # their own number in the line to paste, but not for temperatures: 298 is hardly in degC
    # the number of air's moisture without its unit may be any of them, and a thousand times too dry is the unsafe side
    own = number and family.name not in ("temperature", "mass_ratio") and name not in _OWN_EXAMPLE
    unit = _OWN_UNIT.get(name, family.example.partition(" ")[2])
    if own and family.name == "time" and float(number) > _HOURS:
        unit = "min"  # nobody means fifteen hours by 15
    example = f"{number} {unit}" if own else _OWN_EXAMPLE.get(name, family.example)
    word = "Write it as" if own else "Write it in the form"  # an example with another number is not to be pasted
    return f'{name} = {shown}: {why}. {word} {name}="{example}" (units: {family.offered() or "none"}).'


def _explain_text(text: str) -> str | None:
    """Say what is odd about a text that did not parse, where we recognise it."""
    if re.match(r"\s*[<>≤≥]", text):
        return "a comparison sign makes this a limit of detection, and this field takes one measured value"
    if re.search(r"\d\s*(?:-|–|—|to|…|\.\.)\s*\d", text):
        return "this reads as a range, and this field takes one value: give the worst that occurs"
    if re.search(r"\d[ '’]\d", text):
        return "a space or apostrophe inside a number is not read; write 1000, not 1 000"
    if re.search(r"\d,\d", text):
        return "a comma inside a number is not read; write a point, as in 37.5, and 1000 without a separator"
    return None


def _read_text(name: str, family: Family, text: str) -> float:
    raw = text.translate(_LOOKALIKE).strip()
    shown = repr(text)
    number = _NUMBER.match(raw)
    if number is None or number.end() == 0:
        why = _explain_text(raw) or "no plain number at the start"
        raise ValueError(_refusal(name, family, shown, why))
    unit = unit_text(raw[number.end() :])
    table = _TO_SI[family.name]
    if unit not in table:
        if not unit:
            raise ValueError(_refusal(name, family, shown, "the unit is missing", number.group()))
        what = f"{unit!r} is not a unit of {family.name.replace('_', ' ')} here{_hint(family, unit)}"
        why = _explain_text(raw) or what
        raise ValueError(_refusal(name, family, shown, why))
    factor, offset = table[unit]
    return float(number.group()) * factor + offset


def _is_pint(value: Any) -> bool:
    return hasattr(value, "magnitude") and hasattr(value, "units") and hasattr(value, "m_as")


def _from_pint(name: str, family: Family, value: Any) -> Any:
    if np.asarray(value.magnitude).dtype.kind not in "iufO":
        raise ValueError(_refusal(name, family, f"{value!s}", "its number is not a real number"))
    if "delta_" in str(value.units):
        raise ValueError(_refusal(name, family, f"{value!s}", "a difference of temperatures is not a temperature"))
    try:
        number = value.m_as(family.si or "dimensionless")
        return np.asarray(number, dtype=float) if np.ndim(number) else float(number)
    except Exception as error:  # any registry, any version: whatever it raises means "wrong kind"
        raise ValueError(
            _refusal(name, family, f"{value!s}", f"{value.units!s} is not a unit of {family.name.replace('_', ' ')}")
        ) from error


_MOST = 1e300  # larger integers have no float


def read_value(name: str, family_name: str, value: Any) -> Any:
    """Turn what a user gave for *name* into SI: a float, or an array of floats.

    Raises
    ------
    ValueError
        With a text that names the argument, what was given, and a line to paste. Callers
        collect these into one ``UnitsError``.
    """
    family = FAMILIES[family_name]
    if isinstance(value, str):
        return _read_text(name, family, value)
    if _is_pint(value):
        return _from_pint(name, family, value)
    if value is None:
        raise ValueError(_refusal(name, family, "None", "a value is needed"))
    from_pandas = type(value).__module__.partition(".")[0] == "pandas" and hasattr(value, "shape")
    if from_pandas and not family.bare_number:
        raise ValueError(
            _refusal(
                name,
                family,
                "a pandas object",
                "pandas drops units, so a bare column could be in any; use a table whose header names the unit, "
                f'such as "{name} [{family.example.split()[-1]}]", or multiply the array: '
                f'Quantity(column.to_numpy(), "{family.example.split()[-1]}")',
            )
        )
    if isinstance(value, (list, tuple)):
        parts = [read_value(name, family_name, v) for v in value]
        if len({np.shape(part) for part in parts}) > 1:
            raise ValueError(_refusal(name, family, repr(value), "the entries differ in length"))
        return np.array(parts, dtype=float)
    if isinstance(value, (bool, np.bool_)):
        raise ValueError(_refusal(name, family, repr(value), "a number is needed, not a truth value"))
    if isinstance(value, int) and abs(value) > _MOST:
        raise ValueError(_refusal(name, family, "an integer beyond any measure", "it is larger than a float can hold"))
    if isinstance(value, (int, float, np.number, np.ndarray)) or from_pandas:
        array = np.asarray(value)
        if family.bare_number and (array.dtype.kind == "O" or array.dtype.kind in "UT"):
            return np.array([read_value(name, family_name, v) for v in array.ravel()], dtype=float).reshape(array.shape)
        if family.bare_number and array.dtype.kind in "iuf":
            return array.astype(float) if array.ndim else float(array)
        shown = repr(value) if array.ndim == 0 else "an array without a unit"
        if array.dtype.kind not in "iufO":
            raise ValueError(_refusal(name, family, shown, f"{array.dtype} values are not plain numbers"))
        number = f"{value}" if array.ndim == 0 else ""
        raise ValueError(_refusal(name, family, shown, "a bare number has no unit", number))
    raise ValueError(_refusal(name, family, repr(value), f"a {type(value).__name__} cannot be read as a quantity"))


_RANGE = re.compile(r"(\d+\.?\d*)\s*(?:-|–|to)\s*(\d+\.?\d*)\s*(\S.*)")
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")


def read_tolerance(name: str, family_name: str, value: Any) -> tuple[float, float]:
    """Turn a value that may carry a tolerance into SI: the value, and its half width (0 without one).

    ``"42 g ± 2 g"``, ``"42 ± 2 g"`` and ``"42 g ± 5 %"`` are read, ``+/-`` is ``±``; so is a pair of a value
    and a half width. A share is one of the value, except for a percentage, whose tolerance is in points.

    Raises
    ------
    ValueError
        As `read_value`, and for a half width that is negative or no number.
    """
    pair: tuple[Any, Any]
    family = FAMILIES[family_name]
    if isinstance(value, tuple) and len(value) == 2:
        pair = value
    elif isinstance(value, str) and (parts := _PLUS_MINUS.split(value)) and len(parts) > 1:
        if len(parts) > 2:
            raise ValueError(_refusal(name, family, repr(value), "more than one ±"))
        middle, half = (part.strip() for part in parts)
        shared = _NUMBER.fullmatch(middle) and (found := _NUMBER.match(half)) and half[found.end() :].strip()
        pair = (f"{middle} {shared}", half) if shared else (middle, half)
    else:
        if isinstance(value, str) and (span := _RANGE.fullmatch(value.translate(_LOOKALIKE).strip())):
            low, high, unit = float(span[1]), float(span[2]), span[3]
            better = f"{0.5 * (low + high):.6g} {unit} ± {0.5 * abs(high - low):.6g} {unit}"
            raise ValueError(
                f'{name} = {value!r}: this reads as a range; write its middle with a tolerance: {name}="{better}"'
            )
        return float(_one(name, read_value(name, family_name, value))), 0.0
    middle_si = float(_one(name, read_value(name, family_name, pair[0])))
    half = pair[1].strip() if isinstance(pair[1], str) else pair[1]
    try:
        if isinstance(half, str) and half.endswith("%") and family_name != "fraction":
            half_si = abs(middle_si) * float(read_value(name, "fraction", half))
        else:
            half_si = float(_one(name, read_value(name, family_name, half)))
    except ValueError:
        bare = isinstance(half, str) and _NUMBER.fullmatch(half)
        unit = _NUMBER.sub("", str(pair[0]), count=1).strip()
        if bare and unit:
            raise ValueError(
                f'{name} = {value!r}: the tolerance has no unit. Write it as {name}="{pair[0]} ± {half} {unit}"'
            ) from None
        raise ValueError(_no_tolerance(name, family, value, f"the tolerance {half!r} is not read here")) from None
    if not half_si >= 0 or not math.isfinite(half_si):
        raise ValueError(_no_tolerance(name, family, value, "a tolerance is not negative"))
    return middle_si, half_si


def _no_tolerance(name: str, family: Family, value: Any, why: str) -> str:
    number, _, unit = family.example.partition(" ")
    return f'{name} = {value!r}: {why}. Write it as {name}="{family.example} ± {float(number) / 20:.2g} {unit}".'


def _one(name: str, value: Any) -> Any:
    if np.ndim(value):
        raise ValueError(f"{name}: a list of values; one value is needed, with its tolerance if it has one")
    return value


@dataclass(frozen=True, slots=True)
class Concentration:
    """A concentration that knows its basis: a volume fraction (ppm) or a mass per volume (mg/m3).

    The two are never mixed up and never compared with a bare number; turning one into the other
    needs molar mass, temperature and pressure, and is done by one function of `workplace`.
    """

    value: Any  # [volume fraction as a plain fraction, mass in kg/m3], float or array
    basis: Literal["volume", "mass"]

    def __post_init__(self) -> None:
        if self.basis not in ("volume", "mass"):
            raise ValueError(f'the basis of a concentration is "volume" or "mass", not {self.basis!r}')

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Concentration):
            self._comparable(other)
            return False
        return self.basis == other.basis and bool(np.array_equal(self.value, other.value))

    def __hash__(self) -> int:
        return hash((self.basis, self.value))

    def __lt__(self, other: object) -> bool:
        return bool(self.value < self._comparable(other))

    def __gt__(self, other: object) -> bool:
        return bool(self.value > self._comparable(other))

    def __le__(self, other: object) -> bool:
        return bool(self.value <= self._comparable(other))

    def __ge__(self, other: object) -> bool:
        return bool(self.value >= self._comparable(other))

    def _comparable(self, other: object) -> Any:
        if not isinstance(other, Concentration):
            raise TypeError(f"a concentration cannot be compared with {other!r}: it has no unit")
        if other.basis != self.basis:
            raise TypeError("a volume fraction and a mass per volume cannot be compared; convert one first")
        return other.value

    @property
    def quantity(self) -> Quantity:
        """As a pint quantity in the printed unit, ppm or mg/m3."""
        return quantity(self.value, "", "ppm") if self.basis == "volume" else quantity(self.value, "kg/m**3", "mg/m**3")


def read_concentration(name: str, value: Any) -> Concentration:
    """Read a concentration in ppm, ppb, %, mL/m3 (by volume) or mg/m3, g/m3, ug/m3 (by mass).

    Raises
    ------
    ValueError
        With a text that names the argument, what was given, and a line to paste.
    """
    if isinstance(value, Concentration):
        return value
    if isinstance(value, (list, tuple)):
        parts = [read_concentration(f"{name}[{i}]", v) for i, v in enumerate(value)]
        bases = {p.basis for p in parts}
        if len(bases) > 1:
            raise ValueError(f"{name}: some entries are volume fractions and some mass per volume; use one basis")
        return Concentration(np.array([p.value for p in parts], dtype=float), bases.pop() if bases else "volume")
    if _is_pint(value):
        by_volume = value.dimensionless
        return Concentration(
            read_value(name, "volume_fraction" if by_volume else "mass_concentration", value),
            "volume" if by_volume else "mass",
        )
    if isinstance(value, str):
        raw = value.translate(_LOOKALIKE).strip()
        number = _NUMBER.match(raw)
        if number and unit_text(raw[number.end() :]) in FAMILIES["mass_concentration"].units:
            return Concentration(read_value(name, "mass_concentration", value), "mass")
        try:
            return Concentration(read_value(name, "volume_fraction", value), "volume")
        except ValueError as error:
            offered = FAMILIES["mass_concentration"].offered()
            raise ValueError(str(error)[: -len(").")] + f"; by mass: {offered}).") from None
    return Concentration(read_value(name, "volume_fraction", value), "volume")


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value (SI), or the limit that it is only known to be below."""

    value: float
    below: bool = False


_BELOW = re.compile(r"(?:<=|<|≤)\s*")
_ABOVE = re.compile(r"(?:>=|>|≥)\s*")
_NOT_DETECTED = re.compile(
    r"(?:n\.?\s*d\.?|b\.?d\.?l\.?|[<≤]?\s*(?:lo[dq]|mdl|rl)|not detected|none detected|trace|below detection)\.?", re.I
)


def _split_censored(name: str, value: Any, example: str) -> tuple[Any, bool]:
    """Take the comparison sign off a text; refuse the signs and words that give no limit to be below."""
    if not isinstance(value, str):
        return value, False
    raw = value.translate(_LOOKALIKE).strip()
    if _ABOVE.match(raw):
        raise ValueError(
            f"{name} = {value!r}: nothing is known of a result above a value; the sampler was overloaded: "
            "repeat the sample with less volume, or with more sorbent"
        )
    if (sign := _BELOW.match(raw)) is None:
        if _NOT_DETECTED.match(raw):
            raise ValueError(
                f"{name} = {value!r}: what was not detected needs the number that it is below, from the laboratory's "
                f'report; write it as "<{example}"'
            )
        return value, False
    if not _NUMBER.match(raw[sign.end() :]):
        raise ValueError(
            f"{name} = {value!r}: no number after the sign; write the limit of quantification of this sample, such as "
            f'"<{example}"'
        )
    return raw[sign.end() :], True


def read_censored(name: str, family_name: str, value: Any) -> Reading:
    """Read a value that may be known only to be below a limit: ``"<0.5 ppm"``.

    Raises
    ------
    ValueError
        As `read_value`; for ``>``, for "not detected" without a number, and for a list.
    """
    plain, below = _split_censored(name, value, f"0.5 {FAMILIES[family_name].example.partition(' ')[2]}".strip())
    return Reading(float(_one(name, read_value(name, family_name, plain))), below)


def read_censored_concentration(name: str, value: Any) -> tuple[Concentration, bool]:
    """Read a concentration in either basis that may be known only to be below a limit.

    Raises
    ------
    ValueError
        As `read_concentration` and `read_censored`.
    """
    plain, below = _split_censored(name, value, "0.5 ppm")
    found = read_concentration(name, plain)
    return Concentration(float(_one(name, found.value)), found.basis), below


def quantity(value: Any, si: str, printed: str) -> Quantity:
    """Hand an SI value back as a quantity in its printed unit."""
    unit = _UNITS.Unit(si or "dimensionless")
    # Pint's own conversion: exact for offsets, elementwise for arrays.
    return Quantity(value, unit).to(printed or "dimensionless")  # type: ignore[no-any-return]


def is_finite(value: Any) -> bool:
    """Whether a float or every element of an array is finite."""
    return math.isfinite(value) if isinstance(value, float) else bool(np.all(np.isfinite(value)))
