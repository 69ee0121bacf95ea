"""The rules for mixtures against theory, and theory against a marched bed, as text."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reference_checks.framework import all_items, judge
from reference_checks.mixtures.rules import RULES, compared, invented

__all__ = ["report"]

SIZES = (2, 3, 4, 5)
_BANDS = ((1, 2), (2, 5), (5, 10), (10, 30), (30, 100), (100, np.inf))


def _rules() -> Iterator[str]:
    for size in SIZES:
        found = compared(size)
        sharp = found.sharp
        yield f"\n{size} components, {len(sharp)} mixtures ({sharp.mean():.1%} with sharp fronts): rule / theory\n"
        yield f"{'rule':<64}{'max':>7}{'sharp':>7}{'P95':>7}{'median':>8}{'> 1.001':>9}"
        for name, words in RULES.items():
            r = found.ratios[name]
            yield (
                f"{words:<64}{r.max():7.3f}{r[sharp].max():7.3f}{np.quantile(r, 0.95):7.3f}{np.median(r):8.3f}"
                f"{(r > 1.001).mean():9.1%}"
            )
        worst = int(np.argmax(found.ratios["sum"]))
        yield f"the sum rule is longest at {found.name(worst)}"


def _bands() -> Iterator[str]:
    found = compared(2)
    yield "\ntwo components, no interaction / theory, by the ratio of the single-vapour times\n"
    for low, high in _BANDS:
        rows = (found.spread >= low) & (found.spread < high)
        yield f"{low:>4} to {high:<5g} {rows.sum():>5} mixtures, largest {found.ratios['single'][rows].max():.3f}"


def _invented() -> Iterator[str]:
    yield "\ninvented vapours (affinity, size and volatility drawn apart), sum rule / theory\n"
    yield f"{'components, ppm each':<28}{'sharp fronts':>13}{'max':>8}{'sharp':>8}{'P99':>8}{'P95':>8}{'median':>8}"
    for size, low, high in ((2, 10, 1000), (3, 10, 1000), (4, 10, 1000), (5, 10, 1000), (2, 0.3, 10), (3, 0.3, 10)):
        found = invented(size, low * 1e-6, high * 1e-6)
        r, sharp = found.ratios["sum"], found.sharp
        shown = "".join(f"{np.quantile(r, q):8.3f}" for q in (0.99, 0.95, 0.5))
        yield f"{f'{size}, {low:g} to {high:g}':<28}{sharp.mean():13.1%}{r.max():8.3f}{r[sharp].max():8.3f}{shown}"


def _bed() -> Iterator[str]:
    (item,) = (i for i in all_items() if (i.key, i.name) == ("mixtures", "fronts"))
    yield "\ntheory against a marched bed: air until a component comes through [m3/kg]\n"
    for case, bed, theory in zip(item.cases, judge(item).expected, judge(item).predicted, strict=True):
        yield f"{case.row.name:<44}{bed:9.1f} bed {theory:9.1f} theory {theory / bed - 1:+.2%}"


def report() -> str:
    """Every comparison of this folder."""
    return "\n".join([*_rules(), *_bands(), *_invented(), *_bed()]).strip()
