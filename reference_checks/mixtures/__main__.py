"""``python -m reference_checks.mixtures``: every comparison of this folder, as text."""

from __future__ import annotations

from reference_checks.mixtures.report import report

if __name__ == "__main__":
    print(report())
