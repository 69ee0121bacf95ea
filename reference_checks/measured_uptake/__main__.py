"""``python -m reference_checks.measured_uptake``: the comparisons of this folder as text, but for `test_transfer`."""

from __future__ import annotations

from reference_checks.measured_uptake.report import report

if __name__ == "__main__":
    print(report())
