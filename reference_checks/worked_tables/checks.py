"""respcalc's models against tables worked out from the published equations, and both against plain Python.

The independent functions use the equations' own units (kJ/mol, g/cm3, cm/s, 1/min), as printed, and
nothing of respcalc, so they also test that the library's SI forms convert correctly.
"""

from __future__ import annotations

import math

from scipy.optimize import brentq

from reference_checks.framework import Check
from respcalc.models import affinity, breakthrough, capacity, humidity, rate

__all__ = ["CHECKS"]

ATM = 101325.0
ROOM = 298.15
MICROPORES = 0.454e-3  # m3/kg
ENERGY = 19.7e3  # J/mol
BULK_DENSITY = 450.0  # kg/m3
MASS, FLOW, AREA = 0.030, 0.030 / 60, 50e-4  # one cartridge at 30 L/min: 10 cm/s
R_KJ = 8.31446261815324e-3


# --- polarization and affinity


def _polarization_by_hand(*, refractive_index: float, molar_mass: float, liquid_density: float) -> float:
    share = (refractive_index**2 - 1) / (refractive_index**2 + 2)
    return share * (molar_mass * 1e3) / (liquid_density * 1e-3) * 1e-6


def _gladstone_dale(*, refractive_index: float, molar_mass: float, liquid_density: float) -> float:
    return (refractive_index - 1) * molar_mass / liquid_density


def _power_by_hand(*, molar_polarization: float) -> float:
    return math.exp(math.log(0.0862) + 0.75 * math.log(molar_polarization * 1e6))


def _ratio_by_hand(*, molar_polarization: float) -> float:
    return math.exp(0.9 * math.log(molar_polarization * 1e6 / 26.2))


def _volume(*, molar_mass: float, liquid_density: float) -> float:
    return affinity.affinity_wood_molar_volume.si(liquid_molar_volume=molar_mass / liquid_density)  # type: ignore[no-any-return]


def _volume_by_hand(*, molar_mass: float, liquid_density: float) -> float:
    return 0.0176 * (molar_mass * 1e3 / (liquid_density * 1e-3)) ** 0.9


# --- capacity


def _capacity(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    saturation_pressure: float,
    liquid_density: float,
    molar_polarization: float,
    micropore_volume: float,
    characteristic_energy: float,
) -> float:
    return float(
        capacity.dubinin_radushkevich_capacity.si(
            temperature=temperature,
            saturation_pressure=saturation_pressure,
            partial_pressure=volume_fraction * pressure,
            micropore_volume=micropore_volume,
            liquid_density=liquid_density,
            characteristic_energy=characteristic_energy,
            affinity_coefficient=affinity.affinity_wood_polarization.si(molar_polarization=molar_polarization),
        )
    )


def _exponent_by_hand(
    volume_fraction: float, temperature: float, saturation_pressure: float, molar_polarization: float, energy: float
) -> float:
    """The DR exponent, with the energy in J/mol and the rest in SI."""
    potential = R_KJ * temperature * math.log(saturation_pressure / (volume_fraction * ATM))
    return (potential / (0.0862 * (molar_polarization * 1e6) ** 0.75 * energy * 1e-3)) ** 2


def _capacity_by_hand(
    *,
    volume_fraction: float,
    temperature: float,
    saturation_pressure: float,
    liquid_density: float,
    molar_polarization: float,
    micropore_volume: float,
    characteristic_energy: float,
) -> float:
    exponent = _exponent_by_hand(
        volume_fraction, temperature, saturation_pressure, molar_polarization, characteristic_energy
    )
    return micropore_volume * 1e3 * liquid_density * 1e-3 * math.exp(-exponent)


def _capacity_with_log10(
    *,
    volume_fraction: float,
    temperature: float,
    saturation_pressure: float,
    liquid_density: float,
    molar_polarization: float,
    micropore_volume: float,
    characteristic_energy: float,
) -> float:
    exponent = _exponent_by_hand(
        volume_fraction, temperature, saturation_pressure, molar_polarization, characteristic_energy
    )
    return micropore_volume * liquid_density * math.exp(-exponent / math.log(10) ** 2)


def _capacity_to_the_first_power(
    *,
    volume_fraction: float,
    temperature: float,
    saturation_pressure: float,
    liquid_density: float,
    molar_polarization: float,
    micropore_volume: float,
    characteristic_energy: float,
) -> float:
    exponent = _exponent_by_hand(
        volume_fraction, temperature, saturation_pressure, molar_polarization, characteristic_energy
    )
    return micropore_volume * liquid_density * math.exp(-math.sqrt(exponent))


def _slope(
    *,
    volume_fraction: float,
    temperature: float,
    pressure: float,
    saturation_pressure: float,
    molar_polarization: float,
    characteristic_energy: float,
) -> float:
    return float(
        capacity.dubinin_slope.si(
            temperature=temperature,
            saturation_pressure=saturation_pressure,
            partial_pressure=volume_fraction * pressure,
            characteristic_energy=characteristic_energy,
            affinity_coefficient=affinity.affinity_wood_polarization.si(molar_polarization=molar_polarization),
        )
    )


def _slope_by_difference(
    *,
    volume_fraction: float,
    temperature: float,
    saturation_pressure: float,
    molar_polarization: float,
    characteristic_energy: float,
) -> float:
    """Differentiate ln(loading) numerically: the model's formula is not used."""
    step = 1e-4

    def ln_loading(ln_fraction: float) -> float:
        return -_exponent_by_hand(
            math.exp(ln_fraction), temperature, saturation_pressure, molar_polarization, characteristic_energy
        )

    centre = math.log(volume_fraction)
    return (ln_loading(centre + step) - ln_loading(centre - step)) / (2 * step)


def _structural_constant(*, characteristic_energy: float) -> float:
    def miss(ln_b: float) -> float:
        energy = capacity.characteristic_energy_from_structural_constant.si(structural_constant=math.exp(ln_b))
        return math.log(energy / characteristic_energy)

    return math.exp(brentq(miss, math.log(1e-8), math.log(1e-4), xtol=1e-14))


def _structural_constant_by_hand(*, characteristic_energy: float) -> float:
    return (math.log(10) * R_KJ / (characteristic_energy * 1e-3)) ** 2


def _structural_constant_of_the_ln_form(*, characteristic_energy: float) -> float:
    return (R_KJ / (characteristic_energy * 1e-3)) ** 2


def _wood_energy_by_hand(*, micropore_volume: float) -> float:
    """From We = W0 dL exp[-b' W0 Pe^-1.8 R^2 T^2 ln^2], R in calories, at benzene's Pe."""
    per_squared_calorie = 3.56e-5 * micropore_volume * 1e3 * 26.2**-1.8
    return per_squared_calorie**-0.5 * (R_KJ * 1e3 / 1.987)


def _wood_energy_in_joules(*, micropore_volume: float) -> float:
    return (3.56e-5 * micropore_volume * 1e3 * 26.2**-1.8) ** -0.5


# --- rate coefficients


def _stampfer_by_hand(*, superficial_velocity: float, molar_polarization: float, exit_fraction: float) -> float:
    ratio = (1 - exit_fraction) / exit_fraction
    minutes = (1 / (superficial_velocity * 100) + 0.027) * (
        0.000825 + (0.063 - 0.0055 * math.log(ratio)) / (molar_polarization * 1e6)
    )
    return 1 / (minutes * 60)


def _lodewyckx_by_hand(
    *,
    superficial_velocity: float,
    granule_diameter: float,
    affinity_coefficient: float,
    capacity: float,
    molar_mass: float,
) -> float:
    return _lodewyckx(superficial_velocity, granule_diameter * 100, affinity_coefficient, capacity, molar_mass)


def _lodewyckx_in_mm(
    *,
    superficial_velocity: float,
    granule_diameter: float,
    affinity_coefficient: float,
    capacity: float,
    molar_mass: float,
) -> float:
    return _lodewyckx(superficial_velocity, granule_diameter * 1000, affinity_coefficient, capacity, molar_mass)


def _lodewyckx_in_m(
    *,
    superficial_velocity: float,
    granule_diameter: float,
    affinity_coefficient: float,
    capacity: float,
    molar_mass: float,
) -> float:
    return _lodewyckx(superficial_velocity, granule_diameter, affinity_coefficient, capacity, molar_mass)


def _lodewyckx(speed: float, diameter: float, beta: float, loading: float, molar_mass: float) -> float:
    """Diameter in the unit to be tried, speed in m/s; per second."""
    per_minute = 800 * beta**0.33 * (speed * 100) ** 0.75 / diameter**1.5 * math.sqrt(loading / (molar_mass * 1e3))
    return per_minute / 60


def _extended_at_usual_loading(
    *, superficial_velocity: float, granule_diameter: float, affinity_coefficient: float
) -> float:
    return _lodewyckx(superficial_velocity, granule_diameter * 100, affinity_coefficient, 0.36, 0.1)


def _ceiling_by_hand(
    *,
    superficial_velocity: float,
    granule_diameter: float,
    void_fraction: float,
    diffusivity: float,
    kinematic_viscosity: float,
) -> float:
    """In cm and s, step by step."""
    u, d = superficial_velocity * 100, granule_diameter * 100
    dm, nu = diffusivity * 1e4, kinematic_viscosity * 1e4
    film_coefficient = (2 + 1.1 * (nu / dm) ** (1 / 3) * (u * d / nu) ** 0.6) * dm / d
    film = film_coefficient * 6 * (1 - void_fraction) / d
    v = u / void_fraction
    axial = 0.73 * dm + 0.5 * v * d / (1 + 9.7 * dm / (v * d))
    return 1 / (1 / film + void_fraction * axial / u**2)


# --- service time of one cartridge


def _service_capacity(
    *, volume_fraction: float, saturation_pressure: float, liquid_density: float, molar_polarization: float
) -> float:
    return _capacity(
        volume_fraction=volume_fraction,
        temperature=ROOM,
        pressure=ATM,
        saturation_pressure=saturation_pressure,
        liquid_density=liquid_density,
        molar_polarization=molar_polarization,
        micropore_volume=MICROPORES,
        characteristic_energy=ENERGY,
    )


def _service_rate(*, molar_polarization: float, exit_fraction: float) -> float:
    return float(
        rate.wood_stampfer_rate.si(
            superficial_velocity=FLOW / AREA, molar_polarization=molar_polarization, exit_fraction=exit_fraction
        )
    )


def _service_rate_by_hand(*, molar_polarization: float, exit_fraction: float) -> float:
    return _stampfer_by_hand(
        superficial_velocity=0.10, molar_polarization=molar_polarization, exit_fraction=exit_fraction
    )


def _service_time(
    *,
    volume_fraction: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    exit_fraction: float,
) -> float:
    """The Wheeler-Jonas time; where that is 0, the negative time it stands for (the source prints it)."""
    held = _service_capacity(
        volume_fraction=volume_fraction,
        saturation_pressure=saturation_pressure,
        liquid_density=liquid_density,
        molar_polarization=molar_polarization,
    )
    speed = _service_rate(molar_polarization=molar_polarization, exit_fraction=exit_fraction)
    inlet = volume_fraction * molar_mass * ATM / (R_KJ * 1e3 * ROOM)
    feed = {"capacity": held, "sorbent_mass": MASS, "mass_concentration": inlet, "flow_rate": FLOW}
    time = breakthrough.wheeler_jonas_time.si(
        **feed, bulk_density=BULK_DENSITY, rate_coefficient=speed, exit_fraction=exit_fraction
    )
    critical = breakthrough.critical_bed_mass.si(
        bulk_density=BULK_DENSITY, flow_rate=FLOW, rate_coefficient=speed, exit_fraction=exit_fraction
    )
    if critical <= MASS:
        return float(time)
    if time != 0:
        raise AssertionError(f"a bed below its critical mass must break through at once, and lasts {time} s")
    return float(breakthrough.stoichiometric_time.si(**feed) * (1 - critical / MASS))


def _service_time_by_hand(
    *,
    volume_fraction: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    exit_fraction: float,
) -> float:
    """In g, cm3 and min, as the equation is printed."""
    return 60 * _minutes(
        volume_fraction, saturation_pressure, molar_mass, liquid_density, molar_polarization, exit_fraction,
        math.log((1 - exit_fraction) / exit_fraction),
    )  # fmt: skip


def _service_time_with_log10(
    *,
    volume_fraction: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    exit_fraction: float,
) -> float:
    return 60 * _minutes(
        volume_fraction, saturation_pressure, molar_mass, liquid_density, molar_polarization, exit_fraction,
        math.log10((1 - exit_fraction) / exit_fraction),
    )  # fmt: skip


def _minutes(
    fraction: float,
    saturation: float,
    molar_mass: float,
    liquid_density: float,
    polarization: float,
    exit_fraction: float,
    logarithm: float,
) -> float:
    c0 = fraction * ATM * molar_mass * 1e3 / (R_KJ * 1e3 * ROOM) * 1e-6  # g/cm3
    held = (
        0.454 * liquid_density * 1e-3 * math.exp(-_exponent_by_hand(fraction, ROOM, saturation, polarization, 19.7e3))
    )
    kv = 60 * _service_rate_by_hand(molar_polarization=polarization, exit_fraction=exit_fraction)
    return held * 30 / (c0 * 30000) - held * 0.45 / (kv * c0) * logarithm


def _just_passing(
    *,
    volume_fraction: float,
    temperature: float,
    flow_rate: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    face_area: float,
    exit_concentration: float,
    breakthrough_time: float,
) -> float:
    """Carbon with which the dry Wheeler-Jonas time is the wanted one."""
    exit_fraction = exit_concentration / volume_fraction
    held = _capacity(
        volume_fraction=volume_fraction,
        temperature=temperature,
        pressure=ATM,
        saturation_pressure=saturation_pressure,
        liquid_density=liquid_density,
        molar_polarization=molar_polarization,
        micropore_volume=MICROPORES,
        characteristic_energy=ENERGY,
    )
    kv = rate.wood_stampfer_rate.si(
        superficial_velocity=flow_rate / face_area, molar_polarization=molar_polarization, exit_fraction=exit_fraction
    )
    inlet = volume_fraction * molar_mass * ATM / (R_KJ * 1e3 * temperature)

    def miss(mass: float) -> float:
        time = breakthrough.wheeler_jonas_time.si(
            capacity=held,
            sorbent_mass=mass,
            mass_concentration=inlet,
            flow_rate=flow_rate,
            bulk_density=BULK_DENSITY,
            rate_coefficient=kv,
            exit_fraction=exit_fraction,
        )
        return float(time) - breakthrough_time

    return float(brentq(miss, 1e-3, 2.0, xtol=1e-12))


def _just_passing_by_hand(
    *,
    volume_fraction: float,
    temperature: float,
    flow_rate: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    face_area: float,
    exit_concentration: float,
    breakthrough_time: float,
) -> float:
    """The mass that takes the vapour up, and the critical mass, in g, cm3 and min."""
    exit_fraction = exit_concentration / volume_fraction
    flow = flow_rate * 6e7
    c0 = volume_fraction * ATM * molar_mass * 1e3 / (R_KJ * 1e3 * temperature) * 1e-6
    held = (
        0.454
        * liquid_density
        * 1e-3
        * math.exp(-_exponent_by_hand(volume_fraction, temperature, saturation_pressure, molar_polarization, 19.7e3))
    )
    kv = 60 * _stampfer_by_hand(
        superficial_velocity=flow_rate / face_area, molar_polarization=molar_polarization, exit_fraction=exit_fraction
    )
    grams = c0 * flow * breakthrough_time / 60 / held + 0.45 * flow / kv * math.log((1 - exit_fraction) / exit_fraction)
    return grams * 1e-3


# --- humid air


def _humid_capacity(
    *,
    volume_fraction: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    relative_humidity: float,
) -> float:
    dry = capacity.adsorption_potential.si(
        temperature=ROOM, saturation_pressure=saturation_pressure, partial_pressure=volume_fraction * ATM
    )
    wet = humidity.manes_potential.si(
        adsorption_potential=dry,
        temperature=ROOM,
        relative_humidity=relative_humidity,
        liquid_molar_volume=molar_mass / liquid_density,
    )
    carbon = {
        "micropore_volume": MICROPORES,
        "liquid_density": liquid_density,
        "characteristic_energy": ENERGY,
        "affinity_coefficient": affinity.affinity_wood_polarization.si(molar_polarization=molar_polarization),
    }
    held = [capacity.dubinin_capacity_at_potential.si(adsorption_potential=a, **carbon) for a in (wet, dry)]
    return float(held[0] / held[1])


def _humid_capacity_by_root(
    *,
    volume_fraction: float,
    saturation_pressure: float,
    molar_mass: float,
    liquid_density: float,
    molar_polarization: float,
    relative_humidity: float,
) -> float:
    """Solve RT ln(psat/p) = eps_o(V) - (Vo/Vw) max{0, eps_w(V) - RT ln(1/RH)} for the adsorbed volume V."""
    thermal = R_KJ * ROOM
    ratio = molar_mass * 1e3 / (liquid_density * 1e-3) / 18.07
    energy = 0.0862 * (molar_polarization * 1e6) ** 0.75 * 19.7
    wanted = thermal * math.log(saturation_pressure / (volume_fraction * ATM))

    def organic(ln_filled: float) -> float:
        return energy * math.sqrt(-ln_filled)

    def miss(ln_filled: float) -> float:
        water = 0.28 / ratio * organic(ln_filled) + thermal * math.log(relative_humidity)
        return organic(ln_filled) - ratio * max(0.0, water) - wanted

    dry = -((wanted / energy) ** 2)
    return math.exp(brentq(miss, -200.0, -1e-9, xtol=1e-14) - dry)


def _humid_onset(
    *, volume_fraction: float, saturation_pressure: float, molar_mass: float, liquid_density: float
) -> float:
    return float(
        humidity.manes_onset_humidity.si(
            saturation_pressure=saturation_pressure,
            partial_pressure=volume_fraction * ATM,
            liquid_molar_volume=molar_mass / liquid_density,
        )
    )


def _humid_onset_by_root(
    *, volume_fraction: float, saturation_pressure: float, molar_mass: float, liquid_density: float
) -> float:
    """The humidity at which water's potential at the dry loading just reaches that of the humid air."""
    ratio = molar_mass * 1e3 / (liquid_density * 1e-3) / 18.07
    potential = math.log(saturation_pressure / (volume_fraction * ATM))
    return math.exp(brentq(lambda ln_rh: 0.28 / ratio * potential + ln_rh, -10.0, 0.0, xtol=1e-15))


CHECKS = {
    "polarization": Check(
        affinity.lorentz_lorenz_polarization.si,
        independent=_polarization_by_hand,
        refuses={"(n - 1) instead of the Lorentz-Lorenz share": _gladstone_dale},
    ),
    "affinity_power": Check(affinity.affinity_wood_polarization.si, independent=_power_by_hand),
    "affinity_ratio": Check(affinity.affinity_polarization_ratio.si, independent=_ratio_by_hand),
    "affinity_volume": Check(_volume, independent=_volume_by_hand),
    "capacity": Check(
        _capacity,
        independent=_capacity_by_hand,
        refuses={"log10 for ln": _capacity_with_log10, "exponent not squared": _capacity_to_the_first_power},
    ),
    "slope": Check(_slope, independent=_slope_by_difference, independent_rel=1e-6),
    "structural_constant": Check(
        _structural_constant,
        independent=_structural_constant_by_hand,
        refuses={"B of the natural-log form": _structural_constant_of_the_ln_form},
    ),
    "wood_energy": Check(
        capacity.wood_characteristic_energy.si,
        independent=_wood_energy_by_hand,
        refuses={"gas constant in joules": _wood_energy_in_joules},
    ),
    "wood_stampfer": Check(
        rate.wood_stampfer_rate.si,
        independent=_stampfer_by_hand,
    ),
    "wood_lodewyckx": Check(
        rate.wood_lodewyckx_rate.si,
        independent=_lodewyckx_by_hand,
        refuses={"diameter in mm": _lodewyckx_in_mm, "diameter in m": _lodewyckx_in_m},
    ),
    "lodewyckx_vansant": Check(rate.lodewyckx_vansant_rate.si, expected=_extended_at_usual_loading),
    "ceiling": Check(rate.film_dispersion_ceiling.si, independent=_ceiling_by_hand),
    "service_capacity": Check(_service_capacity),
    "service_rate": Check(_service_rate, independent=_service_rate_by_hand),
    "service_time": Check(
        _service_time, independent=_service_time_by_hand, refuses={"log10 for ln": _service_time_with_log10}
    ),
    "just_passing": Check(_just_passing, independent=_just_passing_by_hand),
    "humid_capacity": Check(_humid_capacity, independent=_humid_capacity_by_root, independent_rel=1e-8),
    "humid_onset": Check(_humid_onset, independent=_humid_onset_by_root),
}
