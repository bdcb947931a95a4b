"""Tables of a visit come in as SI with blanks as unknown; a bad cell is named by row and column."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import FileError, InputError
from groundglow.frames.tables import read_conditions, read_references, read_rows

Write = Callable[[str, str], Path]

CONDITIONS = """time_utc,air_temperature_c,air_temperature_c_sd,relative_humidity_pct,pressure_hpa,wind_speed_m_s,\
wind_from_deg,irradiance_w_m2,cloud_fraction,load_fraction,mood
2026-02-03T05:00:00Z,6.85,0.5,80,1000,2.5,90,0,0.25,0.5,good
2026-02-03T04:00:00Z,1.85,,,955.5,,180,,,,
"""


def test_conditions_are_si_in_order_of_time(written: Write) -> None:
    """Celsius to kelvin, percent to share, hPa to Pa, degrees to radians; rows sorted."""
    conditions = read_conditions(written("conditions.csv", CONDITIONS))
    assert np.diff(conditions.time).tolist() == [3600.0]
    np.testing.assert_allclose(conditions.values["air_temperature"], [275.0, 280.0])
    np.testing.assert_allclose(conditions.values["relative_humidity"], [np.nan, 0.8])
    np.testing.assert_allclose(conditions.values["pressure"], [95550.0, 100000.0])
    np.testing.assert_allclose(conditions.values["wind_from"], [np.pi, np.pi / 2])
    np.testing.assert_allclose(conditions.sd["air_temperature"], [np.nan, 0.5])


def test_a_blank_is_unknown_and_never_zero(written: Write) -> None:
    """A missing irradiance must not become night."""
    conditions = read_conditions(written("conditions.csv", CONDITIONS))
    assert np.isnan(conditions.values["irradiance"][0])
    assert conditions.values["irradiance"][1] == 0.0
    assert conditions.at("load_fraction", conditions.time[0]).value == 0.5


def test_columns_that_we_do_not_know_are_noted(written: Write) -> None:
    """Nothing disappears without a word."""
    assert read_conditions(written("conditions.csv", CONDITIONS)).notes == ("conditions.csv: columns not used: mood",)


def test_a_missing_column_falls_back_on_its_default(written: Write) -> None:
    """The record says that the value was assumed."""
    conditions = read_conditions(written("c.csv", "time_utc,air_temperature_c\n2026-02-03T04:00:00Z,5\n"))
    assert not conditions.at("air_temperature", 0.0).assumed
    assert conditions.at("pressure", 0.0).assumed


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2026-02-03T04:00:00Z,cold", ["row 3", "air_temperature_c", "'cold'"]),
        ('2026-02-03T04:00:00Z,"5,5"', ["row 3", "decimal point"]),
        ("2026-02-03T04:00:00Z,5,5", ["row 3", "3 cells", "2"]),
        ("2026-02-03T04:00:00Z,278.15", ["row 3", "out of range"]),
        ("2026-02-03T04:00:00Z,nan", ["row 3", "not a number"]),
        ("3.2.2026 4 Uhr,5", ["row 3", "time_utc", "2026-02-03T04:05:06Z"]),
        (",5", ["row 3", "time_utc", "is missing"]),
    ],
)
def test_a_bad_cell_is_named_by_row_and_column(written: Write, row: str, words: list[str]) -> None:
    """The row number is the line that an editor shows."""
    path = written("c.csv", f"time_utc,air_temperature_c\n2026-02-03T03:00:00Z,5\n{row}\n")
    with pytest.raises(InputError) as caught:
        read_conditions(path)
    for word in [str(path), *words]:
        assert word in str(caught.value)


@pytest.mark.parametrize("column", ["relative_humidity_pct", "cloud_fraction", "pressure_hpa", "air_temperature_c_sd"])
def test_impossible_weather_is_refused(written: Write, column: str) -> None:
    """A share above one, a pressure in pascal, a negative doubt: wrong units are caught at the door."""
    value = {"pressure_hpa": "101325", "air_temperature_c_sd": "-1"}.get(column, "101")
    text = f"time_utc,air_temperature_c,{column}\n2026-02-03T04:00:00Z,5,{value}\n"
    with pytest.raises(InputError, match=column):
        read_conditions(written("c.csv", text))


def test_comments_blank_lines_and_a_byte_order_mark_are_passed_over(written: Write) -> None:
    """What spreadsheets and people add does no harm, and rows keep their numbers."""
    path = written("c.csv", "\ufeff# weather\n\n a , b \n1,2\n,,\n3\n")
    rows = read_rows(path)
    assert [(r.number, r.text("a"), r.text("b")) for r in rows] == [(4, "1", "2"), (6, "3", None)]


def test_foreign_column_names_are_mapped(written: Write) -> None:
    """[poses] columns in flight.toml: our name to the file's."""
    path = written("c.csv", "Longitude,other\n8.5,1\n")
    assert read_rows(path, {"lon_deg": "Longitude"})[0].number_of("lon_deg") == 8.5
    with pytest.raises(InputError, match=r"no column Lon, which poses\.columns names; it has Longitude, other"):
        read_rows(path, {"lon_deg": "Lon"})


def test_a_column_given_twice_is_refused(written: Write) -> None:
    """Two columns of one name cannot both be right."""
    with pytest.raises(InputError, match="appears twice"):
        read_rows(written("c.csv", "a,a\n1,2\n"))


def test_empty_and_missing_tables(written: Write, tmp_path: Path) -> None:
    """Neither passes for a table without rows."""
    with pytest.raises(InputError, match="is empty"):
        read_conditions(written("c.csv", ""))
    with pytest.raises(InputError, match="no row of conditions"):
        read_conditions(written("c.csv", "time_utc,air_temperature_c\n"))
    with pytest.raises(FileError, match="no such file"):
        read_conditions(tmp_path / "none.csv")
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileError, match="UTF-8"):
        read_conditions(tmp_path / "binary.csv")


REFERENCES = "name,kind,lon_deg,lat_deg,frame,x_px,y_px,time_utc,value_c,standard_uncertainty_k,use\n"


def test_references_by_place_and_by_pixel(written: Write) -> None:
    """A bucket on the map and a board in a frame, in kelvin."""
    text = (
        REFERENCES
        + "bucket,water,8.5,47.1,,,,2026-02-03T04:00:00Z,6.85,0.2,use\n"
        + "board,board,,,a.tif,12.5,30,,20,0.5,withhold\n"
        + ",foil,8.5,47.1,,,,,-20,2,\n"
    )
    bucket, board, foil = read_references(written("references.csv", text))
    assert (bucket.value, bucket.standard_uncertainty, bucket.use) == (280.0, 0.2, "use")
    assert (bucket.lon_deg, bucket.lat_deg, bucket.frame) == (8.5, 47.1, None)
    assert (board.frame, board.column, board.row, board.time, board.use) == ("a.tif", 12.5, 30.0, None, "withhold")
    assert (foil.name, foil.use) == ("row 4", "use")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("a,soup,8.5,47.1,,,,,5,0.2,use", "water, board, tape, heated, foil"),
        ("a,water,8.5,47.1,,,,,,0.2,use", "value_c"),
        ("a,water,8.5,47.1,,,,,5,,use", "standard_uncertainty_k"),
        ("a,water,8.5,47.1,,,,,5,0,use", "above 0"),
        ("a,water,8.5,,,,,,5,0.2,use", "no place"),
        ("a,water,,,,5,6,,5,0.2,use", "no place"),
        ("a,water,8.5,47.1,,,,,5,0.2,maybe", "use, withhold"),
    ],
)
def test_a_reference_without_what_it_needs_is_refused(written: Write, row: str, words: str) -> None:
    """A target without place, value or doubt cannot correct anything."""
    with pytest.raises(InputError, match="row 2") as caught:
        read_references(written("references.csv", REFERENCES + row + "\n"))
    assert words in str(caught.value)
