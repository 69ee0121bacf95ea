"""Published models of adsorption in cartridges, in floats and with cards.

Each is a function with keyword arguments: called with units it checks them, ``.si`` is the bare
float form and ``.card`` says what it predicts, from where, and within which range.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from respcalc.core.card import all_mixture_models, all_models
from respcalc.models.affinity import (
    affinity_least,
    affinity_polarization_ratio,
    affinity_wood_molar_volume,
    affinity_wood_polarization,
    lorentz_lorenz_polarization,
)
from respcalc.models.breakthrough import (
    bohart_adams_penetration,
    bohart_adams_time,
    critical_bed_mass,
    logistic_rate,
    stoichiometric_time,
    transfer_units,
    wheeler_jonas_time,
    yoon_nelson_penetration,
    yoon_nelson_time,
)
from respcalc.models.capacity import (
    adsorption_potential,
    characteristic_energy_from_structural_constant,
    dubinin_astakhov_capacity,
    dubinin_capacity_at_potential,
    dubinin_radushkevich_capacity,
    dubinin_slope,
    wood_characteristic_energy,
)
from respcalc.models.humidity import (
    capacity_beside_water,
    humidity_rule,
    manes_onset_humidity,
    manes_potential,
    standing_water,
)
from respcalc.models.iast import (
    dubinin_astakhov_grand_potential,
    dubinin_radushkevich_grand_potential,
    iast_loading,
    pressure_at_grand_potential,
)
from respcalc.models.mixtures import (
    Fronts,
    doong_yang_capacity,
    equilibrium_fronts,
    guidance_time,
    mole_fraction_capacity,
    proportionate_capacity,
    sum_rule_time,
)
from respcalc.models.rate import (
    film_dispersion_ceiling,
    lodewyckx_vansant_rate,
    wood_lodewyckx_rate,
    wood_stampfer_exit_floor,
    wood_stampfer_rate,
)
from respcalc.models.transport import air_kinematic_viscosity, fuller_diffusivity
from respcalc.models.water import (
    absolute_humidity,
    cooperative_water,
    do_do_water,
    dubinin_astakhov_water,
    dubinin_serpinsky_water,
    qi_hay_rood_water,
    water_front_time,
    water_share,
    water_uptake,
)

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Fronts",
    "absolute_humidity",
    "adsorption_potential",
    "affinity_least",
    "affinity_polarization_ratio",
    "affinity_wood_molar_volume",
    "affinity_wood_polarization",
    "air_kinematic_viscosity",
    "bohart_adams_penetration",
    "bohart_adams_time",
    "capacity_beside_water",
    "characteristic_energy_from_structural_constant",
    "cooperative_water",
    "critical_bed_mass",
    "do_do_water",
    "doong_yang_capacity",
    "dubinin_astakhov_capacity",
    "dubinin_astakhov_grand_potential",
    "dubinin_astakhov_water",
    "dubinin_capacity_at_potential",
    "dubinin_radushkevich_capacity",
    "dubinin_radushkevich_grand_potential",
    "dubinin_serpinsky_water",
    "dubinin_slope",
    "equilibrium_fronts",
    "film_dispersion_ceiling",
    "fuller_diffusivity",
    "guidance_time",
    "humidity_rule",
    "iast_loading",
    "lodewyckx_vansant_rate",
    "logistic_rate",
    "lorentz_lorenz_polarization",
    "manes_onset_humidity",
    "manes_potential",
    "mole_fraction_capacity",
    "pressure_at_grand_potential",
    "proportionate_capacity",
    "qi_hay_rood_water",
    "standing_water",
    "stoichiometric_time",
    "sum_rule_time",
    "table",
    "transfer_units",
    "water_front_time",
    "water_share",
    "water_uptake",
    "wheeler_jonas_time",
    "wood_characteristic_energy",
    "wood_lodewyckx_rate",
    "wood_stampfer_exit_floor",
    "wood_stampfer_rate",
    "yoon_nelson_penetration",
    "yoon_nelson_time",
]


def table() -> pd.DataFrame:
    """List every published model the library holds, one a row.

    Returns
    -------
    pandas.DataFrame
        Columns name, predicts, equation, arguments, returns, source, locator, range and assumptions,
        all text, sorted by what a model returns and then by name. A range that the source does not
        state reads "none stated".

    Examples
    --------
    >>> cards = table()
    >>> cards.loc[cards["name"] == "stoichiometric_time", "equation"].item()
    'ts = We W/(C0 Q)'
    """
    import pandas as pd

    rows = []
    cards = [made.card for made in (*all_models().values(), *all_mixture_models().values())]
    for card in sorted(cards, key=lambda c: (c.returns, c.name)):
        text = dict(card.rows())
        rows.append(
            {
                "name": card.name,
                "predicts": card.predicts,
                "equation": card.equation,
                "arguments": text["from"],
                "returns": text["returns"],
                "source": card.source,
                "locator": card.locator,
                "range": text["source's range"],
                "assumptions": text["assumes"],
            }
        )
    return pd.DataFrame(rows)
