"""The air that a bed takes until the end of its life never grows with the flow: work in phases rests on it.

A life at the highest flow is turned into a time of easier phases by the air drawn. Were a bed able to take more air at
a higher flow, that time would be too long.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import respcalc

TEST = respcalc.describe_test(
    "toluene", report="invented", breakthrough_time="75 min", exit_fraction="1 %", concentration="1000 ppm",
    flow_rate="60 L/min", temperature="23 degC", relative_humidity="50 %", pressure="101.3 kPa",
)  # fmt: skip
BED = {"sorbent_mass": "42 g", "face_area": "44 cm2", "bed_depth": "2.1 cm", "in_parallel": 2}
CARTRIDGES = {
    "described": respcalc.describe_bed("pair", **BED),
    "thin": respcalc.describe_bed("thin pair", sorbent_mass="24 g", face_area="44 cm2", in_parallel=2),
    "beside its test": respcalc.describe_bed("pair", **BED, micropore_volume="0.30 cm3/g", test=TEST),
    "from its certificate": respcalc.certified_bed("pair", "US cartridge OV", combination=False, in_parallel=2),
}
NAMES = ["toluene", "acetone", "n-hexane", "styrene", "2-butanone", "ethanol", "chloroform", "isopropanol"]


@pytest.mark.parametrize("kind", CARTRIDGES)
@settings(max_examples=8)
@given(
    names=st.lists(st.sampled_from(NAMES), min_size=1, max_size=2, unique=True), ppm=st.floats(5, 1000),
    flow=st.floats(30, 110), harder=st.floats(1.01, 3), celsius=st.floats(5, 40), humidity=st.floats(0, 1),
)  # fmt: skip
def test_a_bed_never_takes_more_air_at_a_higher_flow(kind, names, ppm, flow, harder, celsius, humidity):
    air = respcalc.describe_air(temperature=f"{celsius} degC", relative_humidity=humidity, altitude="0 m")

    def drawn(rate):
        life = respcalc.estimate_mixture_life(
            [(name, f"{ppm} ppm") for name in names], cartridge=CARTRIDGES[kind], air=air, work_rate=f"{rate} L/min",
            exposure_limits=[("50 ppm", "test")] * len(names),
        )  # fmt: skip
        return life.life.value * rate

    assert drawn(flow * harder) <= drawn(flow) * (1 + 1e-9)
