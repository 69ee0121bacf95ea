"""Where numbers come from: one record a source, cited by key everywhere."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

__all__ = ["Source", "all_sources", "source"]


@dataclass(frozen=True, slots=True)
class Source:
    """A printed or public source. ``seen`` says how the project knows what it prints."""

    key: str
    citation: str
    seen: str  # "read", "abstract read", "from memory", "computed here", "common practice, no source"
    doi: str = ""
    edition: str = ""
    notes: str = ""

    def __str__(self) -> str:
        doi = f" doi:{self.doi}" if self.doi else ""
        edition = f" ({self.edition})" if self.edition else ""
        return f"{self.citation}{edition}{doi} [{self.seen}]"


@cache
def all_sources() -> dict[str, Source]:
    """Every source record of the library, by key."""
    text = resources.files("respcalc.core").joinpath("data/sources.toml").read_text(encoding="utf-8")
    return {key: Source(key=key, **record) for key, record in tomllib.loads(text).items()}


def source(key: str) -> Source:
    """Look one source up by its key; a key that is missing there is a mistake in the code."""
    if key not in all_sources():
        raise KeyError(f"source {key!r} has no record in sources.toml")
    return all_sources()[key]
