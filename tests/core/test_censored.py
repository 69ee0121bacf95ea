"""Values that are only known to be below a limit: as text, and in the columns of a table."""

from __future__ import annotations

import pandas as pd
import pytest

from respcalc.core.tables import frame_to_table, parse_table, read_table
from respcalc.core.units import Quantity, Reading, read_censored, read_censored_concentration


@pytest.mark.parametrize(
    ("text", "value", "below"),
    [
        ("12 ppm", 12e-6, False),
        ("<0.5 ppm", 0.5e-6, True),
        ("< 0.5 ppm", 0.5e-6, True),
        ("<=0.5 ppm", 0.5e-6, True),
        ("≤0.5 mL/m3", 0.5e-6, True),
        ("<500 ppb", 0.5e-6, True),
        ("  <\u00a00.5\u00a0ppm ", 0.5e-6, True),
        (Quantity(12, "ppm"), 12e-6, False),
    ],
)
def test_a_value_or_the_limit_it_is_below(text, value, below):
    found = read_censored("result", "volume_fraction", text)
    assert found == Reading(pytest.approx(value), below)


def test_either_basis():
    amount, below = read_censored_concentration("result", "<2 mg/m3")
    assert (amount.basis, amount.value, below) == ("mass", pytest.approx(2e-6), True)
    amount, below = read_censored_concentration("result", "3 ppm")
    assert (amount.basis, amount.value, below) == ("volume", pytest.approx(3e-6), False)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (">50 ppm", "overloaded"),
        ("≥ 50 ppm", "repeat the sample"),
        ("<", "no number after the sign"),
        ("< ppm", "limit of quantification of this sample"),
        ("<LOD", "no number after the sign"),
        ("ND", "needs the number that it is below"),
        ("n.d.", "needs the number"),
        ("not detected", "needs the number"),
        ("<0.5", "the unit is missing"),
        ("<0.5 apples", "is not a unit"),
        ("<0,5 ppm", "a comma inside a number"),
        ("0.5", "the unit is missing"),
        (0.5, "a bare number has no unit"),
        (["1 ppm"], "a list of values"),
    ],
)
def test_what_gives_no_limit_is_refused_with_what_to_do(text, says):
    for read in (
        lambda: read_censored("result", "volume_fraction", text),
        lambda: read_censored_concentration("result", text),
    ):
        with pytest.raises(ValueError, match=says) as caught:
            read()
        assert str(caught.value).startswith("result")


TABLE = 'name,"result [ppm]",sampled [min]\na,<0.5,60\nb,12,60\nc,>9,60\nd,5 mg/m3,60\ne,,<60\nf,7 ppm,60\n'


def test_a_censored_column_holds_readings_and_the_others_stay_numbers():
    table = parse_table("t", TABLE, censored=("result",))
    values = [row["result"] for row in table]
    assert values[0] == Reading(pytest.approx(0.5e-6), True)
    assert values[1] == Reading(pytest.approx(12e-6), False)
    assert values[2] is values[3] is values[4] is None
    assert values[5] == Reading(pytest.approx(7e-6), False)
    assert table.rows[0]["sampled"] == 3600
    assert table.bad_rows == {4, 5, 6}
    text = "\n".join(table.problems)
    assert "row 4, column 'result'" in text
    assert "overloaded" in text
    assert (
        "row 5, column 'result': '5 mg/m3' has the unit 'mg/m3' of its own; a column has one unit, here 'ppm'" in text
    )
    assert "row 6, column 'sampled'" in text


def test_without_being_asked_for_a_sign_stays_a_fault():
    assert parse_table("t", TABLE).bad_rows == {2, 4, 5, 6}


def test_files_and_frames_read_alike(tmp_path):
    path = tmp_path / "t.csv"
    path.write_text(TABLE, encoding="utf-8")
    frame = pd.DataFrame({"name": ["a", "b"], "result [ppm]": ["<0.5", "12"], "sampled [min]": [60, 60]})
    by_file = read_table(path, censored=("result",)).rows[:2]
    by_frame = frame_to_table("t", frame, censored=("result",)).rows
    assert by_file == by_frame
