"""Two kinds of air for the estimates."""

from __future__ import annotations

import pytest

import respcalc


@pytest.fixture(scope="session")
def dry_air():
    return respcalc.describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m")


@pytest.fixture(scope="session")
def humid_air():
    return respcalc.describe_air(temperature="25 degC", relative_humidity="90 %", altitude="0 m")
