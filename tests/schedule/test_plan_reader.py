"""The plan file. Every fault is named with its task, its key and the way out, and costs no other task."""

from __future__ import annotations

import datetime as dt

import pytest

from respcalc.core.errors import PlanError
from respcalc.schedule import FaultyTask, Task, demo_plan, make_schedule, read_plan, read_plan_text

SOLVENT = """
[[vapour]]
name = "solvent X"
molar_mass = "100 g/mol"
boiling_point = "110 degC"
saturation_pressure = "3.0 kPa"
saturation_temperature = "20 degC"
liquid_density = "0.85 g/cm3"
refractive_index = 1.40
exposure_limit = "50 ppm"
limit_authority = "data sheet 2025 (invented)"
data_from = "data sheet of 2025 (invented)"
"""


def faults(text):
    (task,) = read_plan_text(text).tasks
    assert isinstance(task, FaultyTask), task
    return task.faults


# --- faults of a task

# key, TOML literal (None: left out), what the message must say
TASK_FAULTS = [
    ("id", None, ["id is missing", 'id = "gluing"']),
    ("id", '""', ["id is empty"]),
    ("id", "7", ["id = 7 must be text in quotes"]),
    ("id", '"a\\u0000b"', ["id", "control character"]),
    ("id", '"a\\u001b[31mb"', ["id", "control character"]),
    ("cartridge", None, ["cartridge is missing", 'cartridge = "pair-A"']),
    ("cartridge", '"pear"', ["cartridge 'pear' is not among the [[cartridge]] entries (pair)"]),
    ("facepiece", None, ["facepiece is missing", '"half mask"']),
    ("facepiece", '"N95"', ["facepiece = 'N95' is not known", "half mask, full facepiece"]),
    ("facepiece", '"powered full facepiece"', ["work_rate", "blower", '"170 L/min"']),
    ("work_rate", None, ["work_rate is missing", '"moderate"']),
    ("work_rate", '"hard"', ["work_rate = 'hard' is not known", "light (30 L/min)"]),
    ("work_rate", "40", ["work_rate = 40: a bare number has no unit", 'work_rate="40 L/min"']),
    ("work_rate", '"40 g"', ["work_rate = '40 g'", "L/min"]),
    ("work_rate", '["30 L/min", "40 L/min"]', ["work_rate", "one value"]),
    ("temperature", None, ["temperature is missing", '"25 degC" (the highest that occurs)']),
    ("temperature", "25", ["temperature = 25: a bare number", 'temperature="25 degC"']),
    ("temperature", '"298"', ["temperature = '298'", "unit is missing"]),
    ("temperature", '"25 deg C"', ["temperature = '25 deg C'", 'write "degC"']),
    ("temperature", '"77 F"', ["temperature = '77 F'", 'write "degF"']),
    ("temperature", '"60.5 degC"', ["temperature = 60.5 degC is not possible", "-20 up to 60 degC"]),
    ("temperature", '"20-30 degC"', ["temperature", "range", "worst that occurs"]),
    ("temperature", "inf", ["temperature = inf"]),
    ("temperature", "2026-01-01", ["temperature"]),
    ("relative_humidity", None, ["relative_humidity is missing", '"65 %"']),
    ("relative_humidity", "65", ["relative_humidity = 6500 %", 'write "65 %"']),
    ("relative_humidity", '"65"', ["relative_humidity", 'write "65 %"']),
    ("relative_humidity", '"120 %"', ["relative_humidity = 120 %", "up to 100 %"]),
    ("relative_humidity", "-0.1", ["relative_humidity = -10 %"]),
    ("relative_humidity", "nan", ["relative_humidity must be a finite number"]),
    ("relative_humidity", "true", ["relative_humidity", "truth value"]),
    ("relative_humidity", '"85 %RH"', ["relative_humidity", 'write "%"']),
    ("relative_humidity", "1" + "0" * 400, ["relative_humidity", "401 digits"]),
    ("hours_of_use", None, ["hours_of_use is missing", '"6 h"']),
    ("hours_of_use", "8", ["hours_of_use = 8: a bare number", 'hours_of_use="8 h"']),
    ("hours_of_use", '"8 H"', ["hours_of_use = '8 H'", 'write "h"']),
    ("hours_of_use", '"8 hours"', ["hours_of_use", 'write "h"']),
    ("hours_of_use", '"30 m"', ["hours_of_use", 'write "min"']),
    ("hours_of_use", '"0 h"', ["hours_of_use = 0 h", "above 0 to 24 h"]),
    ("hours_of_use", '"25 h"', ["hours_of_use = 25 h"]),
    ("hours_of_use", '"-8 h"', ["hours_of_use = -8 h is not possible"]),
    ("hours_of_use", '"1 000 min"', ["hours_of_use", "1000, not 1 000"]),
    ("hours_of_use", '["6 h"]', ["hours_of_use", "one value"]),
    ("hours_of_use", "08:00:00", ["hours_of_use"]),
    ("days_per_week", None, ["days_per_week is missing"]),
    ("days_per_week", "0", ["days_per_week = 0 must be a whole number from 1 to 7"]),
    ("days_per_week", "8", ["days_per_week = 8"]),
    ("days_per_week", "2.5", ["days_per_week = 2.5"]),
    ("days_per_week", '"5"', ["days_per_week = '5'"]),
    ("days_per_week", "true", ["days_per_week = True"]),
    ("shift_start", '"7 o\'clock"', ["shift_start", 'write shift_start = "07:00"']),
    ("shift_start", "1230", ["shift_start = 1230"]),
    ("shift_start", "2026-05-04T07:00:00", ["shift_start"]),
    ("shift_start", '"25:00"', ["shift_start = '25:00'"]),
    ("oxygen", "20.9", ["oxygen", 'write "20.9 %"']),
    ("oxygen", '"unknown"', ["oxygen = 'unknown'"]),
    ("breaks", '"2 h"', ["breaks must be a list", '[{after = "2 h", length = "15 min"}]']),
    ("breaks", "[2]", ["breaks no. 1", "table of keys"]),
    ("breaks", '[{after = "2 h"}]', ["breaks no. 1: length is missing"]),
    ("breaks", '[{after = 2, length = "15 min"}]', ["breaks no. 1: after = 2: a bare number"]),
    ("breaks", '[{after = "2 h", length = "0 min"}]', ["breaks no. 1", "has no length"]),
    ("breaks", '[{after = "7.9 h", length = "15 min"}]', ["breaks no. 1", "not inside hours_of_use"]),
    ("breaks", '[{after = "2 h", length = "30 min"}, {after = "2.4 h", length = "15 min"}]',
     ["breaks no. 2", "after 2.4 h for 15 min", "overlaps the break before"]),
    ("breaks", '[{after = "4 h", length = "15 min"}, {after = "2 h", length = "15 min"}]', ["breaks no. 2"]),
    ("breaks", '[{after = "2 h", lenght = "15 min"}]', ["lenght is not a key here; did you mean length?"]),
    ("acknowledge_outside_model", "true", ["acknowledge_outside_model = True must be text"]),
    ("temprature", '"25 degC"', ["temprature is not a key here; did you mean temperature?"]),
    ("humidity", '"50 %"', ["humidity is not a key here"]),
    ("criterion", '"smell"', ["criterion is not a key here"]),
    ("vapour", '"toluene"', ["vapour must be written as [[vapour]]"]),
    ("vapour", "{}", ["vapour must be written as [[vapour]]"]),
    ("vapour", "[]", ["no vapour is given; add [[task.vapour]]"]),
    ("vapour", "[1]", ["table of keys is needed, not 1"]),
]  # fmt: skip


@pytest.mark.parametrize(("key", "literal", "says"), TASK_FAULTS, ids=lambda v: v[:40] if isinstance(v, str) else None)
def test_a_fault_of_a_task_is_named(plan_text, key, literal, says):
    vapours = () if key == "vapour" else ({},)
    found = faults(plan_text({key: literal}, vapours))
    about = [f for f in found if all(text in f for text in says)]
    assert about, found
    assert all(f.startswith("task 'gluing'" if key != "id" else "task ") for f in about)


VAPOUR_FAULTS = [
    ("name", None, ["name is missing", '"toluene"']),
    ("name", '"toluen"', ["no vapour named 'toluen'", "Nearest names: toluene"]),
    ("name", '"xylene"', ["can mean more than one", "m-xylene"]),
    ("name", '"paint thinner"', ["'paint thinner'"]),
    ("name", '"gasoline"', ["is a product, not one substance"]),
    ("name", '"C7H8"', ["is a formula"]),
    ("name", '"108-88-4"', ["check digit", "108-88-3 is toluene"]),
    ("name", "7", ["name = 7 must be text"]),
    ("concentration", None, ["concentration is missing", '"120 ppm" (the highest that occurs)']),
    ("concentration", "100", ["concentration = 100: a bare number", 'concentration="100 ppm"']),
    ("concentration", '"100"', ["concentration = '100'", "unit is missing"]),
    ("concentration", '"0 ppm"', ["concentration = 0 ppm is not possible"]),
    ("concentration", '"-5 ppm"', ["concentration = -5 ppm"]),
    ("concentration", '"nan ppm"', ["concentration"]),
    ("concentration", "inf", ["concentration = inf"]),
    ("concentration", '"100-200 ppm"', ["range", "worst that occurs"]),
    ("concentration", '"<0.5 ppm"', ["limit of detection"]),
    ("concentration", '"37,5 ppm"', ["comma inside a number"]),
    ("concentration", '"1 000 ppm"', ["1000, not 1 000"]),
    ("concentration", '"100 g"', ["concentration = '100 g'"]),
    ("concentration", '["80 ppm", "300 ppm"]', ["concentration", "one value"]),
    ("concentration", '"tbd"', ["concentration = 'tbd'"]),
    ("average", '"150 ppm"', ["average = 150 ppm is above concentration = 100 ppm"]),
    ("average", "50", ["average = 50: a bare number"]),
    ("average", '"-5 ppm"', ["average = -5 ppm is not possible"]),
    ("average", '"0 mg/m3"', ["average = 0 mg/m3 is not possible"]),
    ("based_on", None, ["based_on is missing", "samples"]),
    ("based_on", '" "', ["based_on is empty"]),
    ("limits_from", '"ACGIH"', ["limits_from = 'ACGIH'", "'NIOSH REL', 'OSHA PEL'"]),
    ("exposure_limit", '"20 ppm"', ["exposure_limit of toluene: say whose limit", "exposure_limit_authority"]),
    ("exposure_limit_authority", '"site"', ["exposure_limit_authority = 'site'", "without an exposure_limit"]),
    ("estimate_missing", '"yes"', ["estimate_missing = 'yes' must be true or false"]),
    ("concentation", '"1 ppm"', ["concentation is not a key here; did you mean concentration?"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "literal", "says"), VAPOUR_FAULTS, ids=lambda v: v[:40] if isinstance(v, str) else None
)
def test_a_fault_of_a_vapour_is_named_with_its_task(plan_text, key, literal, says):
    found = faults(plan_text(None, [{key: literal}]))
    about = [f for f in found if all(text in f for text in says)]
    assert about, found
    assert all(f.startswith("task 'gluing', vapour ") for f in about)


def test_every_fault_of_a_task_is_found_not_only_the_first(plan_text):
    found = faults(
        plan_text(
            {
                "temperature": None,
                "relative_humidity": "65",
                "hours_of_use": "8",
                "facepiece": '"N95"',
                "colour": '"red"',
            },
            [{"name": '"toluen"', "based_on": None}, {"name": '"xylene"', "concentration": None}],
        )
    )
    for key in ("temperature", "hours_of_use", "facepiece", "colour", "toluen", "based_on", "xylene", "concentration"):
        assert any(key in f for f in found), key


def test_a_vapour_named_twice_is_refused_under_any_of_its_names(plan_text):
    for second in ('"toluene"', '"108-88-3"', '"Methylbenzene"'):
        found = faults(plan_text(None, [{}, {"name": second}]))
        assert any("'toluene' is named twice; add the two concentrations" in f for f in found), found


def test_above_saturation_is_a_fault_that_asks_about_mist(entry):
    decane = {"name": '"n-decane"', "concentration": '"2000 ppm"'}
    decane |= {"exposure_limit": '"500 ppm"', "exposure_limit_authority": '"site"'}
    made = entry({"temperature": '"20 degC"'}, [decane], bed={"use_limit": '"5000 ppm"'})
    assert made.status == "input fault"
    assert "more than the air can hold at 20 degC" in made.reasons[0]
    assert "mist" in made.reasons[0]


# --- faults of a cartridge, of a described vapour


CARTRIDGE_FAULTS = [
    ("data_from", None, ["data_from is missing"]),
    ("in_parallel", None, ["in_parallel is missing", "in_parallel = 2"]),
    ("in_parallel", "0", ["in_parallel = 0"]),
    ("in_parallel", "2.0", ["in_parallel = 2.0"]),
    ("in_parallel", '"2"', ["in_parallel = '2'"]),
    ("in_parallel", "true", ["in_parallel = True"]),
    ("sorbent_mass", "45", ["sorbent_mass = 45: a bare number", 'sorbent_mass="45 g"']),
    ("sorbent_mass", '"45 cm"', ["sorbent_mass = '45 cm'", "g, mg, kg, lb"]),
    ("sorbent_mass", '"0 g"', ["sorbent_mass = 0 g is not possible"]),
    ("sorbent_mass", '["45 g"]', ["sorbent_mass", "one value"]),
    ("sorbent_mass", None, ["not described well enough (given: bed_depth, face_area)"]),
    ("bed_depth", '"22 cm"', ["bulk_density is 0.04546 g/cm3"]),
    ("bulk_density", '"0.6 g/cm3"', ["contradicts itself", "45 cm2 x 2.2 cm x 0.6 g/cm3 is 59.4 g", "45 g"]),
    ("use_limit", "1000", ["use_limit = 1000: a bare number"]),
    ("use_limit", '"10 mg/m3"', ["use_limit = '10 mg/m3'"]),
    ("sorbent_mas", '"45 g"', ["sorbent_mas is not a key here; did you mean sorbent_mass?"]),
]


@pytest.mark.parametrize(
    ("key", "literal", "says"), CARTRIDGE_FAULTS, ids=lambda v: v[:40] if isinstance(v, str) else None
)
def test_a_fault_of_a_cartridge_reaches_the_tasks_that_use_it(plan_text, key, literal, says):
    found = faults(plan_text(bed={key: literal}))
    about = [f for f in found if all(text in f for text in says)]
    assert about, found
    assert all("cartridge" in f and "pair" in f for f in about)


@pytest.mark.parametrize("literal", [None, '""', "7", "[]", "{}", '["pair"]'])
def test_a_cartridge_that_no_task_can_name_is_reported_with_the_plan(plan_text, literal):
    plan = read_plan_text(plan_text(bed={"id": literal}))
    assert any(f.startswith("cartridge no. 1: id") or ": id = " in f for f in plan.faults), plan.faults
    assert any("cartridge 'pair' is not among" in f for f in plan.tasks[0].faults)
    assert make_schedule(plan).faulty


def test_a_fault_in_a_cartridge_that_nobody_uses_is_not_lost(plan_text):
    spare = '[[cartridge]]\nid = "spare"\ndata_from = "x"\nsorbent_mass = 45\nface_area = "45 cm2"\nin_parallel = 2\n'
    plan = read_plan_text(plan_text(extra=spare))
    assert isinstance(plan.tasks[0], Task)
    assert len(plan.faults) == 1
    assert "cartridge 'spare': sorbent_mass = 45" in plan.faults[0]
    assert plan.unused_cartridges == ("spare",)
    made = make_schedule(plan)
    assert made.faulty
    assert made.entries[0].status == "interval"
    assert made.as_dict()["faults_outside_tasks"] == list(plan.faults)


def test_a_sound_cartridge_that_nobody_uses_is_only_noted(plan_text):
    spare = (
        '[[cartridge]]\nid = "spare"\ndata_from = "x"\nsorbent_mass = "45 g"\nface_area = "45 cm2"\nin_parallel = 2\n'
    )
    plan = read_plan_text(plan_text(extra=spare))
    assert (plan.unused_cartridges, plan.faults) == (("spare",), ())


@pytest.mark.parametrize("second", ['"pair"', '" pair "'])
def test_two_cartridges_of_one_name_are_not_guessed_between(plan_text, second):
    twin = (
        f'[[cartridge]]\nid = {second}\ndata_from = "x"\nsorbent_mass = "90 g"\nface_area = "45 cm2"\nin_parallel = 2\n'
    )
    found = faults(plan_text(extra=twin))
    assert any("id 'pair' is used twice" in f for f in found)


def test_two_tasks_of_one_name_are_both_refused(plan_text, task_text):
    plan = read_plan_text(plan_text(tasks=[task_text(), task_text({"id": '" gluing"'}), task_text({"id": '"other"'})]))
    first, second, third = plan.tasks
    assert all(any("id 'gluing' is used twice" in f for f in t.faults) for t in (first, second))
    assert isinstance(third, Task)


def test_a_vapour_of_ones_own_is_used_with_its_data(entry):
    made = entry(None, [{"name": '"solvent X"'}], extra=SOLVENT)
    assert made.status == "interval"
    assert "solvent X (CAS not given" in made.life.governed_by
    assert any(d.name == "molar_mass of solvent X" and d.kind == "given" for d in made.life.basis.data)
    assert any("no CAS number" in w for w in made.permission.warnings)


def test_a_vapour_pressure_may_be_a_table_of_points(entry):
    points = SOLVENT.replace('saturation_pressure = "3.0 kPa"\nsaturation_temperature = "20 degC"\n',
                             'saturation_pressure = { "20 degC" = "3.0 kPa", "40 degC" = "8.0 kPa" }\n')  # fmt: skip
    assert entry(None, [{"name": '"solvent X"'}], extra=points).status == "interval"
    broken = points.replace('"8.0 kPa"', '["8.0 kPa"]')
    made = entry(None, [{"name": '"solvent X"'}], extra=broken)
    assert made.status == "input fault"
    assert any("saturation_pressure: 40 degC" in r and "one value" in r for r in made.reasons)


@pytest.mark.parametrize(
    ("line", "known"),
    [("", None), ("mixes_with_water = true\n", True), ("mixes_with_water = false\n", False)],
    ids=["left out", "true", "false"],
)
def test_an_own_vapour_says_whether_it_mixes_with_water(plan_text, line, known):
    (task,) = read_plan_text(plan_text(None, [{"name": '"solvent X"'}], extra=SOLVENT + line)).tasks
    assert isinstance(task, Task)
    assert task.inhaled[0].vapour.mixes_with_water is known


OWN_VAPOUR_FAULTS = [
    ('molar_mass = "100 g/mol"', "", "molar_mass is missing"),
    ('molar_mass = "100 g/mol"', "molar_mass = 100", "molar_mass = 100: a bare number"),
    ('molar_mass = "100 g/mol"', 'molar_mass = ["100 g/mol"]', "molar_mass"),
    ('saturation_temperature = "20 degC"', "", "saturation_temperature"),
    ('"3.0 kPa"', '"300 kPa"', "contradicts boiling_point"),
    ("refractive_index = 1.40", "", "refractive_index (or molar_polarization) is missing"),
    ('limit_authority = "data sheet 2025 (invented)"', "", "limit_authority is missing"),
    ('data_from = "data sheet of 2025 (invented)"', "", "data_from is missing"),
    ('data_from = "data sheet of 2025 (invented)"', "data_from = 2025", "data_from = 2025 must be text"),
    ("[[vapour]]", "[[vapour]]\ncas = 108883", "cas = 108883 must be text"),
    ("[[vapour]]", '[[vapour]]\ncas = "108-88-4"', "check digit"),
    ("[[vapour]]", '[[vapour]]\ncas = "108-88-3"', "molar_mass = 100 g/mol does not belong"),
    ("[[vapour]]", "[[vapour]]\nformula = 7", "formula = 7 must be text"),
    ("[[vapour]]", '[[vapour]]\nmixes_with_water = "yes"', "mixes_with_water = 'yes' must be true or false"),
    ("[[vapour]]", "[[vapour]]\nmixes_with_water = 1", "mixes_with_water = 1 must be true or false"),
    ("[[vapour]]", '[[vapour]]\nboling_point = "110 degC"', "is not a key here; did you mean boiling_point?"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "says"), OWN_VAPOUR_FAULTS, ids=lambda v: v[:40] if isinstance(v, str) else None
)
def test_a_fault_of_an_own_vapour_reaches_its_tasks(plan_text, old, new, says):
    assert old in SOLVENT
    found = faults(plan_text(None, [{"name": '"solvent X"'}], extra=SOLVENT.replace(old, new)))
    assert any(says in f and "vapour 'solvent X'" in f for f in found), found


@pytest.mark.parametrize(
    ("name", "cas", "says"),
    [
        ("benzene", "", 'write cas = "71-43-2"'),
        ("Methylene Chloride", "", 'write cas = "75-09-2"'),
        ("MEK", "", 'write cas = "78-93-3"'),
        ("benzene", "108-88-3", 'write cas = "71-43-2"'),
        ("formaldehyde", "", "approved for formaldehyde"),
        ("glue vapour", "50-00-0", "approved for formaldehyde"),
        ("ammonia", "", "physical adsorption"),
        ("cleaner", "7664-41-7", "physical adsorption"),
    ],
)
def test_a_listed_substance_cannot_be_disguised(plan_text, name, cas, says):
    own = SOLVENT.replace('name = "solvent X"', f'name = "{name}"' + (f'\ncas = "{cas}"' if cas else ""))
    found = faults(plan_text(None, [{"name": f'"{name}"'}], extra=own))
    assert any(says in f for f in found), found


def test_a_surrogate_for_a_product_may_carry_its_name(entry):
    own = SOLVENT.replace('"solvent X"', '"white spirit"')
    assert entry(None, [{"name": '"white spirit"'}], extra=own).status == "interval"


def test_what_a_listed_substance_is_held_to_stays(entry):
    own = SOLVENT.replace('name = "solvent X"', 'name = "our benzene"\ncas = "71-43-2"')
    own = own.replace("100 g/mol", "78.11 g/mol").replace("110 degC", "80.1 degC").replace("3.0 kPa", "10 kPa")
    made = entry(None, [{"name": '"our benzene"', "concentration": '"40 ppm"'}], extra=own)
    assert made.status == "refused"
    assert any("NIOSH REL" in r for r in made.reasons)


# --- the plan as a whole


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", ["the table [site] is missing", "name is missing", "prepared_by is missing", "date is missing"]),
        ("# nothing but a comment\n", ["[site]"]),
        ("[site]\nname = 'x'\n[[task]]\nid = \n", ["not valid TOML", "line 4"]),
        ("[site\nname = 'x'", ["not valid TOML", "line 1"]),
        ("a = 1\na = 2\n", ["not valid TOML", "line 2"]),
        ("[site]\nname = \"unclosed\n", ["not valid TOML", "line 2"]),
        ("site = 'x'\n", ["[site]: a table of keys is needed, not 'x'"]),
        ("site = [1]\n", ["[site]: a table of keys is needed"]),
        ("[[site]]\nname = 'x'\n", ["[site]: a table of keys is needed"]),
        ("task = 'x'\n", ["task must be written as [[task]]"]),
        ("[task]\nid = 'x'\n", ["task must be written as [[task]]"]),
        ("rules = 3\n", ["[rules]: a table of keys"]),
        ("cartridge = {}\n", ["cartridge must be written as [[cartridge]]"]),
        ("[tasks]\n", ["tasks is not a key here; did you mean task?"]),
        ("[1, 2]\n", ["not valid TOML", "line 1"]),
        ("= = =", ["not valid TOML"]),
        ("x = " + "[" * 5000, ["nested"]),
        ("x = " + "9" * 5000, ["not valid TOML"]),
        ("\x00", ["not valid TOML"]),
        ('{"site": {}}', ["not valid TOML"]),
    ],
    ids=lambda v: repr(v)[:30] if isinstance(v, str) else None,
)  # fmt: skip
def test_what_spoils_the_whole_file_stops_it_with_every_reason(text, says):
    with pytest.raises(PlanError) as refused:
        read_plan_text(text, name="plan.toml")
    message = str(refused.value)
    for words in says:
        assert words in message


def test_a_plan_without_tasks_says_so(plan_text):
    with pytest.raises(PlanError, match=r"no task is given; add at least one \[\[task\]\]"):
        read_plan_text(plan_text(tasks=[]))


SITE_FAULTS = [
    ({"name": None}, "name is missing"),
    ({"name": "7"}, "name = 7 must be text"),
    ({"prepared_by": '""'}, "prepared_by is empty"),
    ({"date": None}, "date is missing"),
    ({"date": "07:00:00"}, "date = datetime.time"),
    ({"altitude": None}, "altitude, pressure: neither is given"),
    ({"pressure": '"101 kPa"'}, "altitude, pressure: both are given"),
    ({"altitude": "0"}, "altitude = 0: a bare number"),
    ({"altitude": "[]"}, "altitude = [] must be one value"),
    ({"altitude": '"9000 m"'}, "altitude = 9000 m is not possible"),
    ({"oxygen": "20.9"}, 'write "20.9 %"'),
    ({"oxygen": '["20.9 %"]'}, "oxygen"),
    ({"invented": '"yes"'}, "invented = 'yes' must be true or false"),
    ({"prepered_by": '"x"'}, "did you mean prepared_by?"),
    ({"note": '"a\\u0007b"'}, "control character"),
]


@pytest.mark.parametrize(("change", "says"), SITE_FAULTS, ids=lambda v: str(v)[:40])
def test_a_fault_of_the_site_stops_the_plan(plan_text, change, says):
    with pytest.raises(PlanError) as refused:
        read_plan_text(plan_text(site=change))
    assert any("[site]" in p and says in p for p in refused.value.problems), refused.value.problems
    if "altitude" in change and change["altitude"] is not None:
        assert "neither is given" not in str(refused.value)


RULES_FAULTS = [
    ({"days_opened": "0"}, "days_opened = 0 must be a whole number"),
    ({"days_opened": "3"}, "reuse_basis"),
    ({"days_opened": "365", "reuse_basis": '"desorption data"'}, "days_opened = 365"),
    ({"days_opened": "3", "reuse_basis": '"changed when they smell"'}, "smell or taste is never the basis"),
    ({"days_opened": "3", "reuse_basis": '"no data"'}, "names no data"),
    ({"days_opened": "3", "reuse_basis": '"no desorption data"'}, "names no data"),
    ({"days_opened": "3", "reuse_basis": '"they still work fine"'}, "names no data"),
    ({"days_opened": "3", "reuse_basis": '"common practice"'}, "habit is none"),
    ({"days_opened": "3", "reuse_basis": '"desorption data"', "stored_at": '"40 %"'}, "needs reuse_vapours"),
    ({"days_opened": "3", "reuse_vapours": '"toluene"'}, "must be a list of names"),
    ({"days_opened": "3", "reuse_vapours": '["tolune"]'}, "'tolune'"),
    ({"days_opened": "3", "reuse_vapours": '["xylene"]'}, "xylene"),
    (
        {"longest_interval": '"8 h"', "longest_interval_source": '"when odour breaks through, table of 2019"'},
        "smell or taste is never the basis",
    ),
    (
        {
            "longest_interval": '"8 h"',
            "longest_interval_source": '"table of 2019"',
            "longest_interval_counts": '"shifts"',
        },
        "'the clock' or 'hours worn'",
    ),
    ({"longest_interval_counts": '"hours worn"'}, "goes with longest_interval"),
    ({"days_opened": "3", "reuse_basis": '"no odour so far"'}, "smell or taste is never the basis"),
    ({"days_opened": "30", "reuse_basis": '"kept in a zip bag"'}, "a bag does not stop vapour"),
    ({"challenge_fraction": '"x"'}, "challenge_fraction = 'x'"),
    ({"challenge_fraction": '"50 %"'}, "challenge_fraction = 0.5"),
    ({"challenge_fraction": "[]"}, "challenge_fraction"),
    ({"limit_fraction": "0"}, "limit_fraction"),
    ({"limit_fraction": "10"}, "limit_fraction"),
    ({"longest_interval": '"8 h"'}, "longest_interval_source"),
    ({"longest_interval": "8", "longest_interval_source": '"x"'}, "longest_interval = 8: a bare number"),
    ({"longest_interval": '"0 h"', "longest_interval_source": '"x"'}, "longest_interval needs a time above 0"),
    ({"longest_interval": '"8 h"', "longest_interval_source": '"campus rule"'}, "has no year"),
    ({"longest_interval_source": '"campus rule"'}, "longest_interval_source needs longest_interval"),
    ({"limits": '"OSHA PEL"'}, "limits is not a key here; did you mean limits_from?"),
]


@pytest.mark.parametrize(("rules", "says"), RULES_FAULTS, ids=lambda v: str(v)[:60])
def test_a_fault_of_the_rules_stops_the_plan(plan_text, rules, says):
    with pytest.raises(PlanError) as refused:
        read_plan_text(plan_text(rules=rules))
    assert any("[rules]" in p and says in p for p in refused.value.problems), refused.value.problems


KEPT = {"days_opened": "3", "stored_at": '"40 %"', "reuse_vapours": '["toluene"]'}


def test_data_beside_a_bag_or_a_smell_are_data(plan_text):
    for basis in ("desorption data of 2025 for toluene, stored in bags", "migration test; odour not used"):
        plan = read_plan_text(plan_text(rules=KEPT | {"reuse_basis": f'"{basis}"'}))
        assert plan.rules.reuse_basis == basis


def test_the_rest_of_the_plan_is_computed_and_nothing_is_lost(plan_text, task_text):
    tasks = [
        task_text({"id": '"one"'}),
        task_text({"id": '"two"', "temperature": None, "description": '"in the yard"'}),
        task_text({"id": '"three"'}, [{"name": '"xylene"'}]),
        task_text({"id": '"four"'}, [{"name": '"methylene chloride"', "concentration": '"5 ppm"'}]),
        task_text({"id": '"five"', "cartridge": '"other"'}),
        task_text({"id": '"six"'}),
    ]
    made = make_schedule(read_plan_text(plan_text(tasks=tasks)))
    assert [e.task.id for e in made.entries] == ["one", "two", "three", "four", "five", "six"]
    assert [e.status for e in made.entries] == [
        "interval", "input fault", "input fault", "refused", "input fault", "interval",
    ]  # fmt: skip
    assert made.entries[1].task.description == "in the yard"
    assert all(e.reasons for e in made.entries if e.status != "interval")
    assert made.entries[0].change == made.entries[5].change
    assert made.faulty
    assert made.refused


def test_a_task_without_an_id_is_still_told_apart(plan_text, task_text):
    plan = read_plan_text(plan_text(tasks=[task_text(), task_text({"id": None})]))
    assert plan.tasks[1].id == "task no. 2"


# --- the file


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\xff\xfe[\x00s\x00i\x00t\x00e\x00]\x00", "is not UTF-8 text; save it as UTF-8"),
        (bytes(range(256)), "is not UTF-8 text"),
        ("[site]\nname = 'Größe'\n".encode("latin-1"), "is not UTF-8 text"),
        (b"\x89PNG\r\n\x1a\n", "is not UTF-8 text"),
        (b"", "[site] is missing"),
        (b"PK\x03\x04", "not valid TOML"),
    ],
)
def test_a_file_that_is_no_plan(tmp_path, content, says):
    path = tmp_path / "plan.toml"
    path.write_bytes(content)
    with pytest.raises(PlanError) as refused:
        read_plan(path)
    assert "plan.toml" in str(refused.value)
    assert says in str(refused.value)


def test_a_missing_file_and_a_folder(tmp_path):
    with pytest.raises(PlanError, match=r"nowhere\.toml: cannot be read \(No such file"):
        read_plan(tmp_path / "nowhere.toml")
    with pytest.raises(PlanError, match="is a folder; name the plan file itself"):
        read_plan(tmp_path)


def test_a_byte_order_mark_and_windows_lines_are_read(tmp_path, plan_text):
    path = tmp_path / "plan.toml"
    path.write_bytes(b"\xef\xbb\xbf" + plan_text().replace("\n", "\r\n").encode())
    assert isinstance(read_plan(path).tasks[0], Task)


# --- what is read


def test_a_whole_task(plan_text):
    text = plan_text(
        {
            "shift_start": "06:30:00",
            "breaks": '[{after = "2 h", length = "15 min"}, {after = "4 h", length = "30 min"}]',
            "oxygen": '"20.5 %"',
            "description": '"joints, Größe 3"',
        },
        [{"average": '"40 ppm"'}, {"name": '"MEK"', "concentration": '"150 mg/m3"'}],
        rules={"limits_from": '"OSHA PEL"', "longest_interval": '"6 h"', "longest_interval_source": '"campus, 2021"'},
    )
    plan = read_plan_text(text)
    (task,) = plan.tasks
    assert (task.id, task.description, task.days_per_week) == ("gluing", "joints, Größe 3", 5)
    assert task.hours_of_use == 8 * 3600.0
    assert [(b.after, b.length) for b in task.breaks] == [(7200.0, 900.0), (14400.0, 1800.0)]
    assert task.shift_start == dt.time(6, 30)
    assert task.air.oxygen.value == pytest.approx(0.205)
    toluene, mek = task.inhaled
    assert (toluene.concentration, toluene.average) == (pytest.approx(1e-4), pytest.approx(4e-5))
    assert mek.concentration == pytest.approx(150e-6 / 72.106e-3 * 24.465e-3, rel=1e-3)
    assert toluene.limits.long_term.authority == "OSHA PEL"
    assert plan.rules.longest_interval == 6 * 3600.0
    assert plan.text == text


@pytest.mark.parametrize("start", ['"06:30"', "06:30:00", '"0630"', '" 06:30"'])
def test_the_start_may_be_a_toml_time_or_text(plan_text, start):
    task = read_plan_text(plan_text({"shift_start": start})).tasks[0]
    if start == '" 06:30"':
        assert isinstance(task, FaultyTask)
    else:
        assert task.shift_start == dt.time(6, 30)


def test_the_date_may_be_a_toml_date_or_text(plan_text):
    assert read_plan_text(plan_text()).site.date == "2026-05-04"
    assert read_plan_text(plan_text(site={"date": '"May 2026"'})).site.date == "May 2026"


def test_a_limit_of_the_task_needs_a_unit(plan_text):
    found = faults(plan_text(None, [{"exposure_limit": "20", "exposure_limit_authority": '"site"'}]))
    assert any("exposure_limit = 20: a bare number" in f for f in found)


def test_a_limit_of_the_task_stands_above_the_rule_of_the_site(plan_text):
    plan = read_plan_text(
        plan_text(None, [{"exposure_limit": '"20 ppm"', "exposure_limit_authority": '"site 2026"'}],
                  rules={"limits_from": '"OSHA PEL"'})
    )  # fmt: skip
    assert plan.tasks[0].inhaled[0].limits.long_term.authority == "site 2026"


@pytest.mark.parametrize("amount", ['"unknown"', '"not known"', '"?"', '" Unknown "'])
def test_a_concentration_that_is_not_known_is_refused_not_guessed(entry, amount):
    made = entry(None, [{"concentration": amount}])
    assert made.status == "refused"
    assert "concentration of toluene is not known" in made.reasons[0]
    assert "immediately dangerous" in made.reasons[0]
    assert "1910.134 (d)(1)(iii)" in made.reasons[0]
    assert "NO CARTRIDGE" in made.instruction
    assert made.life is None


def test_one_unknown_part_makes_the_whole_air_unknown(entry):
    made = entry(None, [{}, {"name": '"MEK"', "concentration": '"unknown"'}])
    assert made.status == "refused"
    assert "2-butanone" in made.reasons[0]


@pytest.mark.parametrize(
    ("mask", "flow", "least"),
    [
        ("powered full facepiece", "40 L/min", "115 L/min"),
        ("powered half mask", "114 L/min", "115 L/min"),
        ("powered hood or helmet", "115 L/min", "170 L/min"),
        ("powered loose-fitting", "169 L/min", "170 L/min"),
    ],
)
def test_a_blower_that_draws_less_than_it_must_would_flatter_the_cartridges(plan_text, mask, flow, least):
    (fault,) = faults(plan_text({"facepiece": f'"{mask}"', "work_rate": f'"{flow}"'}))
    assert flow in fault
    assert f"{least} that the blower" in fault
    assert "42 CFR 84" in fault
    enough = read_plan_text(plan_text({"facepiece": f'"{mask}"', "work_rate": f'"{least}"'}))
    assert isinstance(enough.tasks[0], Task)


def test_oxygen_of_the_task_stands_above_that_of_the_site(entry):
    assert entry().status == "interval"
    low = entry({"oxygen": '"19.4 %"'})
    assert low.status == "refused"
    assert "oxygen 19.4 %" in low.reasons[0]
    missing = entry(site={"oxygen": None})
    assert missing.status == "refused"
    assert "oxygen was not stated" in missing.reasons[0]


def test_the_demonstration_is_sound_and_says_that_it_is_invented():
    plan = demo_plan()
    assert plan.site.invented
    assert "invented" in plan.site.name
    assert all(isinstance(t, Task) for t in plan.tasks)
    assert plan.unused_cartridges == plan.faults == ()


# --- humidity in other measures


HUMIDITY_FAULTS = [
    ({"dew_point": '"30 degC"'}, ["dew_point = 30 degC is above temperature = 25 degC"]),
    ({"wet_bulb": '"-2 degC"'}, ["wet_bulb = -2 degC is below 0 degC"]),
    ({"wet_bulb": "18"}, ["wet_bulb = 18: a bare number has no unit"]),
    ({"humidity_ratio": '"30 g/kg"'}, ["humidity_ratio = 30 g/kg is above 20.09 g/kg"]),
    ({"absolute_humidity": '"30 g/m3"'}, ["absolute_humidity = 30 g/m3 is above 23.0"]),
    ({"relative_humidity": '"60 %"', "dew_point": '"10 degC"'}, ["relative_humidity = 60 %, dew_point", "disagree"]),
    ({"dew_point": '["10 degC"]'}, ["dew_point", "one value"]),
    ({"dewpoint": '"14 degC"'}, ["dewpoint is not a key here; did you mean dew_point?"]),
    ({}, ["relative_humidity is missing", "dew_point, wet_bulb, humidity_ratio, absolute_humidity"]),
]


@pytest.mark.parametrize(("keys", "says"), HUMIDITY_FAULTS, ids=lambda v: " ".join(v)[:40])
def test_a_fault_of_another_measure_of_humidity_is_named(plan_text, keys, says):
    found = faults(plan_text({"relative_humidity": None} | keys))
    assert any(f.startswith("task 'gluing'") and all(text in f for text in says) for f in found), found


@pytest.mark.parametrize(
    "keys",
    [
        {"dew_point": '"14 degC"'},
        {"wet_bulb": '"18 degC"'},
        {"humidity_ratio": '"70 gr/lb"'},
        {"absolute_humidity": '"11.6 g/m3"'},
        {"relative_humidity": '"50 %"', "dew_point": '"14 degC"'},
    ],
    ids=" ".join,
)
def test_a_task_may_give_humidity_in_another_measure(entry, keys):
    made = entry({"relative_humidity": None} | keys)
    assert made.task.air.relative_humidity.value == pytest.approx(0.505, abs=0.005)
    assert {d.name for d in made.task.air.humidity_given} >= set(keys) - {"relative_humidity"}
    assert made.status == "interval"
    by_humidity = entry({"relative_humidity": f"{made.task.air.relative_humidity.value!r}"})
    assert made.change.interval == by_humidity.change.interval


@pytest.mark.parametrize(("written", "fault"), [('"0.85 %"', "85 %"), ("0.0085", "85 %"), ('"1 %"', "100 %")])
def test_a_fraction_typed_as_per_cent_is_asked_about(entry, written, fault):
    found = entry({"relative_humidity": written})
    assert found.status == "input fault"
    assert any(f'write "{fault}"' in reason and "fraction typed as per cent" in reason for reason in found.reasons)


@pytest.mark.parametrize("written", ['"0 %"', "0.85", '"2 %"', '"85 %"'])
def test_other_humidities_are_taken_as_they_are(entry, written):
    assert entry({"relative_humidity": written}).status == "interval"


def test_the_store_of_opened_cartridges_likewise(plan_text, entry):
    rules = KEPT | {"reuse_basis": '"desorption data of 2025"', "stored_at": '"0.6 %"'}
    with pytest.raises(PlanError, match=r'stored_at = 0.6 % is drier than any room.*write "60 %"'):
        read_plan_text(plan_text(rules=rules))
    opened = {"opened_on": "2026-05-04", "stored_at": '"0.6 %"'}
    assert any('write "60 %"' in reason for reason in entry(bed=opened).reasons)


@pytest.mark.parametrize(
    ("name", "says"),
    [("ammonia", "ammonia or methylamine cartridge"), ("quicksilver", "mercury cartridge"),
     ("CO", "not held by carbon"), ("aziridine", "13 carcinogens"), ("formalin", "approved for formaldehyde")],
)  # fmt: skip
def test_a_substance_that_is_named_rightly_and_not_held_is_refused_and_no_fault(entry, name, says):
    found = entry({}, [{"name": f'"{name}"', "concentration": '"1 ppm"'}, {}])
    assert found.status == "refused"
    assert any(says in reason for reason in found.reasons)
    assert found.life is None
    assert "NO CARTRIDGE" in found.instruction


@pytest.mark.parametrize(
    ("name", "element"),
    [("ammonia", True), ("mercury", True), ("chlorine", True), ("CO", False), ("nitrogen", False), ("methane", False),
     ("NO2", False)],
)  # fmt: skip
def test_another_element_is_named_only_where_there_is_one(entry, name, element):
    (reason,) = entry({}, [{"name": f'"{name}"', "concentration": '"1 ppm"'}]).reasons
    assert ("an element approved for it" in reason) == element
    assert "atmosphere-supplying respirator" in reason
