"""``python -m reference_checks.calibrate``: make the table that the margin is calibrated on, again.

Run it after any change of the models, the chain's defaults or the vapours' properties. A test holds
the table that is shipped to what this makes.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import respcalc.estimate
from reference_checks.nelson_harder_1974.rows import calibrates, fitted_pair_mass, predicted_minutes, timed_vapours
from respcalc.estimate import is_light_halogenated, reduced_potential

__all__ = ["SHIPPED", "calibration_table", "main"]

SHIPPED = Path(respcalc.estimate.__file__).parent / "data" / "calibration.csv"
_HEAD = """\
# Measured times are FROM MEMORY of Nelson & Harder, Am. Ind. Hyg. Assoc. J. 35 (1974) 391-410: 1000 ppm, 22 degC,
# 50 % RH, 53.3 L/min through a pair, to 1 % of the challenge. Predicted: the default carbon, {mass:.1f} g in the pair,
# fitted because the mass is unknown. Made by: python -m reference_checks.calibrate
"""


def calibration_table() -> str:
    """Return the table as CSV text."""
    rows = timed_vapours()
    mass = fitted_pair_mass(rows)
    out = io.StringIO()
    out.write(_HEAD.format(mass=1000 * mass))
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        [
            "vapour", "cas", "chemical_class", "measured_time [min]", "predicted_time [min]", "reduced_potential []",
            "light_halogenated", "calibrates", "why_not", "kind",
        ]
    )  # fmt: skip
    for row, minutes in zip(rows, predicted_minutes(mass), strict=True):
        counts = calibrates(row)
        why = "" if counts else "amine" if row.chemical_class == "amine" else "too short to be adsorption"
        writer.writerow(
            [
                row.name, row.cas, row.chemical_class, f"{row.measured_minutes:g}", f"{minutes:.4g}",
                f"{reduced_potential(row.vapour):.4f}", "yes" if is_light_halogenated(row.vapour) else "no",
                "yes" if counts else "no", why, "memory",
            ]
        )  # fmt: skip
    return out.getvalue()


def main() -> None:
    SHIPPED.parent.mkdir(exist_ok=True)
    SHIPPED.write_text(calibration_table(), encoding="utf-8")
    print(f"wrote {SHIPPED}")


if __name__ == "__main__":
    main()
