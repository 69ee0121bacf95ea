"""``python -m reference_checks [--plots DIR]``: one table of how respcalc agrees with the outside world."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from reference_checks.framework import Judged, all_items, judge
from reference_checks.studies import Study, all_studies

__all__ = ["main", "report"]

_HEADERS = ("source", "known", "item", "model", "kind", "cases", "bias", "spread", "worst", "verdict")


def report(lines: Iterable[Judged], studies: Iterable[Study] = ()) -> str:
    """Lay the judged items and the studies out as one text table."""
    table = [_HEADERS]
    for line in lines:
        item = line.item
        table.append(
            (
                item.key, item.seen, item.name, item.model, item.kind, str(len(line.predicted)),
                f"{line.bias:+.2%}", f"{line.spread:.2%}", f"{line.worst:+.2%}", line.verdict,
            )
        )  # fmt: skip
    for study in studies:
        found = study.statistics()
        table.append(
            (
                study.key, study.seen, study.name, study.model, study.kind, str(len(study.measured)),
                *(f"{found[name]:+.2%}" for name in ("bias", "spread", "worst")),
                "FAILS its record" if study.outside() else "scatters as recorded",
            )
        )  # fmt: skip
    widths = [max(len(row[i]) for row in table) for i in range(len(_HEADERS))]
    numeric = {_HEADERS.index(name) for name in ("cases", "bias", "spread", "worst")}
    text = [
        "  ".join(c.rjust(w) if i in numeric else c.ljust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True)))
        for row in table
    ]
    return "\n".join([text[0].rstrip(), "-" * len(text[0]), *(line.rstrip() for line in text[1:])])


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m reference_checks", description=__doc__)
    parser.add_argument("--plots", type=Path, metavar="DIR", help="write one parity plot for each item into DIR")
    options = parser.parse_args(arguments)
    lines = [judge(item) for item in all_items()]
    studies = all_studies()
    print(report(lines, studies))
    print(
        "\nbias, spread and worst are of predicted/expected - 1 (mean, standard deviation, largest). 'reproduces': to"
        "\nthe last printed digit. 'agrees within': the stated bounds, for values that carry scatter of their own."
        "\n'known to differ': the bounds exclude equality for some rows; source.toml says why."
        "\n'floor met': a plausible bed lasts at least the required time, and not absurdly longer."
        "\n'scatters as recorded': judged as a set; bias, spread and worst are what they were when recorded.",
        flush=True,
    )
    if options.plots:
        from reference_checks.plots import parity_plots

        written = parity_plots(lines, studies, options.plots)
        print(f"\n{len(written)} parity plots in {options.plots}")
    failed = [name for line in lines for name in line.failed] + [text for study in studies for text in study.outside()]
    for name in failed:
        print(f"FAILED {name}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
