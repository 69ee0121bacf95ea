"""What an estimate hands back: two times, the criterion, the curve, and every reason."""

from __future__ import annotations

import json
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from respcalc.core.basis import Basis, Datum
from respcalc.core.cautions import SHORT_CAUTION
from respcalc.core.units import Quantity
from respcalc.core.vocabulary import read, term
from respcalc.estimate.margin import Margin
from respcalc.estimate.mixture import MixturePart
from respcalc.models.breakthrough import bohart_adams_penetration, stoichiometric_time

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["ServiceLife"]


@dataclass(frozen=True)
class ServiceLife:
    """A conservative service life with everything it rests on.

    ``breakthrough_time`` is what the model predicts, ``central`` what the vapours that the margin was
    calibrated on make of that in the middle, ``service_life`` the bound that the margin leaves.
    The change interval that people are told is neither: `respcalc.schedule` sets it. Of several
    vapours both belong to the one with the shortest service life; the basis lists the others.
    """

    governed_by: str
    components: tuple[str, ...]
    breakthrough: Datum
    central: Datum
    life: Datum
    life_set_by: str
    margin: Margin
    exit_fraction: Datum
    exit_concentration: Datum
    outside_model: tuple[str, ...]
    basis: Basis
    cautions: tuple[str, ...]
    _curve: tuple[tuple[str, float], ...]
    mixture: tuple[MixturePart, ...] = ()

    @property
    def immediate(self) -> bool:
        """Vapour is, or with a somewhat slower rate would be, through at once: there is no service life."""
        return self.life.value <= 0.0

    @property
    def breakthrough_time(self) -> Quantity:
        """Predicted breakthrough time [min]."""
        return term("breakthrough_time").quantity(self.breakthrough.value)

    @property
    def central_estimate(self) -> Quantity:
        """Prediction divided by what half of the calibrated vapours of its kind need [min]."""
        return term("breakthrough_time").quantity(self.central.value)

    @property
    def service_life(self) -> Quantity:
        """Conservative estimate after the margin [min]."""
        return term("service_life").quantity(self.life.value)

    def penetration(self, worn_time: Any) -> Quantity:
        """Exit over inlet concentration [%] after a time [min], as predicted (no margin)."""
        return term("penetration").quantity(self.penetration_si(read("worn_time", worn_time)))

    def penetration_si(self, worn_time: Any) -> Any:
        """The same in floats: a fraction, after a time in s."""
        return bohart_adams_penetration.si(worn_time=np.asarray(worn_time, dtype=float), **dict(self._curve))

    def curve_times_si(self, points: int = 121) -> np.ndarray:
        """Times [s] from 0 to past the time at which the bed is full."""
        bed = dict(self._curve)
        full = stoichiometric_time.si(
            **{k: bed[k] for k in ("capacity", "sorbent_mass", "mass_concentration", "flow_rate")}
        )
        return np.linspace(0.0, 2.0 * full, points)

    def curve(self, points: int = 121) -> pd.DataFrame:
        """Breakthrough curve as a table: worn time, penetration, exit concentration."""
        import pandas as pd

        times = self.curve_times_si(points)
        through = self.penetration_si(times)
        inlet = self.exit_concentration.value / self.exit_fraction.value
        return pd.DataFrame(
            {
                "worn_time [min]": times / 60.0,
                "penetration [%]": through * 100.0,
                "exit_concentration [ppm]": through * inlet * 1e6,
            }
        )

    def as_dict(self) -> dict[str, Any]:
        """Plain dictionary with units spelled out; `as_json` writes it."""
        return {
            "governed_by": self.governed_by,
            "components": list(self.components),
            "breakthrough_time": self.breakthrough.as_dict(),
            "central_estimate": self.central.as_dict(),
            "service_life": self.life.as_dict(),
            "life_set_by": self.life_set_by,
            "immediate_breakthrough": self.immediate,
            "margin": self.margin.as_dict(),
            "breakthrough_criterion": {
                "exit_fraction": self.exit_fraction.as_dict(),
                "exit_concentration": self.exit_concentration.as_dict(),
            },
            "outside_model": list(self.outside_model),
            "mixture": [part.as_dict() for part in self.mixture],
            "basis": self.basis.as_dict(),
            "cautions": list(self.cautions),
        }

    def as_json(self, indent: int | None = 2) -> str:
        """The dictionary as JSON text."""
        return json.dumps(self.as_dict(), indent=indent, ensure_ascii=False)

    def _head(self) -> list[tuple[str, str]]:
        at_once = self.breakthrough.value <= 0.0
        predicted = "immediate breakthrough" if at_once else self.breakthrough.printed
        return [
            ("vapour", "; ".join(self.components)),
            ("governed by", self.governed_by),
            ("predicted breakthrough", f"{predicted} to {self.exit_concentration.printed} at the exit"),
            ("central estimate", predicted if at_once else self.central.printed),
            ("conservative life", "none" if self.immediate else self.life.printed),
            ("life set by", self.life_set_by),
            ("margin", self.margin.note),
            ("coverage", self.margin.coverage_in_words),
        ]

    def __str__(self) -> str:
        lines = [f"{k:<24}{v}" for k, v in self._head()]
        lines += [f"OUTSIDE THE MODEL       {text}" for text in self.outside_model]
        lines.append("basis")
        lines += [f"  {d.name:<36} {d.printed:<16} {d.provenance}" for d in self.basis.data]
        lines += [f"  - {c}" for c in self.basis.choices]
        lines += [f"  ! {w}" for w in self.basis.warnings]
        lines += ["cautions", *(f"  {c}" for c in self.cautions), SHORT_CAUTION]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        head = "".join(f"<tr><th>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in self._head())
        rows = "".join(
            f"<tr><td>{escape(d.name)}</td><td>{escape(d.printed)}</td><td>{escape(d.kind)}</td>"
            f"<td>{escape(d.origin)}</td><td>{escape(d.note)}</td></tr>"
            for d in self.basis.data
        )
        notes = "".join(f"<li>{escape(t)}</li>" for t in self.basis.choices)
        outside = "".join(f"<p><strong>Outside the model:</strong> {escape(t)}</p>" for t in self.outside_model)
        warnings = "".join(f"<li><strong>{escape(w)}</strong></li>" for w in self.basis.warnings)
        cautions = "".join(f"<li>{escape(c)}</li>" for c in self.cautions)
        return (
            f"<table>{head}</table>{outside}<details><summary>basis</summary><table><tr><th>value</th><th></th>"
            f"<th>kind</th><th>origin</th><th>note</th></tr>{rows}</table><ul>{notes}{warnings}</ul></details>"
            f"<details><summary>cautions</summary><ul>{cautions}</ul></details><p><em>{escape(SHORT_CAUTION)}</em></p>"
        )
