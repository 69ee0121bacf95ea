"""From a service life to an instruction: rounded down, never past a cap, never later in a worse place."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from respcalc.core.errors import DomainError
from respcalc.schedule import (
    Break,
    SiteRules,
    change_moments,
    decide_change,
    low_boiling,
    make_schedule,
    read_plan_text,
    round_down,
    spell_out,
)
from respcalc.vapours import find_vapour

HOUR = 3600.0
SLACK = 1 + 1e-8
REUSE = "desorption data of 2025 (invented)"


def lived(hours, *, outside=()):
    """A service life of so many hours, without the chemistry."""
    return SimpleNamespace(
        life=SimpleNamespace(value=hours * HOUR), outside_model=tuple(outside), immediate=hours <= 0.0
    )


@pytest.fixture(scope="module")
def task(plan_text):
    """A task of a vapour, a length in hours, a mask."""

    def make(name="toluene", hours=8.0, *, ppm=50, breaks=(), acknowledged=""):
        (read,) = read_plan_text(
            plan_text(
                {"facepiece": '"powered full facepiece"', "work_rate": '"115 L/min"'},
                [{"name": f'"{name}"', "concentration": f'"{ppm} ppm"', "limits_from": '"OSHA PEL"'}],
            )
        ).tasks
        return replace(read, hours_of_use=hours * HOUR, breaks=tuple(breaks), acknowledged=acknowledged)

    return make


def stretches(span, breaks, moments):
    """How long each set is on, breaks included."""
    fresh, made = 0.0, []
    for moment in moments:
        made.append(moment.at - fresh)
        pause = next((b for b in breaks if b.after == moment.at and moment.where == "in the break"), None)
        fresh = moment.at + (pause.length if pause else 0.0)
    return [*made, span - fresh]


# --- rounding


@given(seconds=st.floats(0, 2e5))
def test_rounding_is_downwards_to_a_practical_step(seconds):
    step = round_down(seconds)
    assert step <= seconds * SLACK
    assert step in (0.0, *(round_down(h * 900.0) for h in range(1, 97)))
    if 900 <= seconds <= 12 * HOUR:
        assert step > 0.5 * seconds - 1  # what rounding costs at most: 29 min become 15


@given(seconds=st.floats(0, 2e5), more=st.floats(0, 1e5))
def test_rounding_keeps_the_order(seconds, more):
    assert round_down(seconds) <= round_down(seconds + more)


@pytest.mark.parametrize(
    ("minutes", "told"),
    [(14.99, 0), (15, 15), (29.9, 15), (59.9, 45), (60, 60), (89, 60), (239.9999999999, 240), (240.1, 240), (299, 240),
     (721, 720), (1439, 1200), (1e6, 1440)],
)  # fmt: skip
def test_steps(minutes, told):
    assert round_down(minutes * 60) == told * 60


@pytest.mark.parametrize("odd", [math.nan, -1.0, -math.inf])
def test_nothing_odd_becomes_an_interval(odd):
    assert round_down(odd) == 0.0


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 min"), (1, "less than 1 min"), (59.9, "less than 1 min"), (60, "1 min"), (2699.9, "44 min"),
     (2700, "45 min"),     (3600, "1 h"), (9000, "2 h 30 min"), (90000, "25 h"), (7199.9999999, "2 h")],
)  # fmt: skip
def test_times_are_spelt_downwards(seconds, words):
    assert spell_out(seconds) == words


# --- never past the life, never past a cap


VAPOURS = ["toluene", "acetone", "benzene", "acrylonitrile", "1,3-butadiene", "diethyl ether"]


@settings(max_examples=150)
@given(
    name=st.sampled_from(VAPOURS),
    ppm=st.sampled_from([1, 4, 9, 20, 45]),
    life=st.floats(0, 400),
    hours=st.floats(0.05, 24),
    days=st.integers(1, 180),
    longest=st.one_of(st.none(), st.floats(0.1, 100)),
)
def test_the_interval_is_within_the_life_and_every_cap(task, name, ppm, life, hours, days, longest):
    rules = SiteRules(days_opened=days, reuse_basis=REUSE, longest_interval=None if longest is None else longest * HOUR,
                      longest_interval_source="site")  # fmt: skip
    change = decide_change(task(name, hours, ppm=ppm), lived(life), rules)
    if change.interval is None:
        assert change.refusal
        assert "Needed instead" in change.refusal
        return
    assert 0 < change.interval <= life * HOUR * SLACK
    assert all(change.interval <= cap.longest * SLACK for cap in change.caps)
    assert change.interval >= min(900.0, hours * HOUR)
    assert 1 <= change.shifts <= days
    assert change.set_by
    if change.shifts > 1:
        assert change.moments == ()
        assert change.interval == pytest.approx(change.shifts * hours * HOUR)
    else:
        assert max(stretches(hours * HOUR, (), change.moments)) <= change.interval * SLACK
    if longest is not None:
        assert change.interval <= longest * HOUR * SLACK


@given(name=st.sampled_from(VAPOURS), life=st.floats(0, 100), less=st.floats(0, 1), hours=st.floats(0.2, 24),
       days=st.integers(1, 30))  # fmt: skip
def test_a_shorter_life_never_gives_a_longer_interval(task, name, life, less, hours, days):
    rules = SiteRules(days_opened=days, reuse_basis=REUSE)
    here = task(name, hours, ppm=4)
    long, short = decide_change(here, lived(life), rules), decide_change(here, lived(life * less), rules)
    assert (short.interval or 0.0) <= (long.interval or 0.0)
    assert short.shifts <= long.shifts or long.interval is None


@given(life=st.floats(0.25, 30), hours=st.floats(0.5, 23), longer=st.floats(1.0, 5.0), cap=st.floats(0.5, 30))
def test_once_a_change_within_the_shift_is_due_a_longer_shift_does_not_move_it(task, life, hours, longer, cap):
    rules = SiteRules(longest_interval=cap * HOUR, longest_interval_source="site")
    short = decide_change(task("toluene", hours), lived(life), rules)
    long = decide_change(task("toluene", min(24.0, hours * longer)), lived(life), rules)
    if short.interval is not None and short.moments:
        assert long.interval == short.interval
        assert long.moments[: len(short.moments)] == short.moments


@given(life=st.floats(0.25, 30), hours=st.floats(0.5, 23), cap=st.floats(0.25, 30), lower=st.floats(0, 1))
def test_a_stricter_site_rule_never_lengthens(task, life, hours, cap, lower):
    loose, strict = (
        decide_change(
            task("toluene", hours), lived(life), SiteRules(longest_interval=c * HOUR, longest_interval_source="s")
        )
        for c in (cap, cap * lower + 1e-3)
    )
    if cap * lower + 1e-3 <= cap:
        assert (strict.interval or 0.0) <= (loose.interval or 0.0)


@pytest.mark.parametrize(("life", "interval"), [(10.4, 8), (8.0, 8), (7.99, 7), (4.99, 4), (0.25, 0.25), (0.26, 0.25)])
def test_within_one_shift(task, life, interval):
    change = decide_change(task("toluene", 8.0), lived(life), SiteRules())
    assert change.interval == interval * HOUR
    assert change.set_by == ("the end of the shift" if life >= 8 else "the service life")
    assert [(c.longest, c.reason) for c in change.caps] == [
        (8 * HOUR, "cartridges that were worn are discarded at the end of the shift")
    ]


# --- none at all


def test_immediate_breakthrough_is_said_and_no_tiny_number_is_offered(entry):
    made = entry(
        {"work_rate": '"very heavy"'},
        bed={"sorbent_mass": '"5 g"', "face_area": '"20 cm2"', "bed_depth": '"0.5 cm"', "in_parallel": "1"},
    )
    assert made.status == "refused"
    assert made.life.immediate
    assert made.life.life.value == 0.0
    assert made.change.interval is None
    assert made.reasons[0].startswith("immediate breakthrough: the bed is too thin")
    assert "more or larger cartridges in parallel" in made.reasons[0]


@pytest.mark.parametrize("life", [1e-9, 0.01, 0.249])
def test_less_than_a_quarter_of_an_hour_is_no_interval(task, life):
    change = decide_change(task(), lived(life), SiteRules())
    assert change.interval is None
    assert "less than the shortest practical interval of 15 min" in change.refusal
    assert "Needed instead" in change.refusal


@pytest.mark.parametrize(
    ("minutes", "life", "allowed"), [(10, 0.5, True), (10, 10 / 60, True), (10, 0.15, False), (1, 9, True)]
)
def test_a_task_shorter_than_that_is_not_refused_for_being_short(task, minutes, life, allowed):
    change = decide_change(task("m-xylene", minutes / 60), lived(life), SiteRules())
    assert (change.interval == pytest.approx(minutes * 60)) if allowed else (change.interval is None)


def test_outside_the_model_is_refused_unless_somebody_stands_for_it(task):
    outside = lived(5, outside=["methanol: the isotherm is convex"])
    refused = decide_change(task(), outside, SiteRules())
    assert refused.interval is None
    assert refused.refusal.startswith("methanol: the isotherm is convex. Needed instead:")
    assert 'acknowledge_outside_model = "reason"' in refused.refusal
    assert decide_change(task(acknowledged="own tests of 2025"), outside, SiteRules()).interval == 5 * HOUR


HUMID = {"relative_humidity": '"90 %"', "work_rate": '"light"'}
LARGE = {"sorbent_mass": '"105 g"', "face_area": '"75 cm2"', "bed_depth": '"3 cm"', "in_parallel": "6"}


def test_methyl_acetate_in_humid_air_is_refused_and_when_accepted_still_short(entry):
    vapour = [{"name": '"methyl acetate"', "concentration": '"20 ppm"'}]
    refused = entry(HUMID, vapour, bed=LARGE)
    assert refused.status == "refused"
    assert "methyl acetate: at 20 ppm in this air the isotherm is convex" in refused.reasons[0]
    accepted = entry(HUMID | {"acknowledge_outside_model": '"own tests of 2025 (invented)"'}, vapour, bed=LARGE)
    assert accepted.status == "interval"
    assert accepted.change.interval <= accepted.life.life.value < 2 * HOUR
    assert any("65 degC" in c.reason for c in accepted.change.caps)


def test_methanol_is_held_worse_than_anything_calibrated(entry):
    methanol = [{"name": '"methanol"'}]
    refused = entry({"relative_humidity": '"20 %"', "work_rate": '"light"'}, methanol, bed=LARGE)
    assert refused.status == "refused"
    assert "the margin is an extrapolation" in refused.reasons[0]


def test_an_acknowledgement_lifts_nothing_else(entry):
    ok = {"acknowledge_outside_model": '"tests"'}
    assert entry(ok, [{"name": '"methylene chloride"', "concentration": '"5 ppm"'}]).status == "refused"
    assert entry(ok | {"oxygen": '"19 %"'}).status == "refused"
    assert entry(ok, [{"concentration": '"600 ppm"'}]).status == "refused"


@pytest.mark.parametrize(("life", "allowed"), [(0.5, False), (0.99, False), (1.0, True), (3.0, True)])
def test_vinyl_chloride_needs_an_element_of_an_hour(task, life, allowed):
    """29 CFR 1910.1017(g): only elements of at least 1 h service life."""
    here = task("vinyl chloride", 8.0, ppm=5, acknowledged="tests")
    change = decide_change(here, lived(life), SiteRules())
    assert (change.interval is not None) == allowed
    if not allowed:
        assert "1910.1017" in change.refusal
        assert "at least 60 min" in change.refusal


# --- 65 degC, days opened, site caps


@pytest.mark.parametrize(
    ("name", "low"), [("methylene chloride", True), ("acetone", True), ("n-hexane", False), ("benzene", False)]
)
def test_the_split_at_65_degrees(name, low):
    """EN 14387: type AX at or below 65 degC, type A above."""
    assert low_boiling(find_vapour(name).boiling_point.value) == low


@pytest.mark.parametrize(("celsius", "low"), [(64.9, True), (65.0, True), (65.01, False)])
def test_65_degrees_itself_counts_as_low(celsius, low):
    assert low_boiling(celsius + 273.15) == low


def _reuse(days=10):
    return {
        "days_opened": f"{days}", "reuse_basis": f'"{REUSE}"', "stored_at": '"30 %"',
        "reuse_vapours": '["toluene", "m-xylene", "diethyl ether", "2-butanone", "n-butyl acetate", "n-hexane"]',
    }  # fmt: skip


def test_what_boils_low_is_never_kept_over_the_shift_also_in_a_mixture(entry):
    hours = {"hours_of_use": '"1 h"'}
    heavy = [{"concentration": '"20 ppm"'}]
    light = [{"name": '"diethyl ether"', "concentration": '"100 ppm"'}]
    alone = entry(hours, heavy, rules=_reuse())
    assert (alone.change.shifts, alone.change.days) == (8, 10)  # of five a week
    for vapours in (light, heavy + light, light + heavy):
        made = entry(hours, vapours, rules=_reuse(), bed=LARGE)
        assert made.status == "interval"
        assert made.change.shifts == 1
        assert made.life.life.value > 2 * HOUR
        assert any("diethyl ether boils at 34" in c.reason and "never beyond the shift" in c.reason
                   for c in made.change.caps)  # fmt: skip


@pytest.mark.parametrize("name", ["benzene", "acrylonitrile", "1,3-butadiene"])
def test_a_substance_rule_ends_with_the_shift(task, name):
    rules = SiteRules(days_opened=30, reuse_basis=REUSE)
    change = decide_change(task(name, 2.0, ppm=4), lived(300), rules)
    assert change.shifts == 1
    assert any("29 CFR 1910.1" in c.reason for c in change.caps)
    assert decide_change(task("toluene", 2.0), lived(300), rules).shifts == 22  # 30 days, five a week


@pytest.mark.parametrize(("ppm", "hours"), [(1, 4), (5, 4), (6, 3), (10, 3), (11, 2), (25, 2), (26, 1), (50, 1)])
def test_butadiene_is_changed_by_its_table_however_long_the_cartridge_lasts(task, ppm, hours):
    change = decide_change(task("1,3-butadiene", 8.0, ppm=ppm), lived(300), SiteRules())
    assert change.interval == hours * HOUR
    assert "29 CFR 1910.1051(h)(2) (Table 1" in change.set_by
    assert max(stretches(8 * HOUR, (), change.moments)) <= hours * HOUR


def test_butadiene_that_lasts_less_than_its_table_goes_by_its_life(task):
    assert decide_change(task("1,3-butadiene", 8.0, ppm=5), lived(1.2), SiteRules()).interval == HOUR


@pytest.mark.parametrize(
    ("hours", "days", "life", "shifts"),
    [
        (8, 1, 300, 1),
        (8, 5, 300, 5),
        (8, 5, 39.9, 4),
        (8, 5, 15.9, 1),
        (8, 5, 4, 1),
        (2, 180, 359.9, 130),  # five a week in 180 days
        (2, 180, 99.9, 49),
        (1 / 3, 90, 4.3, 12),
    ],
)
def test_whole_shifts_only(task, hours, days, life, shifts):
    change = decide_change(task("toluene", hours), lived(life), SiteRules(days_opened=days, reuse_basis=REUSE))
    assert change.shifts == shifts
    assert change.interval <= life * HOUR * SLACK


def test_twenty_minutes_on_saturdays_is_still_one_shift(entry):
    """Opened 90 days ago, bagged: about 4.3 h of use, far below the life; only desorption data allow more."""
    saturday = {"hours_of_use": '"20 min"', "days_per_week": "1", "relative_humidity": '"55 %"'}
    xylene = [{"name": '"m-xylene"', "concentration": '"40 ppm"'}]
    made = entry(saturday, xylene)
    assert made.life.life.value > 4.3 * HOUR
    assert (made.change.interval, made.change.shifts) == (20 * 60.0, 1)
    assert made.instruction == "new cartridges at the start of every shift; discard at its end, after 20 min at most"
    kept = entry(saturday, xylene, rules=_reuse(13))
    assert (kept.change.shifts, kept.change.days) == (2, 13)  # two Saturdays, not thirteen
    assert kept.instruction == (
        "new cartridges after 2 shifts of 20 min at most each, or 13 days from opening, the day of opening counted, "
        "whichever is first"
    )
    assert kept.sets_per_week == 0.5
    assert REUSE in kept.change.set_by
    a_week = entry(saturday, xylene, rules=_reuse(7))
    assert (a_week.change.shifts, a_week.sets_per_week) == (1, 1)


CAMPUS = {"longest_interval": '"8 h"', "longest_interval_source": '"campus table, 2021 (invented)"'}
LITTLE = [{"concentration": '"10 ppm"'}]


def test_a_campus_rule_of_8_hours_breaks_in_a_12_hour_shift(entry):
    made = entry({"hours_of_use": '"12 h"'}, LITTLE, rules=CAMPUS)
    assert made.change.interval == 8 * HOUR
    assert made.change.set_by == "site rule: campus table, 2021 (invented)"
    assert [m.at for m in made.change.moments] == [8 * HOUR]


def test_a_campus_rule_of_8_hours_does_not_carry_over_to_the_next_day(entry):
    """Four times 2 h on four days passes 8 h of work and breaks end of shift: the earlier clock holds."""
    made = entry({"hours_of_use": '"2 h"'}, LITTLE, rules=CAMPUS)
    assert (made.change.interval, made.change.shifts) == (2 * HOUR, 1)
    kept = entry({"hours_of_use": '"2 h"'}, LITTLE, rules=CAMPUS | _reuse(5))
    assert kept.change.shifts == 1
    worn = entry(
        {"hours_of_use": '"2 h"'}, LITTLE, rules=CAMPUS | _reuse(5) | {"longest_interval_counts": '"hours worn"'}
    )
    assert worn.change.shifts == 4
    assert worn.change.set_by == "site rule: campus table, 2021 (invented)"


@pytest.mark.parametrize(("hours", "shifts"), [(8, 1), (25.9, 1), (26, 2), (50, 3), (73.9, 3), (500, 5)])
def test_a_rule_by_the_clock_counts_the_nights(entry, hours, shifts):
    """A set put on at seven for two hours is 26 h old when the second day's two hours are over."""
    rules = CAMPUS | _reuse(5) | {"longest_interval": f'"{hours} h"'}
    assert entry({"hours_of_use": '"2 h"'}, LITTLE, rules=rules).change.shifts == shifts


def greedy(shifts, days, worked):
    """Sets a week in the long run, day by day on a calendar of a thousand weeks."""
    used, opened, sets = shifts, -1000, 0
    for day in range(7 * 1000):
        if day % 7 in worked:
            if used == shifts or day - opened >= days:
                used, opened, sets = 0, day, sets + 1
            used += 1
    return sets / 1000


@settings(max_examples=40)
@given(days=st.integers(2, 40), life=st.floats(2, 200), worked=st.sets(st.integers(0, 6), min_size=1))
def test_enough_sets_are_ordered_however_the_worked_days_lie(task, days, life, worked):
    here = replace(task("toluene", 2.0), days_per_week=len(worked))
    change = decide_change(here, lived(life), SiteRules(days_opened=days, reuse_basis=REUSE))
    if change.shifts > 1:
        assert change.days == days
        assert change.sets_per_shift * len(worked) >= greedy(change.shifts, days, worked) - 0.002


@pytest.mark.parametrize(
    ("days", "per_week", "sets"), [(3, 5, 2.0), (7, 5, 1.0), (7, 1, 1.0), (14, 2, 0.5), (2, 7, 3.5)]
)
def test_sets_a_week_in_the_long_run(task, days, per_week, sets):
    here = replace(task("toluene", 2.0), days_per_week=per_week)
    change = decide_change(here, lived(300), SiteRules(days_opened=days, reuse_basis=REUSE))
    assert change.sets_per_shift * per_week == pytest.approx(sets)


def test_what_keeps_a_set_from_one_shift_more_is_named(task):
    site = {"days_opened": 5, "reuse_basis": REUSE, "longest_interval": 40 * HOUR, "longest_interval_source": "S"}
    reasons = {
        life: decide_change(task("toluene", 8.0), lived(life), SiteRules(**site)).set_by for life in (36.9, 20.0, 300.0)
    }
    assert reasons == {36.9: "site rule: S", 20.0: "the service life", 300.0: "site rule: S"}
    worn = SiteRules(**(site | {"longest_interval": 90 * HOUR}), longest_counts_worn=True)
    assert decide_change(task("toluene", 8.0), lived(300), worn).set_by == f"5 days after opening ({REUSE})"


def test_what_was_worn_in_other_vapours_is_not_kept(entry):
    """Desorption data are of an agent: none of MIBK are among them."""
    hours = {"hours_of_use": '"1 h"'}
    assert entry(hours, [{"concentration": '"20 ppm"'}], rules=_reuse()).change.shifts == 8
    made = entry(hours, [{"name": '"MIBK"', "concentration": '"20 ppm"'}], rules=_reuse())
    assert made.change.shifts == 1
    assert any("the data of reuse_basis are not of " in c.reason for c in made.change.caps)
    both = [{"concentration": '"10 ppm"'}, {"name": '"MIBK"', "concentration": '"5 ppm"'}]
    assert entry(hours, both, rules=_reuse()).change.shifts == 1


def test_a_campus_rule_is_a_cap_and_never_the_basis(entry):
    made = entry({"hours_of_use": '"12 h"', "work_rate": '"heavy"'}, [{"concentration": '"400 ppm"'}], rules=CAMPUS)
    assert made.change.interval <= made.life.life.value < 8 * HOUR
    assert made.change.set_by == "the service life"


# --- moments of a shift


def exhaustive(span, breaks, interval, fresh=0.0):
    """The fewest changes, and among those the fewest that leave the work, by trying everything."""
    due = fresh + interval
    if due * (1 + 1e-9) >= span:
        return (0, 0)
    ways = [tuple(a + b for a, b in zip((1, 1), exhaustive(span, breaks, interval, due), strict=True))]
    for b in breaks:
        if fresh < b.after <= due * (1 + 1e-9):
            rest = exhaustive(span, breaks, interval, b.after + b.length)
            ways.append((1 + rest[0], rest[1]))
    return min(ways)


@st.composite
def shifts(draw):
    """A shift in quarters of an hour, its breaks, an interval."""
    span = draw(st.integers(2, 48))
    edges = sorted(draw(st.sets(st.integers(1, span), max_size=6)))
    breaks = tuple(Break(a * 900.0, (b - a) * 900.0) for a, b in zip(edges[::2], edges[1::2], strict=False))
    return span * 900.0, breaks, draw(st.integers(4, 30)) * 900.0


@settings(max_examples=200)
@given(shift=shifts())
def test_moments_are_the_fewest_and_prefer_breaks(shift):
    span, breaks, interval = shift
    moments = change_moments(span, breaks, interval)
    assert max(stretches(span, breaks, moments)) <= interval * SLACK
    assert all(0 < m.at < span for m in moments)
    assert [m.at for m in moments] == sorted({m.at for m in moments})
    in_breaks = {b.after for b in breaks}
    assert all((m.at in in_breaks) or m.where == "leave the area" for m in moments)
    assert (len(moments), sum(m.where == "leave the area" for m in moments)) == exhaustive(span, breaks, interval)


@settings(max_examples=200)
@given(shift=shifts(), shorter=st.floats(0.1, 1.0))
def test_a_shorter_interval_never_means_fewer_changes_or_a_longer_stretch(shift, shorter):
    span, breaks, interval = shift
    less = max(900.0, interval * shorter)
    many, few = change_moments(span, breaks, less), change_moments(span, breaks, interval)
    assert len(many) >= len(few)
    assert max(stretches(span, breaks, many)) <= max(stretches(span, breaks, few)) * SLACK
    assert max(stretches(span, breaks, many)) <= less * SLACK


def test_a_break_saves_the_minutes_it_lasts():
    assert [(m.at, m.where) for m in change_moments(8 * HOUR, [Break(4 * HOUR, HOUR)], 4 * HOUR)] == [
        (4 * HOUR, "in the break")
    ]
    assert [m.where for m in change_moments(8 * HOUR, [], 4 * HOUR)] == ["leave the area"]
    assert change_moments(8 * HOUR, [Break(4 * HOUR, HOUR)], 8 * HOUR) == ()


@pytest.mark.parametrize("interval", [0.0, -1.0, 899.0, math.nan])
def test_moments_of_no_interval_are_refused(interval):
    with pytest.raises(DomainError, match=r"interval = .*900 s"):
        change_moments(8 * HOUR, [], interval)


@pytest.mark.parametrize("span", [0.0, -1.0, 86401.0, math.nan, math.inf])
def test_moments_of_no_shift_are_refused(span):
    with pytest.raises(DomainError, match="span = "):
        change_moments(span, [], 900.0)


def test_moments_every_quarter_of_an_hour_of_a_day():
    assert len(change_moments(24 * HOUR, [Break(k * HOUR, 300.0) for k in range(1, 24)], 900.0)) >= 80


# --- on the floor


def _moments(entry, **task_changes):
    keys = {"hours_of_use": '"6 h"', "relative_humidity": '"65 %"'} | task_changes
    return entry(keys, [{"concentration": '"300 ppm"', "limits_from": '"OSHA PEL"'}])


def test_moments_are_clock_times_where_the_start_is_known(entry):
    pauses = '[{after = "1.5 h", length = "15 min"}, {after = "4 h", length = "30 min"}]'
    made = _moments(entry, shift_start='"22:30"', breaks=pauses)
    assert made.change.moments
    for shown, moment in zip(made.moments, made.change.moments, strict=True):
        clock, where = shown.split(" ", 1)
        minutes = int(clock[:2]) * 60 + int(clock[3:])
        assert (minutes - 22 * 60 - 30) % 1440 == int(moment.at / 60 + 1e-6)
        assert where == f"({moment.where})"
    relative = _moments(entry, breaks=pauses)
    assert all("after the start" in m for m in relative.moments)


def test_many_equal_changes_are_told_once(entry):
    made = entry({"relative_humidity": '"90 %"', "work_rate": '"heavy"'}, [{"concentration": '"450 ppm"'}])
    count = len(made.change.moments)
    assert count > 4
    assert made.moments == (f"every {spell_out(made.change.interval)} (leave the area), {count} times a shift",)
    assert made.sets_per_week == 5 * (count + 1)
    assert made.hard_to_keep.startswith(
        f"{count} changes a shift, {made.sets_per_week:g} sets a week, are hard to keep"
    )
    assert made.hard_to_keep in made.conditions
    usual = entry({}, [{"concentration": '"30 ppm"'}])
    assert usual.hard_to_keep == ""


@pytest.mark.parametrize(
    ("changes", "kwargs", "instruction"),
    [
        (
            {"work_rate": '"light"'},
            {"vapours": [{"concentration": '"30 ppm"'}]},
            "new cartridges at the start of every shift; discard at its end, after 8 h at most",
        ),
        (
            {"oxygen": '"19 %"'},
            {},
            "NO CARTRIDGE: do not start this task until it is settled which respirator it needs",
        ),
        ({"temperature": "25"}, {}, "NOT COMPUTED: do not start this task until the plan has been mended"),
    ],
)
def test_instructions(entry, changes, kwargs, instruction):
    assert entry(changes, **kwargs).instruction == instruction


# --- a worse workplace


def _amount(made):
    """Interval and longest stretch in seconds; 0 where no cartridge may be used."""
    if made.change is None or made.change.interval is None:
        return 0.0, 0.0
    task = made.task
    if made.change.shifts > 1:
        return made.change.interval, made.change.interval
    return made.change.interval, max(stretches(task.hours_of_use, task.breaks, made.change.moments))


WORSE = {
    "more vapour": ({}, lambda k: {"concentration": f'"{80 * k} ppm"'}, {}),
    "more flow": (lambda k: {"work_rate": f'"{35 * k} L/min"'}, {}, {}),
    "more humidity": (lambda k: {"relative_humidity": f'"{30 * min(k, 3.3)} %"'}, {}, {}),
    "hotter": (lambda k: {"temperature": f'"{15 * min(k, 4.0)} degC"'}, {}, {}),
    "a lower limit": (
        {}, lambda k: {"exposure_limit": f'"{100 / k**2} ppm"', "exposure_limit_authority": '"site"'}, {}
    ),
    "less carbon": (
        {}, {}, lambda k: {"sorbent_mass": f'"{90 / k} g"', "bed_depth": None, "bulk_density": '"0.45 g/cm3"'}
    ),
    "thinner air": (None, None, lambda k: {}),
}  # fmt: skip


def _place(entry, kind, k, base_ppm, name):
    task_of, vapour_of, bed_of = WORSE[kind]
    keys = {
        "facepiece": '"full facepiece"',
        "hours_of_use": '"10 h"',
        "breaks": '[{after = "3 h", length = "30 min"}, {after = "6.5 h", length = "45 min"}]',
    }
    vapour = {"name": f'"{name}"', "concentration": f'"{base_ppm} ppm"'}
    site = {"altitude": f'"{600 * k} m"'} if kind == "thinner air" else {}
    return entry(
        keys | (task_of(k) if callable(task_of) else {}),
        [vapour | (vapour_of(k) if callable(vapour_of) else {})],
        bed=bed_of(k) if callable(bed_of) else {},
        site=site,
        rules=_reuse(3),
    )


@pytest.mark.parametrize("kind", WORSE)
@settings(max_examples=80)
@given(better=st.floats(1.0, 6.0), worse=st.floats(1.0, 6.0), ppm=st.floats(20, 250),
       name=st.sampled_from(["toluene", "2-butanone", "n-butyl acetate", "n-hexane"]))  # fmt: skip
def test_a_worse_workplace_never_lengthens_the_interval_or_a_stretch(entry, kind, better, worse, ppm, name):
    better, worse = sorted((better, worse))
    good, bad = (_place(entry, kind, k, ppm, name) for k in (better, worse))
    if "input fault" in (good.status, bad.status):
        return
    interval, stretch = _amount(good)
    less, shorter = _amount(bad)
    assert less <= interval * SLACK
    assert shorter <= stretch * SLACK


@settings(max_examples=80)
@given(first=st.floats(5, 200), extra=st.floats(0.1, 200), more=st.floats(1, 5),
       names=st.permutations(["toluene", "2-butanone", "n-butyl acetate", "n-hexane", "acetone"]))  # fmt: skip
def test_another_vapour_or_more_of_it_never_lengthens(entry, first, extra, more, names):
    keys = {"facepiece": '"full facepiece"', "hours_of_use": '"10 h"', "acknowledge_outside_model": '"test"'}

    def place(*amounts):
        return entry(
            keys, [{"name": f'"{n}"', "concentration": f'"{a} ppm"'} for n, a in zip(names, amounts, strict=False)]
        )

    alone, both, worse = (_amount(p)[0] for p in (place(first), place(first, extra), place(first, extra * more)))
    assert worse <= both * SLACK
    assert both <= alone * SLACK


def test_the_worst_of_the_ranges_of_that_test_differs_from_the_best(entry):
    """So that the property above is not true only because nothing ever changes."""
    for kind in WORSE:
        good, bad = (_amount(_place(entry, kind, k, 150, "toluene"))[0] for k in (1.0, 6.0))
        assert bad < good or kind == "thinner air", kind
    lives = [_place(entry, "thinner air", k, 150, "toluene").life.life.value for k in (1.0, 6.0)]
    assert lives[1] <= lives[0]


# --- the schedule as a whole


def test_a_schedule_is_plain_data(plan_text, task_text):
    import json
    import pickle

    tasks = [
        task_text(),
        task_text({"id": '"two"', "temperature": None}),
        task_text({"id": '"three"', "oxygen": '"19 %"'}),
    ]
    made = make_schedule(read_plan_text(plan_text(tasks=tasks)))
    written = json.loads(made.as_json())
    assert [t["status"] for t in written["tasks"]] == ["interval", "input fault", "refused"]
    assert written["tasks"][0]["change"]["change_interval"] == {"value": 5.0, "unit": "h"}
    assert written["tasks"][2]["permission"]["allowed"] is False
    assert written["cautions"]
    again = pickle.loads(pickle.dumps(made))
    assert again.as_json() == made.as_json()
    assert make_schedule(again.plan).as_json() == made.as_json()
