"""Products in a plan: read, divided, added to what is measured, and written down."""

from __future__ import annotations

import json
import math
import random
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from respcalc.cartridges import describe_bed
from respcalc.command.main import BAD_INPUT, DONE, SOME_REFUSED, main
from respcalc.estimate import estimate_product_life
from respcalc.schedule import FaultyTask, Task, make_schedule, read_plan_text, write_documents
from respcalc.schedule.documents import _ordinal, csv_text, record_html
from respcalc.workplace import describe_air, describe_product

PARTS = {"n-butyl acetate": "60 %", "toluene": "40 %"}
LIGROINE = {"ligroine": {"n-heptane": "60 %", "methylcyclohexane": "40 %"}}
SAMPLES = "4 samples (invented)"
PRODUCT = {"name": "thinner", "basis": "mass", "data_from": "supplier's letter (invented)", "parts": PARTS}
POURED = {"name": "thinner", "total": "150 ppm", "based_on": SAMPLES}


def toml(value):
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return json.dumps(value)


def table(head, keys):
    return "\n".join([f"[[{head}]]", *(f"{k} = {toml(v)}" for k, v in keys.items() if v is not None), ""])


@pytest.fixture(scope="module")
def plan_of(plan_text, task_text):
    """A plan of one task from its products, what is poured, and what is measured."""

    def make(product=None, poured=None, vapours=(), *, products=None, pourings=None, task=None, extra="", rules=None):
        products = [PRODUCT | (product or {})] if products is None else [PRODUCT | p for p in products]
        pourings = [POURED | (poured or {})] if pourings is None else [POURED | p for p in pourings]
        text = "\n".join([task_text(task, vapours), *(table("task.product", p) for p in pourings)])
        given_first = "\n".join([extra, *(table("product", p) for p in products)])
        return plan_text(tasks=[text], extra=given_first, rules=rules)

    return make


@pytest.fixture(scope="module")
def entry_of(plan_of):
    return lambda *args, **kwargs: make_schedule(read_plan_text(plan_of(*args, **kwargs))).entries[0]


@pytest.fixture(scope="module")
def faults_of(plan_of):
    def read(*args, **kwargs):
        plan = read_plan_text(plan_of(*args, **kwargs))
        return [*(f for t in plan.tasks if isinstance(t, FaultyTask) for f in t.faults), *plan.faults]

    return read


class Text(HTMLParser):
    def __init__(self, html):
        super().__init__()
        self.words, self.tags = [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def page_of(plan):
    return Text(record_html(make_schedule(read_plan_text(plan))))


# --- reading


def test_a_product_gives_what_the_library_gives_for_it(entry_of):
    made = entry_of()
    air = describe_air(temperature="25 degC", relative_humidity="50 %", altitude="0 m", oxygen="20.9 %")
    there = describe_product("thinner", PARTS, data_from="x").in_air("150 ppm", air=air, based_on=SAMPLES)
    pair = describe_bed("pair", sorbent_mass="45 g", face_area="45 cm2", bed_depth="2.2 cm", in_parallel=2)
    life = estimate_product_life(there, cartridge=pair, work_rate="moderate")
    assert made.status == "interval"
    assert made.life.life.value == pytest.approx(life.life.value, rel=1e-12)
    assert made.task.total == pytest.approx(150e-6)
    assert made.as_dict()["products"][0]["based_on"] == SAMPLES
    assert "oxygen" in made.permission.as_dict()["criteria"][0]["criterion"]


def test_every_key_of_a_product_is_read(entry_of):
    made = entry_of(
        {"basis": "volume", "parts": {"toluene": "60 %", "ligroine": "30 %"}, "surrogates": LIGROINE,
         "remainder": ["not volatile", "resin (invented)"], "estimate_missing": True},
        {"total": "600 mg/m3", "average": "200 mg/m3", "liquid_temperature": "30 degC", "least_left": "20 %",
         "exposure_limits": {"108-88-3": ["20 ppm", "site limit of 2026"]}},
    )  # fmt: skip
    (there,) = made.task.products
    assert there.product.basis == "volume"
    assert there.product.not_volatile == pytest.approx(0.1)
    assert there.total.kind == "computed"
    told = " ".join(made.task.notices)
    for text in ("liquid at 30 degC", "until 20 % of its mass is left", "by the user's choice", "resin (invented)",
                 "total given as 600 mg/m3", "shift average of the total"):  # fmt: skip
        assert text in told
    held = {p.vapour.name: p for p in made.task.inhaled}
    assert held["toluene"].limits.long_term.authority == "site limit of 2026"
    assert held["n-heptane"].limits.long_term.authority == "NIOSH REL"
    assert all(p.average < p.concentration for p in made.task.inhaled)


def test_an_unknown_remainder_needs_no_reason(entry_of):
    made = entry_of({"parts": {"toluene": "95 %"}, "remainder": "unknown"})
    assert made.task.products[0].product.unknown == pytest.approx(0.05)


def test_a_vapour_of_the_plans_own_may_be_a_part(entry_of):
    own = table("vapour", {"name": "solvent X", "molar_mass": "100 g/mol", "boiling_point": "110 degC",
                           "saturation_pressure": "3.0 kPa", "saturation_temperature": "20 degC",
                           "liquid_density": "0.85 g/cm3", "refractive_index": 1.40, "exposure_limit": "50 ppm",
                           "limit_authority": "sheet (invented)", "data_from": "sheet (invented)"})  # fmt: skip
    for product in (
        {"parts": {"solvent X": "50 %", "toluene": "50 %"}},
        {"parts": {"toluene": "50 %"}, "remainder": ["solvent X", "letter"]},
        {"parts": {"ligroine": "50 %", "toluene": "50 %"}, "surrogates": {"ligroine": {"solvent X": "100 %"}}},
    ):
        made = entry_of(product, extra=own)
        assert "solvent X" in [p.vapour.name for p in made.task.inhaled]
    faulty = entry_of({"parts": {"solvent X": "50 %", "toluene": "50 %"}}, extra=own.replace("3.0 kPa", "3.0"))
    assert any("vapour 'solvent X': " in reason for reason in faulty.reasons)


def test_a_product_that_no_task_uses_is_noted_on_the_record(plan_of):
    plan = plan_of(products=[{}, {"name": "spare & co"}])
    assert read_plan_text(plan).unused_products == ("spare & co",)
    assert "in the air of no task: spare & co." in page_of(plan).text
    assert "in the air of no task" not in page_of(plan_of()).text


# --- faults

FAULTS = [
    ({"name": None}, {}, ["name is missing", "thinner A"]),
    ({"basis": None}, {}, ["product 'thinner': basis is missing", '"mass"']),
    ({"basis": "weight"}, {}, ["product 'thinner': basis = 'weight'", '"volume"']),
    ({"data_from": None}, {}, ["product 'thinner': data_from is missing"]),
    ({"parts": None}, {}, ["product 'thinner': parts is missing", '{ "toluene" = "60 %"']),
    ({"parts": {}}, {}, ["parts = {} must be a table"]),
    ({"parts": ["toluene"]}, {}, ["parts = ['toluene'] must be a table"]),
    ({"parts": {"toluene": 0.6, "acetone": "x"}}, {}, ["product 'thinner': share of acetone = 'x'"]),
    ({"parts": {"toluene": {"a": "1 %"}}}, {}, ["share of toluene", "dict"]),
    ({"parts": {"tol\x1b[31muene": "100 %"}}, {}, ["product 'thinner', parts: ", "control character"]),
    ({"parts": {"toluene": "60 %"}}, {},
     ["sum to 60 % by mass, and 40 % is missing", 'remainder = ["n-heptane", "supplier\'s letter of May 2025"]',
      'remainder = "unknown"']),
    ({"parts": {"toluene": "60 %", "ligroine": "40 %"}}, {},
     ["'ligroine' is a product", 'surrogates = {"ligroine" = {"<vapour>" = "<share> %", ...}}',
      'remainder = ["not volatile", "<why>"]']),
    ({"surrogates": LIGROINE}, {}, ["surrogates: 'ligroine' is not among the parts"]),
    ({"surrogates": ["x"]}, {}, ["surrogates = ['x'] must be a table"]),
    ({"remainder": ["resin"]}, {}, ["remainder = ['resin'] must be what it is and how that is known"]),
    ({"remainder": 5}, {}, ["remainder = 5 must be"]),
    ({"remainder": "not volatile"}, {}, ["remainder = 'not volatile'"]),
    ({"part": "x"}, {}, ["product 'thinner': part is not a key here; did you mean parts?"]),
    ({}, {"name": "thiner"}, ["product 'thiner' is not among the [[product]] entries (thinner)"]),
    ({}, {"name": None}, ["name is missing"]),
    ({}, {"total": None}, ["task 'gluing', product 'thinner': total is missing", "safety data sheet", "never",
                           "29 CFR 1910.134 (d)(1)(iii)", 'total = "unknown"']),
    ({}, {"total": 150}, ["product 'thinner': total = 150: a bare number has no unit"]),
    ({}, {"total": ["1 ppm"]}, ["total = ['1 ppm'] must be one value"]),
    ({}, {"total": "100-200 ppm"}, ["total = '100-200 ppm'", "range"]),
    ({}, {"total": "35 %"}, ["total = '35 %' would be 35 % of the air", "share of a liquid", "(d)(1)(iii)"]),
    ({}, {"total": "30000 ppm"}, ["total = ", "more than this liquid can give off", "mist"]),
    ({}, {"total": "60000 ppm", "liquid_temperature": "60 degC"}, ["more of these", "air of 25 degC can hold"]),
    ({}, {"average": "200 ppm"}, ["average = 200 ppm is above total = 150 ppm"]),
    ({}, {"average": "200"}, ["average = '200': the unit is missing"]),
    ({}, {"based_on": None}, ["based_on is missing"]),
    ({}, {"based_on": "safety data sheet, section 3"}, ["based_on = ", "no air levels", "(d)(1)(iii)"]),
    ({}, {"liquid_temperature": 30}, ["liquid_temperature = 30: a bare number"]),
    ({}, {"least_left": "120 %"}, ["least_left"]),
    ({}, {"concentration": "150 ppm"}, ["concentration is not a key here", "total"]),
    ({}, {"limits_from": "Nobody"}, ["n-butyl acetate: limits_from = 'Nobody'", "exposure_limits = {"]),
    ({}, {"exposure_limits": {"acetone": ["5 ppm", "x"]}}, ["'acetone' is no vapour of thinner (n-butyl acetate"]),
    ({}, {"exposure_limits": {"toluene": "5 ppm"}}, ["toluene = '5 ppm' must be a limit and whose it is"]),
    ({}, {"exposure_limits": {"toluene": ["5", "site"]}}, ["toluene: exposure_limit = '5': the unit is missing"]),
    ({}, {"exposure_limits": {"toluene": ["5 ppm", "a"], "108-88-3": ["6 ppm", "b"]}}, ["toluene is there twice"]),
]  # fmt: skip


@pytest.mark.parametrize(("product", "poured", "says"), FAULTS, ids=[f"{a}{b}"[:60] for a, b, _ in FAULTS])
def test_each_fault_is_named_with_its_place_and_its_fix(faults_of, product, poured, says):
    found = faults_of(product, poured)
    assert any(all(text in fault for text in says) for fault in found), found
    assert all("product" in fault for fault in found)
    assert not any("\x1b" in fault for fault in found)


def test_other_tasks_are_still_computed(plan_of, task_text):
    plan = plan_of({"basis": "weight"}) + "\n" + task_text({"id": '"sound"'})
    made = make_schedule(read_plan_text(plan))
    assert [e.status for e in made.entries] == ["input fault", "interval"]
    assert made.plan.faults == ()


def test_the_faults_of_a_product_that_no_task_uses_are_the_plans(plan_of, task_text):
    plan = read_plan_text(plan_of(products=[{}, {"name": "spare", "basis": "weight"}]))
    assert isinstance(plan.tasks[0], Task)
    assert any("product 'spare'" in fault for fault in plan.faults)


def test_names_that_are_used_twice(faults_of):
    assert any("name 'thinner' is used twice" in f for f in faults_of(products=[{}, {}]))
    assert any("product 'thinner' is named twice" in f for f in faults_of(pourings=[{}, {"total": "20 ppm"}]))


def test_a_vapour_without_a_limit_asks_for_one_by_name(faults_of):
    anisole = {"parts": {"anisole": "50 %", "toluene": "50 %"}}
    (fault,) = faults_of(anisole)
    assert "no exposure limit is known here for anisole" in fault
    assert 'exposure_limits = { "anisole" = ["50 ppm", "site limit of 2026"] }' in fault
    assert faults_of(anisole, {"exposure_limits": {"anisole": ["50 ppm", "site limit of 2026"]}}) == []


@pytest.mark.parametrize("cut", ["ligroine", "8032-32-4", "white spirit", "gasoline"])
def test_a_cut_named_as_a_vapour_is_shown_the_way(faults_of, cut):
    (fault,) = faults_of(pourings=[], products=[], vapours=[{"name": f'"{cut}"'}])
    for text in (f"vapour '{cut}'", "is a product", "[[product]]", f'surrogates = {{ "{cut}" = {{', "[[task.product]]"):
        assert text in fault


def test_a_product_named_as_a_vapour_is_shown_the_way(faults_of):
    found = faults_of(pourings=[], vapours=[{"name": '"thinner"'}])
    assert any("'thinner' is a [[product]]: give its total in the air under [[task.product]]" in f for f in found)


def test_a_task_with_nothing_in_its_air(faults_of):
    (fault,) = faults_of(pourings=[], products=[])
    assert "no vapour is given; add [[task.vapour]] with name and concentration, or [[task.product]]" in fault


# --- a thinner of which only the sheet is there: nothing becomes an interval

SHEET = {"methyl acetate": "30-60 %", "methanol": "10-30 %", "toluene": "10-30 %", "ligroine": "7-13 %",
         "THF": "1-5 %", "ethanol": "0.1-1 %"}  # fmt: skip
WITHIN = {"methyl acetate": "50 %", "methanol": "20 %", "toluene": "17 %", "ligroine": "9 %", "THF": "3 %",
          "ethanol": "1 %"}  # fmt: skip


def test_percentages_typed_as_concentrations(faults_of):
    typed = [{"name": f'"{n}"', "concentration": f'"{s}"'} for n, s in WITHIN.items() if n != "ligroine"]
    found = faults_of(products=[], pourings=[], vapours=typed)
    assert len(found) == len(typed)
    assert all("share of a liquid" in f and "(d)(1)(iii)" in f and "[[task.product]]" in f for f in found)


def test_ranges_of_a_sheet(faults_of):
    found = faults_of({"parts": SHEET, "surrogates": LIGROINE})
    assert any("lowest shares sum to 58.1 %" in f and "highest to 139 %" in f and "midpoints" in f for f in found)


@pytest.mark.parametrize(
    ("poured", "status", "says"),
    [
        ({"total": "unknown", "based_on": "the data sheet"}, "refused", "immediately dangerous"),
        ({"total": "?"}, "refused", "its composition gives no concentration in the air"),
        ({"total": None, "based_on": "data sheet"}, "input fault", "never a concentration in the air"),
        ({"total": "150 ppm", "based_on": "data sheet"}, "input fault", "no air levels"),
        ({"total": "150 ppm"}, "refused", "methanol"),
    ],
)
def test_a_composition_within_the_ranges(entry_of, poured, status, says):
    made = entry_of({"parts": WITHIN, "surrogates": LIGROINE}, poured)
    assert made.status == status
    assert made.change is None or made.change.interval is None
    assert any(says in reason for reason in made.reasons), made.reasons


def test_a_paint_remover_with_dichloromethane(entry_of):
    parts = {"toluene": "36 %", "methanol": "28 %", "acetone": "22 %", "methylene chloride": "14 %"}
    entry = entry_of({"basis": "volume", "parts": parts})
    assert entry.status == "refused"
    (reason,) = entry.reasons
    assert "organic-vapour cartridges are not permitted" in reason
    assert "29 CFR 1910.1052" in reason
    assert "Needed instead: an atmosphere-supplying respirator" in reason


def test_an_aerosol_enamel_with_its_propellants(entry_of, faults_of):
    parts = {"toluene": "30 %", "acetone": "25 %", "propane": "25 %", "n-butane": "10 %", "m-xylene": "5 %",
             "PGMEA": "4 %", "ethylbenzene": "1 %"}  # fmt: skip
    entry = entry_of({"parts": parts})
    assert entry.status == "refused"
    for gas in ("propane", "n-butane"):
        assert any(f"{gas} boils at" in r and "not usefully held" in r for r in entry.reasons)
    below = {k: f"<{v}" for k, v in parts.items()}
    assert any("ranges are no composition" in f for f in faults_of({"parts": below}))


# --- adding up


def by_name(made):
    return {p.vapour.name: p for p in made.task.inhaled}


def test_a_measured_vapour_and_the_same_of_a_product_are_added_and_it_is_told(entry_of):
    alone, both = entry_of(), entry_of(vapours=[{"concentration": '"20 ppm"', "average": '"10 ppm"'}])
    assert by_name(both)["toluene"].concentration == pytest.approx(by_name(alone)["toluene"].concentration + 20e-6)
    assert by_name(both)["toluene"].average == pytest.approx(by_name(alone)["toluene"].concentration + 10e-6)
    assert by_name(both)["n-butyl acetate"] == by_name(alone)["n-butyl acetate"]
    assert both.task.total == pytest.approx(170e-6)
    assert both.task.index == pytest.approx(alone.task.index + 0.2)
    assert any(n.startswith("toluene: 20 ppm from its own entry + ") and "take it out" in n for n in both.task.notices)
    assert any("from its own entry" in c for c in both.life.basis.choices)
    told = dict(zip(by_name(both), both.task.based_on, strict=True))
    assert told["toluene"].startswith("6 samples (invented) and the total of thinner")


def test_two_products_add_vapour_by_vapour(entry_of):
    other = {"name": "cleaner", "parts": {"toluene": "100 %"}}
    one, both = entry_of(), entry_of(products=[{}, other], pourings=[{}, {"name": "cleaner", "total": "30 ppm"}])
    assert by_name(both)["toluene"].concentration == pytest.approx(by_name(one)["toluene"].concentration + 30e-6)
    assert both.task.total == pytest.approx(180e-6)
    assert both.task.index == pytest.approx(one.task.index + 0.3)
    assert len(both.task.inhaled) == 2
    assert any("from thinner" in n and "from cleaner" in n for n in both.task.notices)
    back = entry_of(products=[other, {}], pourings=[{"name": "cleaner", "total": "30 ppm"}, {}])
    assert back.life.life.value == both.life.life.value
    assert back.task.index == pytest.approx(both.task.index, rel=1e-12)


def test_what_the_air_cannot_hold_is_not_added_up_to(entry_of):
    heavy = {"parts": {"toluene": "50 %", "n-nonane": "50 %"}}
    other = {"name": "other", **heavy}
    made = entry_of(heavy, {}, products=[heavy, other], pourings=[{"total": "4200 ppm"}, {"name": "other",
                    "total": "4200 ppm"}])  # fmt: skip
    nonane = by_name(made)["n-nonane"]
    held = nonane.vapour.saturation_pressure(298.15).value / made.task.air.pressure.value
    assert nonane.concentration <= held * (1 + 1e-9)
    assert made.task.total <= math.fsum(p.concentration for p in made.task.inhaled) * (1 + 1e-9)
    assert made.status == "refused"


def test_two_limits_for_one_vapour_are_refused(faults_of):
    (fault,) = faults_of(vapours=[{"exposure_limit": '"20 ppm"', "exposure_limit_authority": '"site"'}])
    assert "toluene is held to two limits (20 ppm TWA (site), 150 ppm STEL (NIOSH REL), its own entry" in fault
    assert 'exposure_limits = { "toluene" = ["50 ppm", "whose limit"] }' in fault
    site = {"exposure_limit": '"20 ppm"', "exposure_limit_authority": '"site"'}
    assert faults_of(poured={"exposure_limits": {"toluene": ["20 ppm", "site"]}}, vapours=[site]) == []


def test_a_vapour_described_in_two_ways_is_refused(faults_of):
    (fault,) = faults_of(vapours=[{"estimate_missing": "true"}])
    assert "toluene is described in two ways (its own entry and thinner)" in fault
    assert faults_of({"estimate_missing": True}, vapours=[{"estimate_missing": "true"}]) == []


def test_the_rules_of_the_site_hold_for_products(entry_of):
    made = entry_of({"parts": {"n-butyl acetate": "100 %"}}, rules={"limits_from": '"OSHA PEL"'})
    assert {p.limits.least.authority for p in made.task.inhaled} == {"OSHA PEL"}


def test_the_index_of_a_product_never_exceeds_the_total_over_the_least_limit(entry_of):
    made = entry_of({"parts": {"toluene": "50 %", "m-xylene": "50 %"}}, {"total": "600 ppm"})
    assert sum(p.concentration / p.limits.least.value.value for p in made.task.inhaled) > 10
    assert made.task.index == pytest.approx(6)
    assert made.permission.allowed, made.reasons
    assert any("together at most 6" in c.found for c in made.permission.criteria)
    assert any("600 ppm in all" in c.found for c in made.permission.criteria)


# --- properties

SOLVENTS = ["toluene", "n-butyl acetate", "2-butanone", "m-xylene", "n-heptane"]


def shares(weights):
    whole = sum(weights.values())
    return {k: f"{100 * v / whole:.6f} %" for k, v in weights.items()}


mixtures = st.dictionaries(st.sampled_from(SOLVENTS), st.integers(5, 100), min_size=2, max_size=4).map(shares)


@settings(max_examples=12, deadline=None)
@given(parts=mixtures, seed=st.integers(0, 99))
def test_the_order_of_parts_never_matters(plan_of, parts, seed):
    pairs = list(parts.items())
    random.Random(seed).shuffle(pairs)
    one, other = (make_schedule(read_plan_text(plan_of({"parts": p}))) for p in (parts, dict(pairs)))
    assert one.as_dict() == other.as_dict()
    assert record_html(one) == record_html(other)


def usable(made):
    """Life [s]; 0 where none may be stood for."""
    assert made.status != "input fault", made.reasons
    return made.life.life.value if made.life is not None else 0.0


@settings(max_examples=12, deadline=None)
@given(parts=mixtures, total=st.floats(5, 400), more=st.floats(1.001, 3))
def test_a_higher_total_never_lengthens(entry_of, parts, total, more):
    low, high = (entry_of({"parts": parts}, {"total": f"{t!r} ppm"}) for t in (total, total * more))
    assert usable(high) <= usable(low) * (1 + 1e-9)
    assert high.task.index >= low.task.index


@settings(max_examples=12, deadline=None)
@given(parts=mixtures, name=st.sampled_from([*SOLVENTS, "acetone", "ethylbenzene"]), ppm=st.floats(1, 150))
def test_another_vapour_never_lengthens(entry_of, parts, name, ppm):
    alone = entry_of({"parts": parts})
    both = entry_of({"parts": parts}, vapours=[{"name": f'"{name}"', "concentration": f'"{ppm!r} ppm"'}])
    assert usable(both) <= usable(alone) * (1 + 1e-9)
    assert both.task.total > alone.task.total


# --- the record


def test_the_record_shows_the_mixture_vapour_by_vapour(plan_of):
    plan = plan_of()
    made = make_schedule(read_plan_text(plan)).entries[0]
    text = page_of(plan).text
    for words in ("The vapours together", "Judged at 150 ppm, the total", "do not occur together", "upper bound",
                  "Predicted, alone", "Life at the sum, after margin", "(governs)", "1st", "2nd",
                  "CAS 108-88-3", "100 ppm TWA (NIOSH REL)", "times its limit"):  # fmt: skip
        assert words in text
    for part in made.life.mixture:
        assert part.leaves_at.printed in text
        assert part.concentration.printed in text


def test_the_record_shows_the_product_its_total_and_its_choices(plan_of):
    parts = {"toluene": "60 %", "ligroine": "30 %"}
    text = page_of(
        plan_of({"parts": parts, "surrogates": LIGROINE, "remainder": ["not volatile", "resin (invented)"]})
    ).text
    for words in ("Product thinner", "Total in the air: 150 ppm , from 4 samples (invented)", "by mass",
                  "from supplier's letter (invented)", "gives no vapour 10 %", "never a concentration in the air",
                  "29 CFR 1910.134 (d)(1)(iii) asks for a reasonable estimate", "by the user's choice",
                  "Raoult's law", "In the air, fresh liquid", "remainder of 10 % gives no vapour: resin (invented)",
                  "the total of thinner in the air, divided by its composition"):  # fmt: skip
        assert words in text, words
    assert text.count("by the user's choice") == 1


def test_a_refused_product_is_still_described(plan_of):
    text = page_of(plan_of(poured={"total": "1500 ppm"})).text
    assert "Product thinner" in text
    assert "The vapours together" not in text


def test_a_mixture_that_is_not_trusted_shows_no_times(plan_of):
    text = page_of(plan_of({"parts": {"methanol": "50 %", "toluene": "50 %"}})).text
    assert "(governs)" not in text
    assert "not known not known not known" in text


def test_a_mixture_of_measured_vapours_has_the_table_too_and_one_vapour_has_none(plan_text):
    text = page_of(plan_text(None, [{}, {"name": '"2-butanone"'}])).text
    assert "Judged at 200 ppm, the sum of the concentrations below" in text
    assert "Product " not in text
    assert "The vapours together" not in page_of(plan_text()).text


def test_names_that_try_to_break_out_are_text(plan_of, tmp_path):
    nasty = "=<script>alert('x')</script>\"&"
    plan = plan_of(
        {"name": nasty, "data_from": "<img src=x>", "parts": {"toluene": "90 %"}, "remainder": ["not volatile", "<b>"]},
        {"name": nasty, "based_on": "</td><td>4 samples", "exposure_limits": {"toluene": ["20 ppm", "<i>site</i>"]}},
    )
    made = make_schedule(read_plan_text(plan))
    page = Text(record_html(made))
    assert not {"script", "img", "b", "i"} & set(page.tags)
    assert f"Product {nasty}" in page.text
    assert "</td><td>4 samples" in page.text
    rows = csv_text(made).splitlines()
    assert not any(cell.startswith("=") for row in rows for cell in row.split(","))
    assert all(p.exists() for p in write_documents(made, tmp_path))


@pytest.mark.parametrize(("n", "word"), [(1, "1st"), (2, "2nd"), (3, "3rd"), (4, "4th"), (11, "11th"), (22, "22nd")])
def test_ordinals(n, word):
    assert _ordinal(n) == word


# --- the command line


@pytest.mark.parametrize(
    ("poured", "code", "says"),
    [
        ({}, DONE, "gluing"),
        ({"total": "unknown"}, SOME_REFUSED, "the vapours of thinner"),
        ({"total": None}, BAD_INPUT, "total is missing"),
    ],
)
def test_the_command_line(plan_of, tmp_path, capsys, poured, code, says):
    (tmp_path / "plan.toml").write_text(plan_of(poured=poured), encoding="utf-8")
    assert main(["schedule", str(tmp_path / "plan.toml"), "-o", str(tmp_path / "out")]) == code
    printed = " ".join(capsys.readouterr().out.split())
    assert says in printed


WRONG = ["", "x", "-5 ppm", 7, 1e308, True, [], [[]], {}, {"a": 1}, [{}], ["a", 5], 10**40]


@pytest.mark.parametrize("where", ["product", "task.product"])
def test_any_key_replaced_by_anything_ends_in_words(plan_of, where):
    keys = {
        "product": ["name", "basis", "data_from", "parts", "remainder", "surrogates", "estimate_missing"],
        "task.product": ["name", "total", "average", "based_on", "liquid_temperature", "least_left", "limits_from",
                         "exposure_limits"],
    }[where]  # fmt: skip
    for key in keys:
        for wrong in WRONG:
            change = {key: wrong}
            plan = plan_of(change if where == "product" else {}, change if where == "task.product" else {})
            made = make_schedule(read_plan_text(plan))
            assert made.entries[0].status in ("interval", "refused", "input fault")
            assert record_html(made)


@pytest.mark.parametrize(
    "basis", ["estimated from the safety data sheet", "calculated from SDS composition", "SDS; similar",
              "technical sheet of the supplier", "safety data sheet, section 3"]
)  # fmt: skip
def test_a_sheet_is_no_air_data_for_a_single_vapour_either(entry, basis):
    made = entry({}, [{"name": '"toluene"', "concentration": '"100 ppm"', "based_on": f'"{basis}"'}])
    assert made.status == "input fault"
    assert any("gives no air levels" in reason for reason in made.reasons)
