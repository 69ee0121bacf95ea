"""From a few air samples to the concentration that cartridges are planned for."""

from __future__ import annotations

from respcalc.workplace.sampling.candidates import Candidate
from respcalc.workplace.sampling.design import DesignConcentration, design_concentration, fit_samples
from respcalc.workplace.sampling.en_689 import Compliance, group_test, preliminary_test
from respcalc.workplace.sampling.goodness import Goodness
from respcalc.workplace.sampling.lognormal import LognormalFit
from respcalc.workplace.sampling.probability import ProbabilityPlot, ProbabilityPoint, probability_plot
from respcalc.workplace.sampling.sample_table import SampleTable, read_samples
from respcalc.workplace.sampling.samples import Sample, SampleGroup, describe_samples
from respcalc.workplace.sampling.tolerance import tolerance_factor

__all__ = [
    "Candidate",
    "Compliance",
    "DesignConcentration",
    "Goodness",
    "LognormalFit",
    "ProbabilityPlot",
    "ProbabilityPoint",
    "Sample",
    "SampleGroup",
    "SampleTable",
    "describe_samples",
    "design_concentration",
    "fit_samples",
    "group_test",
    "preliminary_test",
    "probability_plot",
    "read_samples",
    "tolerance_factor",
]
