"""``python -m reference_checks.nelson_harder_1974 [--combinations]``: recalled times, by row or by model."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from reference_checks.nelson_harder_1974 import combinations as ways
from reference_checks.nelson_harder_1974 import witnesses
from reference_checks.nelson_harder_1974.combinations import CORRECTIONS, Models, Score, score
from reference_checks.nelson_harder_1974.rows import calibrates, fitted_pair_mass, predicted_minutes, timed_vapours
from reference_checks.nelson_harder_1974.study import STUDIES

__all__ = ["main"]

_TITLE = (
    "Times to 1 % breakthrough at 1000 ppm, 50 % RH, 22 degC, 53.3 L/min through a pair of cartridges.\n"
    "Measured times are FROM MEMORY of Nelson & Harder (1974), not checked against the paper."
)


def _rows() -> str:
    rows = timed_vapours()
    mass = fitted_pair_mass(rows)
    lines = [
        _TITLE,
        f"One fitted mass: {1000 * mass:.1f} g of carbon in the pair ({sum(map(calibrates, rows))} calibrating rows of "
        f"{len(rows)}).\n",
        f"{'class':<20} {'vapour':<27} {'recalled':>9} {'predicted':>9} {'ratio':>6}  ",
    ]
    for row, predicted in zip(rows, predicted_minutes(mass), strict=True):
        note = "" if calibrates(row) else "not calibrating"
        lines.append(
            f"{row.chemical_class:<20} {row.name:<27} {row.measured_minutes:>9.4g} {predicted:>9.1f} "
            f"{predicted / row.measured_minutes:>6.2f}  {note}".rstrip()
        )
    lines.append(f"\n{'set':<20} {'rows':>5} {'bias':>8} {'spread':>8} {'worst':>8}   of predicted/recalled - 1")
    for study in STUDIES:
        found = study.statistics()
        figures = " ".join(f"{found[name]:>+8.1%}" for name in ("bias", "spread", "worst"))
        lines.append(f"{study.name:<20} {len(study.measured):>5} {figures}")
    return "\n".join(lines)


_FIGURES = (
    f"{'mass':>6} {'sd ln':>6} {'but 1':>6} {'robust':>6} {'light':>6} {'others':>6} {'least':>6} {'worst':>6}  of"
)


def _figures(found: Score) -> str:
    return (
        f"{1000 * found.pair_mass:>5.1f}g {found.spread:>6.3f} {found.spread_but_one:>6.3f} "
        f"{found.robust_spread:>6.3f} {found.light_median:>6.2f} "
        f"{found.others_median:>6.2f} {found.least:>6.2f} {found.worst:>6.2f}  {found.worst_name}"
    )


def _combinations() -> str:
    lines = [
        _TITLE,
        "69 calibrating rows; each row is predicted by a fit without it. 'light': median predicted/recalled of the 16",
        "halogenated molecules of at most three carbons; 'others': of the rest. 'worst': largest predicted/recalled.",
        "'least': the smallest; 'but 1': sd ln without ethyl chloride, the vapour held worst.",
        "The three models of humid air (none, displacement of water, 85 % rule) differ by",
        f"{ways.water_matters():.1g} in the logarithm at 1000 ppm and 50 % RH: this set cannot tell them apart.\n",
        f"{'rate':<18} {'affinity':<27} {'n':<13} {_FIGURES}",
    ]
    for models, free, found in ways.combinations():
        exponents = sorted({m.exponent for m in found.chosen})
        n = f"{found.models.exponent:.1f}" + (f" ({exponents[0]:.1f}-{exponents[-1]:.1f})" if free else "")
        lines.append(f"{models.rate:<18} {models.affinity:<27} {n:<13} {_figures(found)}")
    return "\n".join(lines)


def _corrections() -> str:
    low, high = witnesses.MEASURED_FALL
    lines = [
        "\nCorrections to the library's models, each row predicted by a fit without it, and what witnesses say:",
        f"'fall': vinyl chloride's loading at 15 % over 80 % RH, 10 ppm (measured {low:.1f} to {high:.1f});",
        f"'dry': loading at 1000 ppm over the EPA fit for {', '.join(witnesses.DRY)}.\n",
        f"{_FIGURES:<78} {'fall':>8} {'dry':>16}  correction",
    ]
    for correction in CORRECTIONS:
        found = score(correction.candidates())
        dry = " ".join(f"{witnesses.dry_ratio(found.models, name):.2f}" for name in witnesses.DRY)
        fall = "see below" if found.models.filled_by_water else _times(found.models)
        lines.append(
            f"{_figures(found):<78} {fall:>8} {dry:>16}  {correction.name} {correction.free(found.models)}".rstrip()
        )
    by_water = ", ".join(f"{carbon} {fall:.1f}" for carbon, fall in witnesses.fall_by_measured_water().items())
    lines.append(f"\nFall of vinyl chloride by the measured water uptake of four carbons, all of it kept: {by_water}.")
    return "\n".join(lines)


def _times(models: Models) -> str:
    fall = witnesses.vinyl_chloride_fall(models)
    return f"{fall:.1f}" if fall < 1000 else ">1000"


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m reference_checks.nelson_harder_1974", description=__doc__)
    parser.add_argument("--combinations", action="store_true", help="compare all models and corrections (10 s)")
    options = parser.parse_args(arguments)
    print("\n".join([_combinations(), _corrections()]) if options.combinations else _rows())
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
