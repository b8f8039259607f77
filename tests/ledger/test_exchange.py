"""Facts in from CSV with a word on each refused row; out to CSV and Parquet."""

import csv
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Tongue
from pricing.ledger.exchange import entry_of_texts, export_csv, export_parquet, import_csv, import_folder
from pricing.ledger.store import Ledger, open_ledger
from tests.ledger.conftest import DAY, took

HEADER = "job,on,step,minutes,amount_m2,amount_part\n"


def _file(folder: Path, text: str, name: str = "times.csv") -> Path:
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def test_good_rows_are_written_and_each_bad_one_is_told(ledger: Ledger, tmp_path: Path) -> None:
    text = HEADER + (
        "gate,2026-11-02,blast,34,2.5,4\n"
        "gate,2026-11-02,blsat,34,2.5,4\n"
        "gate,2026-11-02,blast,-4,2.5,\n"
        "gate,the second,blast,12,2.5,\n"
        "gate,2026-11-02,blast\n"
        "\n"
        "gate,2026-11-02,coat,0.5 h,2.5,\n"
        "=cmd,2026-11-02,coat,12,2.5,\n"
        "gate,2026-11-02,coat,12,-1,\n"
    )
    report = import_csv(ledger, "times", _file(tmp_path, text))
    assert (report.written, report.known) == (2, 0)
    assert [line for line, _ in report.refused] == [3, 4, 5, 6, 9, 10]
    told = str(report)
    assert "times: 2 written, 0 there already, 6 refused." in told
    assert "line 3: step is 'blsat'; it must be a step of steps.csv. Did you mean 'blast'?" in told
    assert "line 4: minutes is -4.0; it must be above 0 min" in told
    assert "line 5: on is 'the second'" in told
    assert "line 6: the row is '3 cells'; it must be 6 cells." in told
    assert "line 9: job is '=cmd'; it must be a name that does not begin with" in told
    assert "line 10: amounts is" in told
    assert [(row["minutes"], row["amounts"]) for row in ledger.rows("times")] == [
        (34.0, {"m2": 2.5, "part": 4.0}),
        (30.0, {"m2": 2.5}),
    ]


def test_the_same_file_again_adds_nothing_and_equal_rows_are_two_facts(ledger: Ledger, tmp_path: Path) -> None:
    row = "gate,2026-11-02,blast,34,2.5,4\n"
    path = _file(tmp_path, HEADER + row + row)
    assert import_csv(ledger, "times", path).written == 2
    again = import_csv(ledger, "times", path)
    assert (again.written, again.known) == (0, 2)
    path = _file(tmp_path, HEADER + row + row + row.replace("34", "35"))
    assert import_csv(ledger, "times", path).written == 1
    assert len(ledger.rows("times")) == 3


def test_a_file_with_a_wrong_head_is_refused_whole(ledger: Ledger, tmp_path: Path) -> None:
    with pytest.raises(BadInput) as caught:
        import_csv(ledger, "times", _file(tmp_path, "job,on,stp,minutes,minutes\n"))
    told = str(caught.value)
    assert "column is 'stp'; it must be one of" in told
    assert "Did you mean 'step'?" in told
    assert "column is 'minutes'; it must be there once." in told
    assert "column is 'step'; it must be there. It is missing." in told


def test_units_in_cells_are_read() -> None:
    texts = {"job": "gate", "on": "2026-11-02", "powder": "jet black", "used_kg": "1.2 lb", "coated_m2": "20 ft2"}
    entry = entry_of_texts("powder", texts, "a test", tongue=Tongue("EUR"))
    assert entry.used_kg == pytest.approx(0.54431084)  # type: ignore[attr-defined]
    assert entry.coated_m2 == pytest.approx(1.8580608)  # type: ignore[attr-defined]
    with pytest.raises(BadInput, match=r"used_kg is '1\.2 ft'; it must be a quantity in kg\. ft is not a unit of this"):
        entry_of_texts("powder", texts | {"used_kg": "1.2 ft"}, "a test")


def test_out_and_in_again_is_the_same(ledger: Ledger, tmp_path: Path) -> None:
    (name,) = ledger.add("times", took(0.1 + 0.2, note='rust, "ä"', amounts={"m2": 1 / 3}))
    ledger.correct("times", name, minutes=7.25)
    ledger.add("times", took(5.0, worker="helper", amounts={"part": 3.0}))
    out = tmp_path / "out"
    assert [path.name for path in export_csv(ledger, out)] == ["times.csv"]
    (tmp_path / "other").mkdir()
    with open_ledger(tmp_path / "other") as other:
        assert [report.refused for report in import_folder(other, out)] == [()]
        keep = ("id", "job", "on", "step", "minutes", "amounts", "note", "worker", "how", "confirmed")
        ours, theirs = ledger.rows("times"), other.rows("times")
        assert [{k: row[k] for k in keep} for row in theirs] == [{k: row[k] for k in keep} for row in ours]


RISKY = ["- urgent, ring first", "+49 ring first", "=1+1", "@door", "'tis rusty", "plain"]


@pytest.mark.parametrize("note", RISKY)
def test_any_words_can_be_logged_and_no_spreadsheet_runs_them(ledger: Ledger, tmp_path: Path, note: str) -> None:
    ledger.add("times", took(5.0, note=note, worker="owner"))
    (path,) = export_csv(ledger, tmp_path / "out")
    with path.open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row["note"][0] not in "=+-@"
    (tmp_path / "other").mkdir()
    with open_ledger(tmp_path / "other") as other:
        import_folder(other, tmp_path / "out")
        assert [row["note"] for row in other.rows("times")] == [note]


def test_parquet_holds_the_whole_history(ledger: Ledger, tmp_path: Path) -> None:
    (name,) = ledger.add("times", took(5.0))
    ledger.correct("times", name, minutes=7.25)
    (path,) = export_parquet(ledger, tmp_path / "out")
    table = pq.read_table(path)
    assert table.column("minutes").to_pylist() == [5.0, 7.25]
    assert table.column("replaces").to_pylist() == [None, name]
    assert table.column("amounts").to_pylist() == ['{"m2": 2.0}'] * 2
    assert table.column("on").to_pylist() == [DAY.isoformat()] * 2


def test_a_folder_without_tables_is_told(ledger: Ledger, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"the folder is 'without a table'; it must be a folder with quotes\.csv"):
        import_folder(ledger, tmp_path / "nothing")
