"""Tables of times and temperatures as kitchens write them."""

import pytest

from bloomless.bench.recorded import readings_from_csv
from bloomless.errors import ImpossibleInput

TABLES = {
    "seconds, °C": "time,temperature_C\n100,45.0\n115.5,44.1\n",
    "semicolon and decimal comma": "Zeit t;x\n".replace("Zeit t", "time_s").replace("x", "temp (°C)")
    + "0;45,0\n15,5;44,1\n",
    "minutes, °F": "minutes\ttemperature_F\n0\t113\n0.2583333333\t111.38\n",
    "clock": "time,temp [C]\n10:00:00,45\n10:00:15.5,44.1\n",
    "iso": "timestamp,probe_C\n2031-05-01T10:00:00Z,45\n2031-05-01T10:00:15.500Z,44.1\n",
    "other columns and a gap": "id,at,reading °C,note\n1,0,45,\n2,7,,lost\n3,15.5,44.1,\n",
    "byte order mark": "\ufeffseconds,temperature_C\n0,45\n15.5,44.1\n",
}


@pytest.mark.parametrize("name", TABLES)
def test_tables_are_read(name):
    readings, refused = readings_from_csv(TABLES[name])
    assert refused == ()
    assert [r.at_s for r in readings] == pytest.approx([0.0, 15.5])
    assert [r.temperature_C for r in readings] == pytest.approx([45.0, 44.1], abs=1e-6)


def test_unit_is_never_guessed():
    with pytest.raises(ImpossibleInput, match="--unit"):
        readings_from_csv("time,temp\n0,45\n")
    assert readings_from_csv("time,temp\n0,45\n", unit="C")[0][0].temperature_C == 45
    assert readings_from_csv("time,temp\n0,113\n", unit="F")[0][0].temperature_C == pytest.approx(45)


@pytest.mark.parametrize(
    ("text", "match"),
    [("", "header row"), ("  \n\n", "header row"), ("a,b\n1,2\n", "time"), ("time,note\n1,2\n", "temperature_C")],
)
def test_files_without_readings_are_refused(text, match):
    with pytest.raises(ImpossibleInput, match=match):
        readings_from_csv(text)


def test_a_bad_row_is_named_and_the_rest_kept():
    text = "time,temperature_C\n0,45\nsoon,44\n10,hot\n12,200\n5\n9,43\n8,42\n2031-99-01,3\n"
    readings, refused = readings_from_csv(text)
    assert [r.temperature_C for r in readings] == [45, 43]
    assert [error.field.split(":")[0] for error in refused] == [
        "line 3",
        "line 4",
        "line 5",
        "line 6",
        "line 8",
        "line 9",
    ]
