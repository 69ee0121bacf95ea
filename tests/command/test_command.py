"""The command line: what it prints, what it writes, how it ends. A traceback is never an answer."""

from __future__ import annotations

import copy
import csv
import datetime as dt
import io
import os
import subprocess
import sys

import pytest

import respcalc
from respcalc.command.main import BAD_INPUT, DONE, SOME_REFUSED, main
from respcalc.estimate import SHORT_CAUTION
from respcalc.schedule import demo_plan, make_schedule
from respcalc.vapours import known_vapours

FILES = ["change_schedule.csv", "change_schedule_record.html"]


@pytest.fixture
def run(tmp_path, capsys, as_toml):
    """Run ``schedule`` on a plan; exit code, what was printed, the rows of the CSV."""

    def go(document):
        path, out = tmp_path / "plan.toml", tmp_path / "out"
        text = document if isinstance(document, (str, bytes)) else as_toml(document)
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        for name in FILES:
            (out / name).unlink(missing_ok=True)
        code = main(["schedule", str(path), "-o", str(out)])
        printed = capsys.readouterr()
        made = out / FILES[0]
        rows = []
        if made.exists():
            rows = list(csv.DictReader(io.StringIO(made.read_text(encoding="utf-8-sig"))))
        return code, printed.out, printed.err, rows

    return go


def squeezed(text):
    return " ".join(text.split())


# --- how it ends


def test_a_sound_plan_is_done(run, plan, tmp_path):
    code, out, err, rows = run(plan)
    assert (code, err) == (DONE, "")
    assert [r["task"] for r in rows] == ["gluing", "cleaning"]
    assert all(f"written: {tmp_path / 'out' / name}" in out for name in FILES)
    assert "Harbour workshop (invented), 2026-05-04" in out
    assert SHORT_CAUTION in squeezed(out)


def test_a_refused_task_is_told_and_the_others_are_done(run, plan):
    plan["task"][1]["oxygen"] = "19 %"
    code, out, err, rows = run(plan)
    assert (code, err) == (SOME_REFUSED, "")
    assert [r["status"] for r in rows] == ["interval", "refused"]
    assert "cleaning: refused" in out
    assert "oxygen 19 %; at least 19.5 % is needed" in squeezed(out)
    assert "NO CARTRIDGE" in out


def test_a_fault_of_one_task_is_bad_input_and_the_others_are_still_written(run, plan):
    plan["task"][1]["temperature"] = 25
    plan["task"].append(plan["task"][0] | {"id": "third", "oxygen": "19 %"})
    code, out, _, rows = run(plan)
    assert code == BAD_INPUT
    assert [r["status"] for r in rows] == ["interval", "input fault", "refused"]
    assert "task 'cleaning': temperature = 25: a bare number has no unit" in squeezed(out)


def test_a_fault_that_no_task_leads_to_is_bad_input_too(run, plan):
    plan["cartridge"].append({"id": "spare", "sorbent_mass": 45})
    code, out, _, rows = run(plan)
    assert code == BAD_INPUT
    assert [r["status"] for r in rows] == ["interval", "interval"]
    assert "cartridge 'spare': data_from is missing" in squeezed(out)


def test_a_fault_of_the_whole_plan_prints_every_reason_and_writes_nothing(run, plan):
    del plan["site"]["altitude"]
    plan["rules"]["days_opened"] = 500
    code, out, err, rows = run(plan)
    assert (code, out, rows) == (BAD_INPUT, "", [])
    first, second, last = err.strip().splitlines()
    assert "altitude" in first
    assert "days_opened" in second
    assert last.startswith("nothing was written; documents of an earlier run")
    assert all(line.startswith("error: ") for line in (first, second))


def test_the_demonstration(tmp_path, capsys):
    made = make_schedule(demo_plan())
    code = main(["schedule", "--demo", "-o", str(tmp_path)])
    assert code == (SOME_REFUSED if made.refused else DONE)
    out = capsys.readouterr().out
    assert "(invented)" in out
    assert all(e.task.id in out for e in made.entries)
    assert sorted(p.name for p in tmp_path.iterdir()) == FILES


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "[site] is missing"),
        (bytes(range(256)) * 3, "is not UTF-8 text"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "is not UTF-8 text"),
        (b"[site]\nname = \n", "line 2"),
        (b"[1, 2, 3]\n", "not valid TOML"),
        (b'{"task": []}', "not valid TOML"),
        (b"task = 'x'", "task must be written as [[task]]"),
        (b"x = " + b"[" * 3000, "nested"),
        (b"x = " + b"7" * 5000, "not valid TOML"),
        (b"x = 1979-99-99", "not valid TOML"),
        ("site = 'Größe 漆'".encode(), "[site]: a table of keys"),
    ],
)
def test_files_that_are_no_plan(run, content, says):
    code, out, err, rows = run(content)
    assert (code, out, rows) == (BAD_INPUT, "", [])
    assert says in err
    assert "Traceback" not in err


def test_a_file_that_is_not_there(tmp_path, capsys):
    assert main(["schedule", str(tmp_path / "none.toml"), "-o", str(tmp_path)]) == BAD_INPUT
    assert "none.toml: cannot be read (No such file" in capsys.readouterr().err
    assert main(["schedule", str(tmp_path), "-o", str(tmp_path)]) == BAD_INPUT
    assert "is a folder" in capsys.readouterr().err
    assert main(["schedule", "", "-o", str(tmp_path)]) == BAD_INPUT


def test_an_output_folder_that_cannot_be(tmp_path, capsys):
    (tmp_path / "file").write_text("in the way")
    for where in (tmp_path / "file", tmp_path / "file" / "below"):
        assert main(["schedule", "--demo", "-o", str(where)]) == BAD_INPUT
        err = capsys.readouterr().err
        assert err.startswith(f"error: output folder {where}: cannot be written (")
        assert "choose another with -o" in err
    assert (tmp_path / "file").read_text() == "in the way"


@pytest.mark.parametrize(
    "words",
    [[], ["schedule"], ["schedule", "--demo"], ["schedule", "plan.toml", "--demo", "-o", "x"], ["vapour"], ["plot"],
     ["schedule", "-o", "x"]],
)  # fmt: skip
def test_a_command_that_is_not_whole(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == BAD_INPUT
    assert "usage: " in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--help"], ["schedule", "--help"], ["vapour", "--help"]])
def test_help_carries_the_caution(words, capsys):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 0
    assert SHORT_CAUTION in squeezed(capsys.readouterr().out)


def test_as_a_module_and_with_a_terminal_that_knows_no_umlauts(tmp_path, plan, as_toml):
    plan["task"][0]["id"] = "Größe 漆"
    (tmp_path / "plan.toml").write_text(as_toml(plan), encoding="utf-8")
    ended = subprocess.run(
        [sys.executable, "-m", "respcalc", "schedule", str(tmp_path / "plan.toml"), "-o", str(tmp_path / "out")],
        capture_output=True,
        env={
            **os.environ,
            "PYTHONIOENCODING": "ascii",
            "PYTHONPATH": os.path.dirname(os.path.dirname(respcalc.__file__)),
        },
        check=False,
    )
    assert ended.returncode == DONE, ended.stderr
    assert b"Traceback" not in ended.stderr
    assert b"Gr\\xf6\\xdfe" in ended.stdout
    assert "Größe 漆" in (tmp_path / "out" / FILES[0]).read_text(encoding="utf-8-sig")


# --- what is printed


def test_the_table_keeps_its_columns_for_any_name(run, plan):
    plan["task"][0]["id"] = "a-very-long-name-without-any-blank-in-it-that-goes-on-and-on"
    plan["task"][1]["id"] = "zwei\nZeilen\tund Tabs"
    code, out, _, rows = run(plan)
    assert code == DONE
    table = out.split("\n\n")[1].splitlines()
    assert max(len(line) for line in table) <= 16 + 12 + 44 + 24 + 6
    assert rows[0]["task"] == plan["task"][0]["id"]


def test_immediate_breakthrough_is_printed_as_such(run, plan):
    plan["cartridge"][0] |= {"sorbent_mass": "5 g", "face_area": "20 cm2", "bed_depth": "0.5 cm", "in_parallel": 1}
    plan["task"][0]["work_rate"] = "very heavy"
    code, out, _, rows = run(plan)
    assert code == SOME_REFUSED
    assert "immediate breakthrough: the bed is too thin" in squeezed(out)
    assert rows[0]["change_interval [h]"] == ""


def test_outside_the_model_no_time_is_printed(run, plan):
    del plan["task"][0]["acknowledge_outside_model"]
    plan["task"][0]["vapour"] = [{"name": "methanol", "concentration": "100 ppm", "based_on": "4 samples"}]
    code, out, _, rows = run(plan)
    assert code == SOME_REFUSED
    assert out.split("\n\n")[1].splitlines()[2].startswith("gluing            not known     NO CARTRIDGE")
    assert rows[0]["service_life [h]"] == ""


def test_a_cartridge_that_nobody_uses_is_noted(run, plan):
    plan["cartridge"].append(plan["cartridge"][0] | {"id": "spare"})
    code, out, _, _ = run(plan)
    assert code == DONE
    assert "note: no task uses cartridge spare" in out


def test_escape_sequences_do_not_reach_the_terminal(run, plan):
    plan["task"][0]["id"] = "red\x1b[31m"
    code, out, err, rows = run(plan)
    assert code == BAD_INPUT
    assert "\x1b" not in out + err
    assert rows[1]["status"] == "interval"


def test_a_formula_in_a_name_is_not_live_in_the_csv(run, plan):
    plan["task"][0]["id"] = '=HYPERLINK("http://x","y")'
    plan["task"][0]["description"] = "-2-propanol"
    code, _, _, rows = run(plan)
    assert code == DONE
    assert rows[0]["task"] == '\'=HYPERLINK("http://x","y")'
    assert rows[0]["description"] == "'-2-propanol"


# --- fuzz


def _paths(value, so_far=()):
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*so_far, key)
        yield from _paths(inner, (*so_far, key))


def _spoil(document, path, value):
    place = document
    for key in path[:-1]:
        place = place[key]
    if value is DELETED:
        del place[path[-1]]
    else:
        place[path[-1]] = value


DELETED = object()
WRONG = [
    DELETED, "", "-5 ppm", "\x00", 7, float("nan"), 10**400, True, [], ["25 degC"], ["6 h", "5 h"], [{}], {"a": 1},
    dt.date(2026, 1, 1), dt.time(7),
]  # fmt: skip
ALSO_WRONG = ["x", "1 000 ppm", "100-200 ppm", "1e999 h", "=1", -1, 0, 1.5, float("inf"), False, [1], [[]], {},
              dt.datetime(2026, 1, 1, 7)]  # fmt: skip


def test_any_key_replaced_by_anything_ends_in_words(plan, as_toml, tmp_path, capsys):
    """Every key in turn left out or given a value of the wrong type: an exit code, never an exception."""
    path, out = tmp_path / "plan.toml", tmp_path / "out"
    silent = []
    for where in list(_paths(plan)):
        for wrong in WRONG:
            spoilt = copy.deepcopy(plan)
            _spoil(spoilt, where, wrong)
            path.write_text(as_toml(spoilt), encoding="utf-8")
            try:
                code = main(["schedule", str(path), "-o", str(out)])
            except Exception as error:
                pytest.fail(f"{where} = {wrong!r}: {error!r}")
            printed = capsys.readouterr()
            assert code in (DONE, BAD_INPUT, SOME_REFUSED), (where, wrong)
            if code == BAD_INPUT:
                named = next(k for k in reversed(where) if isinstance(k, str))
                if named not in printed.out + printed.err and str(wrong) not in printed.out:
                    silent.append((where, wrong))
    assert silent == []


@pytest.mark.parametrize(
    "where",
    [
        ("task", 0, "temperature"), ("task", 0, "hours_of_use"), ("task", 0, "vapour", 0, "concentration"),
        ("cartridge", 0, "sorbent_mass"), ("cartridge", 0, "face_area"), ("cartridge", 0, "granule_diameter"),
        ("task", 0, "facepiece"), ("task", 0, "cartridge"), ("vapour", 0, "molar_mass"), ("site", "altitude"),
    ],
)  # fmt: skip
def test_none_of_them_is_taken_for_a_value(plan, as_toml, tmp_path, capsys, where):
    for wrong in WRONG + ALSO_WRONG:
        if wrong is DELETED and where[-1] in ("face_area", "granule_diameter"):
            continue  # need not be given
        spoilt = copy.deepcopy(plan)
        _spoil(spoilt, where, wrong)
        (tmp_path / "plan.toml").write_text(as_toml(spoilt), encoding="utf-8")
        code = main(["schedule", str(tmp_path / "plan.toml"), "-o", str(tmp_path / "out")])
        printed = capsys.readouterr()
        assert code == BAD_INPUT, (where, wrong)
        assert where[-1] in printed.out + printed.err, (where, wrong)


# --- vapour


def test_every_listed_vapour_is_shown(capsys):
    for name, cas in known_vapours():
        assert main(["vapour", cas]) == DONE
        printed = capsys.readouterr()
        assert name in printed.out
        assert cas in printed.out
        assert "molar mass" in printed.out
        assert SHORT_CAUTION in squeezed(printed.out)
        assert not any(word in printed.out.split() for word in ("nan", "None", "inf"))
        assert printed.err == ""


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("toluen", "toluene"),
        ("xylene", "m-xylene"),
        ("108-88-4", "108-88-3"),
        ("gasoline", "is a product"),
        ("ammonia", "physical adsorption"),
        ("C6H6", "benzene"),
        ("", "empty"),
        ("漆", "no vapour named"),
        ("=1+1", "no vapour named"),
        ("8052-41-3", "8052-41-3"),
        ("petroleum ether", "petroleum ether"),
    ],
)
def test_a_vapour_that_is_not_found(capsys, name, says):
    assert main(["vapour", name]) == BAD_INPUT
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("error: ")
    assert says in printed.err


def test_the_temperature_changes_the_vapour_pressure(capsys):
    def pressure(*words):
        assert main(["vapour", "toluene", *words]) == DONE
        line = next(x for x in capsys.readouterr().out.splitlines() if "saturation pressure" in x)
        return float(line.split()[2])

    assert pressure() == pressure("--temperature", "25 degC") == pytest.approx(3.8, rel=0.02)
    assert pressure("--temperature", "77 degF") == pressure()
    assert pressure("--temperature", "40 degC") > 1.9 * pressure()
    assert pressure("--temperature", "0 degC") < 0.3 * pressure()


@pytest.mark.parametrize("bad", ["25", "25 deg C", "200 degC", "-50 degC", "nan degC", "", "warm", "25 degC 3"])
def test_a_temperature_that_is_none(capsys, bad):
    assert main(["vapour", "toluene", f"--temperature={bad}"]) == BAD_INPUT
    assert "temperature" in capsys.readouterr().err


# --- air samples

SAMPLES = """group,vapour,result [ppm]
sprayers,toluene,20
sprayers,toluene,31
sprayers,toluene,<8
sprayers,toluene,24
sprayers,toluene,18
sprayers,toluene,27
bench,acetone,40
"""


def test_samples_become_concentrations_and_faults_do_not_stop_the_others(tmp_path, capsys):
    (tmp_path / "s.csv").write_text(SAMPLES, encoding="utf-8")
    code = main(["samples", str(tmp_path / "s.csv"), "--report", "own, May 2026 (invented)"])
    out, err = capsys.readouterr()
    assert code == BAD_INPUT
    assert "toluene, sprayers: planned for" in out
    assert "upper tolerance limit 95,95" in out
    assert "Estimate, not a guarantee" in out
    assert "acetone, bench: " in err
    assert "at least three" in err


def test_samples_by_mass_need_their_air(tmp_path, capsys):
    text = SAMPLES.replace("[ppm]", "[mg/m3]").replace("bench,acetone,40\n", "")
    (tmp_path / "s.csv").write_text(text, encoding="utf-8")
    asked = ["samples", str(tmp_path / "s.csv"), "--report", "own, May 2026 (invented)"]
    assert main(asked) == BAD_INPUT
    assert "mg/m3" in capsys.readouterr().err
    assert main([*asked, "--temperature", "25 degC"]) == BAD_INPUT
    assert "give both" in capsys.readouterr().err
    assert main([*asked, "--temperature", "25 degC", "--pressure", "101.3 kPa"]) == DONE
    assert "planned for" in capsys.readouterr().out
    assert main(["samples", str(tmp_path / "none.csv"), "--report", "x"]) == BAD_INPUT
    assert "cannot be read" in capsys.readouterr().err
