"""Situations from practice, through a whole plan: what a careful answer is.

Numbers of the first: HHE 80-103-827 (1981). Of the second: OSHA letters of 6 April and 18 December 1989 and 10 January
1990. Of the third: samples of embalmers, published as an abstract (2001).
"""

from __future__ import annotations

import pytest

from respcalc.schedule import make_schedule, read_plan_text
from respcalc.schedule.documents import record_html

PRINTERS = {"m-xylene": (85, 100), "toluene": (356, 200), "MIBK": (126, 100), "MEK": (25, 200), "isophorone": (14, 25)}


def vapour(name, amount, limit=None, **more):
    made = {"name": f'"{name}"', "concentration": f'"{amount} ppm"'} | {k: f'"{v}"' for k, v in more.items()}
    if limit is not None:
        made |= {"exposure_limit": f'"{limit} ppm"', "exposure_limit_authority": '"report of 1981"'}
    return made


@pytest.fixture
def schedule(plan_text):
    def make(vapours, **task):
        return make_schedule(read_plan_text(plan_text({k: f'"{v}"' for k, v in task.items()}, vapours)))

    return make


def test_printers_with_five_solvents(schedule):
    made = schedule([vapour(name, *numbers) for name, numbers in PRINTERS.items()])
    (entry,) = made.entries
    by_name = {c.name: c for c in entry.permission.criteria}
    average = by_name["maximum use concentration, shift average"]
    assert "= 4.57" in average.found
    assert "(report of 1981)" in average.found  # the limit set is named
    assert "1910.1000 (d)(2)(i)" in average.source
    assert average.met
    assert by_name["IDLH of toluene"].met
    told = "\n".join(entry.permission.information)
    assert "toluene, 356 ppm, is above OSHA PEL ceiling 300 ppm" in told
    page = record_html(made)
    assert "606 ppm" in page
    assert "1910.134(d)(3)(iii)(B)(2)" in page
    assert any("2-butanone" in w and "at more than the concentration outside" in w for w in entry.life.basis.warnings)


def test_the_same_printers_under_a_stricter_limit(schedule):
    vapours = [vapour(n, c, 20 if n == "toluene" else limit) for n, (c, limit) in PRINTERS.items()]
    (entry,) = schedule(vapours).entries
    assert entry.status == "refused"
    assert any("shift average" in reason for reason in entry.reasons)


@pytest.mark.parametrize("missing", ["relative_humidity", "work_rate"])
def test_what_the_report_does_not_say_is_asked_for(plan_text, missing):
    vapours = [vapour(name, *numbers) for name, numbers in PRINTERS.items()]
    (entry,) = make_schedule(read_plan_text(plan_text({missing: None}, vapours))).entries
    assert entry.status == "input fault"
    assert any(missing in reason for reason in entry.reasons)


def test_the_isomer_of_xylene_is_asked_for(schedule):
    (entry,) = schedule([vapour("xylene", 85, 100)]).entries
    assert entry.status == "input fault"
    assert any("m-xylene" in reason and "more than one" in reason for reason in entry.reasons)


def test_80_on_average_and_300_for_a_quarter_of_an_hour(schedule):
    """Two checks for the respirator, and 300 ppm for the cartridge."""
    (entry,) = schedule([vapour("toluene", 300, average="80 ppm", limits_from="OSHA PEL")]).entries
    by_name = {c.name: c for c in entry.permission.criteria}
    assert by_name["maximum use concentration, shift average"].value == pytest.approx(80e-6)
    assert by_name["maximum use concentration, short term"].value == pytest.approx(300e-6)
    (at_the_average,) = schedule([vapour("toluene", 80, limits_from="OSHA PEL")]).entries
    assert entry.life.life.value < at_the_average.life.life.value
    assert entry.task.inhaled[0].concentration == pytest.approx(300e-6)


def test_the_same_spell_as_a_profile_shows_both_results_and_issues_the_shorter(plan_text, schedule):
    levels = '[{ level = "72.9 ppm", length = "7.75 h" }, { level = "300 ppm", length = "15 min" }]'
    told = {"name": '"toluene"', "concentration": None, "profile": levels, "limits_from": '"OSHA PEL"'}
    made = make_schedule(read_plan_text(plan_text({}, [told])))
    (entry,) = made.entries
    by_name = {c.name: c for c in entry.permission.criteria}
    assert by_name["maximum use concentration, shift average"].value == pytest.approx(80e-6, rel=1e-3)
    assert by_name["maximum use concentration, short term"].value == pytest.approx(300e-6)
    stated = vapour("toluene", 300, average="80 ppm", short_term="300 ppm", limits_from="OSHA PEL")
    (at_the_highest,) = schedule([stated]).entries
    assert entry.life.life.value == at_the_highest.life.life.value < entry.varying.life.value
    assert entry.change == at_the_highest.change
    page = record_html(made)
    assert "as the concentration varies" in page
    assert "the interval rests on the highest concentration throughout" in page
    assert "7.75 h at 72.9 ppm, 15 min at 300 ppm; average 80 ppm, highest 300 ppm" in page
    assert made.entries[0].as_dict()["as_it_varies"]["service_life"]["value"] * 60 > entry.life.life.value


@pytest.mark.parametrize("mask", ["half mask", "full facepiece"])
def test_the_same_numbers_for_benzene_are_refused(schedule, mask):
    (entry,) = schedule(
        [vapour("benzene", 300, average="80 ppm", short_term="300 ppm", limits_from="OSHA PEL")], facepiece=mask
    ).entries
    assert entry.status == "refused"
    assert sum("maximum use concentration" in reason for reason in entry.reasons) == 2
    assert all("powered full facepiece" in r for r in entry.reasons if "maximum use" in r)


def test_benzene_behind_a_tight_blower_is_changed_at_the_beginning_of_each_shift(schedule):
    (entry,) = schedule(
        [vapour("benzene", 300, average="80 ppm", limits_from="OSHA PEL")],
        facepiece="powered full facepiece", work_rate="115 L/min",
    ).entries  # fmt: skip
    assert entry.permission.allowed
    assert any("at the beginning of each shift of use" in cap.reason for cap in entry.change.caps)


def test_embalmers(schedule):
    (before,) = schedule([vapour("formaldehyde", 20.89, average="2.86 ppm", limits_from="OSHA PEL")]).entries
    assert before.status == "refused"
    assert any("IDLH" in reason for reason in before.reasons)
    assert any("short term" in reason for reason in before.reasons)
    (after,) = schedule(
        [vapour("formaldehyde", 3.44, average="1.0 ppm", limits_from="OSHA PEL")], facepiece="full facepiece"
    ).entries
    (reason,) = after.reasons
    for words in ("element approved for formaldehyde", "end of the shift", "3 h of use", "Michigan R 325.51461"):
        assert words in reason
    assert after.life is None  # no physics of adsorption is applied to it


def test_short_samples_below_the_average_of_the_task_are_no_fault(schedule):
    """Embalmers' 15-minute samples averaged 4.16 ppm, their tasks 4.80: the short ones missed the worst."""
    (entry,) = schedule([vapour("toluene", 90, short_term="41.6 ppm", average="48 ppm")]).entries
    assert entry.status == "interval"
    by_name = {c.name: c for c in entry.permission.criteria}
    assert by_name["maximum use concentration, short term"].value == pytest.approx(48e-6)
