"""Files are read whole or refused, and written beside before they replace."""

import os
from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.basis.files import read_table, read_text, read_toml, write_safely


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "rates.csv").write_text("x")
    with pytest.raises(BadInput, match=r"the file is 'not there'; .* Did you mean 'rates.csv'\?"):
        read_text(tmp_path / "rate.csv")


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(" \n")
    with pytest.raises(BadInput, match=r"the file is 'empty'; it must be filled in\."):
        read_text(tmp_path / "a.csv")


def test_a_wrong_encoding_names_the_line(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"name\nsch\xf6n\n")
    with pytest.raises(BadInput, match=r"line 2 is 'not UTF-8'; it must be UTF-8 text\. Save it again as UTF-8"):
        read_text(tmp_path / "a.csv")


def test_a_line_of_ten_megabytes_is_refused_in_few_words(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("name\n" + "x" * 10_000_000)
    with pytest.raises(BadInput, match=r"line 2 is '10000000 characters'; it must be at most 20000") as caught:
        read_text(tmp_path / "a.csv")
    assert len(str(caught.value)) < 400


def test_a_table_tells_every_bad_column(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("step,drivr,low,low\n")
    with pytest.raises(BadInput) as caught:
        read_table(tmp_path / "a.csv", ["step", "driver", "low"])
    assert [str(problem) for problem in caught.value.problems] == [
        "column is 'drivr'; it must be step, driver or low. Did you mean 'driver'?",
        "column is 'low'; it must be there once. It is there twice.",
        "column is 'driver'; it must be there. It is missing from the first line.",
    ]


def test_a_row_with_too_many_cells_is_named(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("a,b\n1,2\n1,2,3\n")
    with pytest.raises(BadInput, match=r"line 3 is '3 cells'; it must be 2 cells\. A text with a comma"):
        read_table(tmp_path / "a.csv", ["a", "b"])


def test_broken_toml_names_the_place(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("a = \n")
    with pytest.raises(BadInput, match=r"line 1, column"):
        read_toml(tmp_path / "a.toml")


def test_a_failed_write_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.csv"
    path.write_text("old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="No space left on device.*Nothing was changed"):
        write_safely(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]


def test_a_write_replaces_the_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("a much longer old content")
    write_safely(path, "new\n")
    assert path.read_bytes() == b"new\n"
