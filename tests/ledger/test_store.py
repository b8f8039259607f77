"""Facts are kept as they were given; corrections stand beside them."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from pricing.basis.errors import BadInput
from pricing.ledger import backup
from pricing.ledger.database_errors import Changed
from pricing.ledger.entries import Meter, Outcome
from pricing.ledger.kinds import ENTRY_KINDS
from pricing.ledger.migrations import climb, version_of
from pricing.ledger.store import Ledger, new_id, open_ledger, restore
from pricing.ledger.tables import FIELDS, METADATA, TABLES, VERSION, VERSIONS
from tests.ledger.conftest import DAY, took


def test_a_fact_comes_back_as_it_was_given(ledger: Ledger) -> None:
    given = took(0.1 + 0.2, worker="owner", amounts={"m2": 1 / 3, "part": 4.0}, note="rust, ä")
    (name,) = ledger.add("times", given)
    (row,) = ledger.rows("times")
    assert row["id"] == name
    assert (row["minutes"], row["amounts"], row["note"]) == (0.1 + 0.2, {"m2": 1 / 3, "part": 4.0}, "rust, ä")
    assert (row["job"], row["on"], row["step"], row["how"]) == ("gate", "2026-11-25", "blast", "by hand")


def test_a_correction_stands_in_front_of_what_it_corrects(ledger: Ledger) -> None:
    (first,) = ledger.add("times", took(30.0))
    second = ledger.correct("times", first, minutes=33.0)
    third = ledger.correct("times", second, minutes=34.0)
    assert [row["id"] for row in ledger.rows("times")] == [third]
    assert [row["minutes"] for row in ledger.history("times")] == [30.0, 33.0, 34.0]
    ledger.strike("times", third)
    assert ledger.rows("times") == []
    assert [row["struck"] for row in ledger.history("times")] == [False, False, False, True]


def test_two_corrections_of_one_row_cannot_both_stand(ledger: Ledger) -> None:
    (first,) = ledger.add("times", took())
    kept = ledger.correct("times", first, minutes=33.0)
    with pytest.raises(Changed, match=r"corrected already.*\n?.*Read it again"):
        ledger.correct("times", first, minutes=44.0)
    with pytest.raises(Changed, match="corrected already"):
        ledger.strike("times", first)
    assert [row["id"] for row in ledger.rows("times")] == [kept]


def test_a_retry_does_not_double_and_does_not_overwrite(ledger: Ledger) -> None:
    name = new_id()
    ledger.add("times", took(30.0), ids=[name])
    ledger.add("times", took(30.0), took(31.0), ids=[name, new_id()])
    assert [row["minutes"] for row in ledger.rows("times")] == [30.0, 31.0]
    with pytest.raises(BadInput, match=r"id is '.*'; it must be new, or that of the same fact"):
        ledger.add("times", took(99.0), took(98.0), ids=[name, new_id()])
    assert len(ledger.history("times")) == 2, "all or none"


REFUSED = "facts are never changed"


def test_the_database_itself_refuses_to_change_a_fact(ledger: Ledger) -> None:
    (first,) = ledger.add("times", took(30.0))
    ledger.correct("times", first, minutes=33.0)
    before = ledger.history("times")
    attempts = ["UPDATE times SET minutes = 1", "DELETE FROM times"]
    if ledger._engine.dialect.name == "sqlite":
        rest = "'', 'blast', 9, '{}', '', 'by hand', 0"
        for taken in (f"900, '{first}', '', NULL", "1, 'other', '', NULL", f"900, 'other', '', '{first}'"):
            attempts += [
                f"{verb} INTO times VALUES ({taken}, 0, 'gate', '', {rest})"
                for verb in ("REPLACE", "INSERT OR REPLACE")
            ]
    else:
        attempts += ["TRUNCATE times", "TRUNCATE times CASCADE"]
        attempts += ["INSERT INTO times SELECT * FROM times ON CONFLICT (id) DO UPDATE SET minutes = 1"]
    for words in attempts:
        with pytest.raises(sa.exc.DBAPIError, match=REFUSED), ledger._engine.begin() as link:
            link.execute(sa.text(words))
    assert ledger.history("times") == before


def test_an_older_ledger_is_guarded_too_once_it_has_climbed(tmp_path: Path, url: str | None) -> None:
    old_ledger(tmp_path, url, 2)
    words = "TRUNCATE times" if url else "REPLACE INTO times SELECT * FROM times"
    with open_ledger(tmp_path, url) as ledger:
        with pytest.raises(sa.exc.DBAPIError, match=REFUSED), ledger._engine.begin() as link:
            link.execute(sa.text(words))
        assert len(ledger.rows("times")) == 1


def test_looking_and_refused_facts_make_no_file(tmp_path: Path) -> None:
    with open_ledger(tmp_path) as ledger:
        assert ledger.rows("times") == ledger.history("quotes") == []
        assert ledger.known("times", ["a"]) == set()
        with pytest.raises(BadInput, match="times is 'Outcome'"):
            ledger.add("times", Outcome(job="gate", on=DAY, result="won"))
        with pytest.raises(BadInput, match="id in times is 'nobody'"):
            ledger.strike("times", "nobody")
        with pytest.raises(BadInput, match="the ledger is 'empty'"):
            ledger.back_up()
        assert list(tmp_path.iterdir()) == []
        with open_ledger(tmp_path) as other:
            other.add("times", took(8.0))
        assert [row["minutes"] for row in ledger.rows("times")] == [8.0], "made by another meanwhile"
        ledger.add("times", took(9.0))
    with open_ledger(tmp_path) as again:
        assert [row["minutes"] for row in again.rows("times")] == [8.0, 9.0]


def test_several_things_are_done_as_one_or_not_at_all(ledger: Ledger) -> None:
    def half() -> None:
        with ledger.at_once():
            ledger.add("times", took(1.0))
            assert len(ledger.rows("times")) == 1
            ledger.strike("times", "nobody")

    with pytest.raises(BadInput, match="id in times is 'nobody'"):
        half()
    assert ledger.history("times") == []
    with ledger.at_once():
        (first,) = ledger.add("times", took(1.0))
        ledger.correct("times", first, minutes=2.0)
    assert [row["minutes"] for row in ledger.rows("times")] == [2.0]


def test_what_is_not_accepted_is_told_field_by_field(ledger: Ledger) -> None:
    (name,) = ledger.add("times", took())
    with pytest.raises(BadInput) as caught:
        ledger.correct("times", name, minutes=-3.0, amounts={"kg": 2.0})
    assert [problem.field for problem in caught.value.problems] == ["minutes", "amounts"]
    assert "driven by job, part or m2 for the step blast" in str(caught.value)
    with pytest.raises(BadInput, match=r"step is 'blst'; it must be a step of steps.csv. Did you mean 'blast'\?"):
        ledger.correct("times", name, step="blst")
    with pytest.raises(BadInput, match=r"kind is 'time'; it must be .* Did you mean 'times'\?"):
        ledger.rows("time")
    with pytest.raises(BadInput, match="times is 'Outcome'; it must be Took"):
        ledger.add("times", Outcome(job="gate", on=DAY, result="won"))
    with pytest.raises(BadInput, match="id in times is 'nobody'"):
        ledger.strike("times", "nobody")


def test_every_kind_has_a_table_with_its_fields() -> None:
    assert set(ENTRY_KINDS) == set(FIELDS)
    for kind, record in ENTRY_KINDS.items():
        assert {field.split(":")[0] for field in FIELDS[kind].split()} == set(record.model_fields), kind


def test_the_ladder_ends_at_the_tables_that_the_program_writes(ledger: Ledger) -> None:
    with ledger._engine.connect() as link:
        differences = compare_metadata(MigrationContext.configure(link, opts={"compare_type": True}), METADATA)
        assert differences == []
        assert version_of(link) == VERSION


def old_ledger(folder: Path, url: str | None, version: int) -> None:
    """Make a ledger as the program of that version left it."""
    engine = sa.create_engine(url or f"sqlite:///{folder / 'ledger.db'}")
    with engine.begin() as link:
        climb(link, "2026-01-02T08:00:00.000000+00:00", to=version)
        row = {
            "id": "a1",
            "at": "2026-01-02T08:00:00.000000+00:00",
            "struck": False,
            "job": "gate",
            "on": "2026-01-02",
            "note": "",
            "step": "blast",
            "minutes": 41.5,
            "amounts": {"m2": 2.5},
            "worker": "",
            "how": "by hand",
        }
        then = sa.Table("times", sa.MetaData(), autoload_with=link)
        link.execute(then.insert(), [row | ({"confirmed": False} if version > 1 else {})])
    engine.dispose()


def test_an_older_ledger_climbs_after_a_backup(tmp_path: Path, url: str | None) -> None:
    old_ledger(tmp_path, url, 1)
    with open_ledger(tmp_path, url) as ledger:
        (row,) = ledger.rows("times")
        assert (row["minutes"], row["amounts"], row["confirmed"]) == (41.5, {"m2": 2.5}, False)
        ledger.correct("times", "a1", confirmed=True)
    (kept,) = (tmp_path / "backups").iterdir()
    assert kept.name.startswith("ledger-v1-")
    if url is None:
        old = sa.create_engine(f"sqlite:///{kept}")
        with old.connect() as link:
            assert version_of(link) == 1
            assert link.execute(sa.text("SELECT minutes FROM times")).scalar() == 41.5
        old.dispose()


def test_a_climb_that_breaks_leaves_theold_ledger(
    tmp_path: Path, url: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    old_ledger(tmp_path, url, 1)

    def broken(op: object) -> None:
        op.execute("ALTER TABLE times ADD COLUMN halfway TEXT")  # type: ignore[attr-defined]
        raise KeyboardInterrupt

    monkeypatch.setattr("pricing.ledger.migrations._RUNGS", (None, broken))
    with pytest.raises(KeyboardInterrupt):
        open_ledger(tmp_path, url)
    monkeypatch.undo()
    with open_ledger(tmp_path, url) as ledger:
        assert ledger.rows("times")[0]["minutes"] == 41.5
        assert "halfway" not in ledger.rows("times")[0]


def test_a_ledger_of_a_newer_program_is_left_alone(tmp_path: Path, url: str | None) -> None:
    with open_ledger(tmp_path, url) as ledger:
        ledger.add("times", took())
    with open_ledger(tmp_path, url) as ledger, ledger._engine.begin() as link:
        link.execute(VERSIONS.insert().values(version=VERSION + 7, at="later"))
    with pytest.raises(BadInput, match=rf"version of the ledger is {VERSION + 7}; .* Update this program; nothing was"):
        open_ledger(tmp_path, url)


def test_a_backup_can_be_read_back(tmp_path: Path, url: str | None) -> None:
    with open_ledger(tmp_path, url) as ledger:
        (name,) = ledger.add("times", took(12.5))
        ledger.correct("times", name, minutes=13.5)
        ledger.add("meters", Meter(meter="main", on=DAY, reading=12.0, unit="kWh", carrier="electricity"))
        kept, before = ledger.back_up(), ledger.history("times")
        jsonl = tmp_path / "all.jsonl"
        jsonl.write_text(backup._dump(ledger._engine), "utf-8")
    with pytest.raises(BadInput, match="it must be empty. Restore into a new ledger"):
        restore(tmp_path, jsonl, url)
    other = tmp_path / "other"
    other.mkdir()
    assert restore(other, jsonl if url is None else kept) == "3 rows are back."
    with open_ledger(other) as fresh:
        assert fresh.history("times") == before
    jsonl.write_text('{"table": "times"}\n', "utf-8")
    with pytest.raises(BadInput, match="must be rows that `log backup` wrote"):
        restore(other, jsonl)


def test_a_note_with_any_sign_comes_back_from_a_backup_of_rows(tmp_path: Path) -> None:
    with open_ledger(tmp_path) as ledger:
        ledger.add("times", took(note="one\u2028two\x85three\r\nfour"))
        before, rows = ledger.history("times"), backup._dump(ledger._engine)
    kept, other = tmp_path / "rows.jsonl", tmp_path / "other"
    kept.write_bytes(rows.encode())
    other.mkdir()
    restore(other, kept)
    with open_ledger(other) as fresh:
        assert fresh.history("times") == before


def test_the_newest_backup_takes_the_place_of_a_ledger_that_is_kept_aside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(BadInput, match="the backup is 'not there'; it must be a file that `log backup` wrote"):
        restore(tmp_path)
    with open_ledger(tmp_path) as ledger:
        ledger.add("times", took(12.5))
        before, kept = ledger.history("times"), ledger.back_up()
        ledger.add("times", took(99.0))
    path = tmp_path / "ledger.db"
    path.write_bytes(path.read_bytes()[:3000])
    damaged = path.read_bytes()
    path.with_name("ledger.db-wal").write_bytes(b"of another file")
    told = restore(tmp_path)
    assert told.startswith(f"{kept.name} is back. What stood there is kept as ledger-replaced-")
    assert (tmp_path / told.split()[-1].removesuffix(".")).read_bytes() == damaged
    assert [one.read_bytes() for one in tmp_path.glob("ledger-replaced-*-wal")] == [b"of another file"]
    with open_ledger(tmp_path) as ledger:
        assert ledger.history("times") == before
        ledger.add("times", took(7.0))  # as good as any other
    monkeypatch.setattr(Path, "hardlink_to", lambda *_: Path("/nowhere").stat())  # a disk without links
    assert "is kept as ledger-replaced-" in restore(tmp_path, kept)
    path.unlink()
    assert restore(tmp_path, kept) == f"{kept.name} is back."
    other = tmp_path / "other.db"
    with closing(sqlite3.connect(other)) as raw:
        raw.execute("CREATE TABLE other (id)")
    now = path.read_bytes()
    for wrong, word in ((other, "another database"), (path.with_name("none.db"), "not there")):
        with pytest.raises(BadInput, match=f"the backup is '{word}'"):
            restore(tmp_path, wrong)
    with pytest.raises(BadInput, match="the backup is 'of a file'; it must be rows of a server"):
        restore(tmp_path, kept, "postgresql://nobody@127.0.0.1/none")
    assert path.read_bytes() == now
    assert not list(tmp_path.glob(".ledger*"))


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="the folder is 'not there'; it must be a shop's folder"):
        open_ledger(tmp_path / "nowhere")


def test_tables_hold_their_rows_in_the_order_of_writing(ledger: Ledger) -> None:
    for minutes in (5.0, 3.0, 4.0):
        ledger.add("times", took(minutes))
    assert [row["minutes"] for row in ledger.rows("times")] == [5.0, 3.0, 4.0]
    assert ledger.rows("times", job="nobody") == []
    assert list(TABLES["times"].primary_key.columns.keys()) == ["seq"]
