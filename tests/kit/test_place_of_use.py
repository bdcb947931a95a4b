"""The user's table of places of use: what it may say, and what is wrong with it in plain words."""

import pytest

from groundglow.errors import FileError, InputError
from groundglow.kit.place_of_use import use_table

ROW = """
[[row]]
from = "Land A"
to = "Land B"
outcome = "no licence need"
source = "letter 17 of the authority"
date = 2026-05-01
"""


@pytest.fixture
def table(tmp_path):
    def read(text):
        path = tmp_path / "place_of_use.toml"
        path.write_text(text, encoding="utf-8")
        return use_table(path)

    return read


def test_ships_without_rows_and_with_the_quoted_texts_and_their_status():
    shipped = use_table()
    assert shipped.row == ()
    words = " ".join(text.words for text in shipped.text)
    assert "A maximum frame rate equal to or less than 9 Hz" in words
    assert all(text.status for text in shipped.text)


def test_own_rows_come_on_top_of_the_shipped_texts(table):
    own = table(ROW)
    assert own.row[0].leaves == "Land A"
    assert own.row[0].to == "Land B"
    assert own.text == use_table().text


@pytest.mark.parametrize("name", ["source", "date", "outcome"])
def test_a_row_without_source_date_or_outcome_is_refused(table, name):
    lines = [line for line in ROW.splitlines() if not line.startswith(name)]
    with pytest.raises(InputError, match=f"{name} is missing"):
        table("\n".join(lines))


def test_an_outcome_that_decides_is_refused(table):
    with pytest.raises(InputError, match="outcome"):
        table(ROW.replace("no licence need", "allowed"))


def test_a_misspelt_key_is_named(table):
    with pytest.raises(InputError, match=r"end_usr is not a known field \(did you mean end_use"):
        table(ROW + 'end_usr = "survey"\n')


def test_rows_that_contradict_each_other_are_refused(table):
    with pytest.raises(InputError, match="two rows from 'Land A' to 'Land B'"):
        table(ROW + ROW.replace("no licence need", "no"))


def test_no_file_and_no_toml_are_told_apart(tmp_path, table):
    with pytest.raises(FileError, match="cannot be read"):
        use_table(tmp_path / "none.toml")
    with pytest.raises(FileError, match="is not TOML"):
        table("[[row\n")
