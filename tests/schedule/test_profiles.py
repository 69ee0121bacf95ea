"""A plan that knows how a concentration varies: what follows from it, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from respcalc.schedule import make_schedule, read_plan_text
from respcalc.schedule.documents import record_html

TWO = '[{ level = "200 ppm", length = "30 min" }, { level = "40 ppm", length = "7.5 h" }]'
VARIES = {"concentration": None, "profile": TWO}


def written(stretches):
    return "[" + ", ".join(f'{{ level = "{c:.6f} ppm", length = "{m} min" }}' for c, m in stretches) + "]"


@pytest.mark.parametrize(
    ("vapour", "says"),
    [
        ({"profile": TWO}, "concentration and profile are both given"),
        (VARIES | {"average": '"50 ppm"'}, "average and profile are both given"),
        (VARIES | {"short_term": '"50 ppm"'}, "short_term and profile are both given"),
        (VARIES | {"results": '["50 ppm"]'}, "samples and profile are both given"),
        (VARIES | {"profile": "[]"}, "profile = [] must be a list of stretches"),
        (VARIES | {"profile": '"200 ppm"'}, "must be a list of stretches, for example"),
        (VARIES | {"profile": "[3]"}, "profile, no. 1: a table of keys is needed"),
        (VARIES | {"profile": '[{ level = "200 ppm" }]'}, "profile, no. 1: length is missing"),
        (VARIES | {"profile": '[{ level = "200 ppm", length = "1 h", rate = 3 }]'}, "no. 1: rate is not a key here"),
        (VARIES | {"profile": '[{ level = "200", length = "8 h" }]'}, "no. 1: level = '200': the unit is missing"),
        (VARIES | {"profile": '[{ level = "3 %", length = "8 h" }]'}, "would be 3 % of the air"),
        (
            VARIES | {"profile": '[{ level = "200 ppm", length = "15 min" }]'},
            "are 0.25 h together, hours_of_use is 8 h",
        ),
    ],
)
def test_faults_say_what_to_write(entry, vapour, says):
    found = entry({}, [vapour])
    assert found.status == "input fault"
    assert any(says in reason for reason in found.reasons), found.reasons


def test_without_a_profile_nothing_is_said_of_it(plan_text):
    schedule = make_schedule(read_plan_text(plan_text()))
    assert schedule.entries[0].varying is None
    assert "as the concentration varies" not in record_html(schedule)


def test_beside_a_product_it_is_said_that_it_is_not_worked_out(plan_text):
    product = """
[[product]]
name = "thinner"
basis = "mass"
data_from = "letter (invented)"
[product.parts]
acetone = "50 %"
"n-butyl acetate" = "50 %"
"""
    task = plan_text({}, [VARIES], extra=product)
    task += '\n[[task.product]]\nname = "thinner"\ntotal = "60 ppm"\nbased_on = "3 samples (invented)"\n'
    schedule = make_schedule(read_plan_text(task))
    (found,) = schedule.entries
    assert found.status == "interval", found.reasons
    assert "not worked out beside products" in record_html(schedule)


def test_the_phases_of_work_go_with_it(entry):
    phases = '[{ work_rate = "heavy", length = "1 h" }, { work_rate = "light", length = "7 h" }]'
    found = entry({"work_rate": None, "work_phases": phases}, [VARIES])
    assert found.status == "interval"
    assert found.varying.life.value >= found.life.life.value


STRETCHES = st.lists(st.tuples(st.floats(5, 300), st.integers(10, 120)), min_size=2, max_size=4)


@settings(max_examples=20)
@given(STRETCHES, st.integers(0, 3), st.floats(1, 2))
def test_more_vapour_in_any_stretch_never_lengthens_the_interval(entry, stretches, which, factor):
    hours = {"hours_of_use": f'"{sum(m for _, m in stretches)} min"'}
    more = [(c * (factor if i == which else 1), m) for i, (c, m) in enumerate(stretches)]
    before, after = (entry(hours, [VARIES | {"profile": written(s)}]) for s in (stretches, more))
    assert "input fault" not in (before.status, after.status)
    if after.status == "interval":
        assert before.status == "interval"
        assert after.change.interval <= before.change.interval
        assert after.varying.life.value >= after.life.life.value * (1 - 1e-9)


def test_however_short_the_task_there_is_an_answer(entry):
    """Stretches of a fraction of a second are stretches."""
    short = '[{ level = "200 ppm", length = "0.25 s" }, { level = "40 ppm", length = "0.25 s" }]'
    found = entry({"hours_of_use": '"0.5 s"'}, [VARIES | {"profile": short}])
    assert found.status == "interval"
    assert found.varying.life.value >= found.life.life.value
