"""``python -m reference_checks.measured_uptake``: every comparison of this folder, as text."""

from __future__ import annotations

from reference_checks.measured_uptake.report import report

if __name__ == "__main__":
    print(report())
