"""A vapour that the user describes: the figures are checked against each other and kept as given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from respcalc.core.basis import Datum
from respcalc.core.errors import DomainError, MissingProperty, UnitsError
from respcalc.core.vocabulary import check, read
from respcalc.vapours import composition
from respcalc.vapours.curves import (
    ATMOSPHERE,
    EXPANSION,
    GAS_CONSTANT,
    T_HIGH,
    T_LOW,
    Curve,
    Stretch,
    between_points,
    grid,
    two_point_pressure,
)
from respcalc.vapours.properties import diffusion_volume_from_density
from respcalc.vapours.water import WaterMixing, given_mixing

__all__ = ["GivenProperties", "read_points"]


@dataclass(frozen=True)
class GivenProperties:
    """Properties of a user's own vapour, in SI. The vapour pressure points rise with temperature."""

    name: str
    molar_mass_value: float
    boiling_point_value: float
    pressure_points: tuple[tuple[float, float], ...]
    density_value: float
    density_temperature: float
    refractive_index_value: float | None = None
    molar_polarization_value: float | None = None
    formula: str = ""
    mixes_with_water: bool | None = None

    not_physically_adsorbed = ""
    estimate_missing = False

    def check(self) -> None:
        """Refuse figures that contradict each other.

        Raises
        ------
        DomainError
            Naming both figures.
        """
        boiling_point = self.boiling_point_value
        last = (0.0, 0.0)
        for at, pressure in self.pressure_points:
            where = f"saturation_pressure = {pressure / 1000:.4g} kPa at {at - 273.15:.4g} degC"
            if (pressure - ATMOSPHERE) * (at - boiling_point) < 0 and abs(at - boiling_point) > 2.0:
                raise DomainError(
                    f"{where} contradicts boiling_point = {boiling_point - 273.15:.4g} degC, "
                    "where it must be 101.325 kPa"
                )
            if pressure <= last[1]:
                raise DomainError(
                    f"{where} is not above that at {last[0] - 273.15:.4g} degC; it must rise with temperature"
                )
            last = (at, pressure)
        at, pressure = self.pressure_points[0]
        if abs(at - boiling_point) > 8.0:
            slope = GAS_CONSTANT * np.log(ATMOSPHERE / pressure) / (1.0 / at - 1.0 / boiling_point) / boiling_point
            if not 45.0 < slope < 220.0:
                raise DomainError(
                    f"saturation_pressure = {pressure / 1000:.4g} kPa at {at - 273.15:.4g} degC and boiling_point = "
                    f"{boiling_point - 273.15:.4g} degC do not belong together: they imply an entropy of "
                    f"vaporisation of {slope:.0f} J/(mol K), and liquids have 60 to 160; check both on the data sheet"
                )

    @cached_property
    def elements(self) -> dict[str, int]:
        return composition.parse_formula(self.formula) if self.formula else {}

    @cached_property
    def molar_mass(self) -> Datum:
        return Datum("molar_mass", self.molar_mass_value, "given")

    @cached_property
    def boiling_point(self) -> Datum:
        return Datum("boiling_point", self.boiling_point_value, "given")

    @cached_property
    def saturation(self) -> Curve:
        points = self.pressure_points
        boiling = (self.boiling_point_value, ATMOSPHERE)
        if len(points) == 1:
            values = two_point_pressure(grid(), points[0][0], points[0][1], boiling[0])
            how = f"given at {points[0][0] - 273.15:.4g} degC; line to the boiling point"
        else:
            if points[-1][0] < boiling[0] - 2.0:
                points = (*points, boiling)
            values = between_points(grid(), points)
            how = "between the given points, ln p against 1/T"
        part = Stretch(T_LOW, T_HIGH, "given", "", how)
        return Curve(values, (part,), in_inverse_temperature=True, missing="")

    @cached_property
    def density(self) -> Curve:
        values = self.density_value * (1.0 - EXPANSION * (grid() - self.density_temperature))
        how = f"given at {self.density_temperature - 273.15:.4g} degC; usual thermal expansion"
        return Curve(values, (Stretch(T_LOW, T_HIGH, "given", "", how),), in_inverse_temperature=False, missing="")

    @cached_property
    def refractive_index(self) -> Datum:
        if self.refractive_index_value is not None:
            return Datum("refractive_index", self.refractive_index_value, "given")
        raise MissingProperty(
            f"{self.name}: the molar polarization was given instead of a refractive index; "
            "add define_vapour(..., refractive_index=1.42) if it is needed"
        )

    @cached_property
    def molar_polarization(self) -> Datum:
        if self.molar_polarization_value is not None:
            return Datum("molar_polarization", self.molar_polarization_value, "given")
        from respcalc.models.affinity import lorentz_lorenz_polarization

        value = lorentz_lorenz_polarization.si(
            refractive_index=self.refractive_index_value,
            molar_mass=self.molar_mass_value,
            liquid_density=self.density_value,
        )
        return Datum(
            "molar_polarization",
            float(value),
            "computed",
            "lorentz_lorenz",
            "refractive index and liquid density as given, taken to be at one temperature",
        )

    @cached_property
    def diffusion_volume(self) -> Datum:
        value = composition.diffusion_volume(self.elements)
        if value is not None:
            return Datum(
                "diffusion_volume",
                value,
                "memory",
                "fuller_1966",
                "sum of atomic volumes, from memory",
                "no ring correction",
            )
        return diffusion_volume_from_density(self.molar_mass_value, self.density_value)

    @property
    def water_mixing(self) -> WaterMixing:
        return given_mixing(self.mixes_with_water)

    @cached_property
    def notes(self) -> tuple[str, ...]:
        return ("every property was given by the user of this library; none was looked up",)


def read_points(value: Any, at: Any, problems: list[str]) -> tuple[tuple[float, float], ...]:
    """Read a vapour pressure: one value with its temperature, or a mapping of temperature to pressure."""
    if isinstance(value, Mapping):
        if at is not None:
            problems.append("saturation_temperature is for a single saturation_pressure; the mapping has its own")
        if len(value) < 2:
            problems.append("saturation_pressure: a mapping needs two temperatures or more")
        pairs = list(value.items())
    else:
        if at is None:
            problems.append(
                f'saturation_pressure = {value!r} needs the temperature it holds at: saturation_temperature="20 degC"'
            )
            return ()
        pairs = [(at, value)]
    points = []
    for temperature, pressure in pairs:
        try:
            t = read("boiling_point", temperature, as_argument="saturation_temperature")  # any liquid temperature
            p = read("saturation_pressure", pressure)
        except (UnitsError, DomainError) as error:
            problems.append(str(error))
            continue
        points.append((float(t), float(check("saturation_pressure", float(p)))))
    return tuple(sorted(points))
