"""The commands ``log``, as an owner types them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.basis.facts import fact
from pricing.commands.main import main


@pytest.fixture
def log(own: Path) -> "Log":
    return Log(own)


class Log:
    """Runs ``log`` in an owner's folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __call__(self, *words: str, code: int = 0) -> str:
        done = CliRunner().invoke(
            main, ["log", words[0], "--shop", str(self.folder), *words[1:]], env={"PRICING_LEDGER_URL": ""}
        )
        assert done.exit_code == code, done.output
        return done.output


def test_the_watch_from_start_to_finish(log: Log) -> None:
    assert log("status") == "No watch is running.\n"
    assert "gate: blast 0.0 min  runs" in log("start", "gate", "blast")
    assert "gate: coat 0.0 min  runs" in log("start", "gate", "coat")
    assert "runs" not in log("pause", "gate")
    assert "gate: blast" in log("status")
    assert (
        log("finish", "gate", "--minutes", "blast=21", "--minutes", "coat=9", "coat.m2=1.5")
        == "gate: steps written: 2.\n"
    )
    rows = json.loads(log("list", "times", "--json"))
    assert [(row["step"], row["minutes"], row["amounts"]) for row in rows] == [
        ("blast", 21.0, {}),
        ("coat", 9.0, {"m2": 1.5}),
    ]
    assert log("finish", "gate") == "gate: no watch was running.\n"


def test_quick_entry_correction_and_striking_out(log: Log) -> None:
    log("add", "times", "job=gate", "step=wipe", "minutes=0.5 h", "amount_line_m=7", "amount_part=2")
    (row,) = json.loads(log("list", "times", "--json"))
    assert (row["minutes"], row["amounts"]) == (30.0, {"line_m": 7.0, "part": 2.0})
    log("correct", "times", row["id"][:8], "minutes=42", "amount_part=3")
    (row,) = json.loads(log("list", "times", "--json"))
    assert (row["minutes"], row["amounts"]) == (42.0, {"line_m": 7.0, "part": 3.0})
    log("confirm", "times", row["id"][:8])
    assert "minutes=42 amounts=line_m 7, part 3" in log("list", "times", "--job", "gate")
    (row,) = json.loads(log("list", "times", "--json"))
    assert row["confirmed"]
    log("strike", "times", row["id"])
    assert log("list", "times") == ""
    assert "struck" in log("list", "times", "--history")


def test_a_quote_is_kept_with_its_sheet(log: Log) -> None:
    assert "letters 7: 431.50 EUR asked, full cost" in log("quote", "sign_letters", "431.5", "--name", "letters 7")
    log("add", "outcomes", "job=letters 7", "result=won", "price_paid=431.50 EUR")
    (row,) = json.loads(log("list", "quotes", "--json"))
    assert row["sheet"]["lines"]
    assert row["version"]


def test_an_old_quote_is_shown_again_and_won_or_lost(log: Log) -> None:
    log("quote", "sign_letters", "431.5")
    (row,) = json.loads(log("list", "quotes", "--json"))
    name = row["job"]
    before = log("show", name)
    assert "431.50 asked" in before
    rates = log.folder / "rates.csv"
    points = "wipe,line_m,hands,1.2,2.2,5.0,min/m"
    text = rates.read_text("utf-8")
    assert points in text
    rates.write_text(text.replace(points, "wipe,line_m,hands,3,4,9,min/m"), "utf-8")
    assert log("show", name) == before
    figures = json.loads(log("show", name, "--json"))
    assert figures["price_EUR"] == 431.5
    lines = figures["lines"]
    money = ("cash", "labour", "machines", "overhead")
    assert sum(line[kind] for line in lines for kind in money) == pytest.approx(figures["cost_EUR"], rel=1e-12)
    assert log("quote", "sign_letters", "440").startswith(f"{name} 2: 440.00 EUR asked")
    assert log("won", name) == f"{name}: won, 431.50 paid.\n"
    assert log("won", name, "--paid", "420") == f"{name}: won, 420.00 paid.\n"
    log("lost", f"{name} 2")
    rows = json.loads(log("list", "outcomes", "--json"))
    assert [(row["job"], row["result"], row["price_paid"]) for row in rows] == [
        (name, "won", 420.0),
        (f"{name} 2", "lost", None),
    ]
    assert "Did you mean" in log("show", name[:-1], code=2)
    assert "job is 'gate'; it must be a job whose quote is in the log" in log("won", "gate", code=2)
    assert f"{name}: done, as it was quoted." in log("finish", name)
    (done,) = json.loads(log("list", "jobs", "--json"))
    assert done["parts"] == 9


def test_mistakes_are_told_in_words(log: Log) -> None:
    assert "step is 'blst'; it must be a step of steps.csv. Did you mean 'blast'?" in log(
        "start", "gate", "blst", code=2
    )
    assert "argument is 'minutes'; it must be like FIELD=VALUE" in log("add", "times", "minutes", code=2)
    assert "column is 'job'; it must be there. It is missing." in log("add", "times", "step=blast", "minutes=3", code=2)
    assert "minutes is 'soon'; it must be a quantity in min. 'soon' is no number" in log(
        "add", "times", "job=a", "step=blast", "minutes=soon", code=2
    )
    assert "row is 'zzz'; it must be the id of a row that stands" in log("strike", "times", "zzz", code=2)
    assert "coat.m2 is 'much'; it must be a quantity in m²" in log("finish", "gate", "coat.m2=much", code=2)
    assert "key is 'missing'; it must be one or more keys, or --all" in log("accept", code=2)
    bare = CliRunner().invoke(main, ["log", "status"], env={"PRICING_LEDGER_URL": ""})
    assert bare.exit_code == 2
    assert "--shop is 'missing'; it must be your shop's folder" in bare.output


def test_the_demo_log_from_rates_to_acceptance(log: Log, tmp_path: Path) -> None:
    assert "times: 1612 written, 0 there already, 0 refused." in log("demo")
    assert "the ledger is 'with quotes'; it must be empty" in log("demo", code=2)
    told = log("review")
    assert "They keep their promise." in told
    assert "was it so?" in told
    assert "five more are worth" in told
    assert fact("ledger.more_jobs") == 5, "as the words here and on page 7 say"
    assert "Won and lost: Dearer quotes are lost more often." in told
    figures = json.loads(log("review", "--json"))
    assert figures["coverage_share"] == pytest.approx(0.9, abs=0.02)
    assert figures["time_next"][0]["timing_EUR"] > 0
    rows = {row["key"]: row for row in json.loads(log("rates", "--json"))}
    assert "wipe.line_m.hands: mean 2.5 -> " in log("rates")
    assert "key is 'wipe.line'; it must be" in log("accept", "wipe.line", code=2)
    assert log("accept", "wipe.line_m.hands") == "1 rows taken; changed: rates_history.csv, rates.csv.\n"
    assert f"wipe,line_m,hands,{rows['wipe.line_m.hands']['low']}" in (log.folder / "rates.csv").read_text("utf-8")
    assert "9 files in" in log("export", str(tmp_path / "out"))
    assert "9 files in" in log("export", str(tmp_path / "out"), "--parquet")
    assert "times: 0 written, 1612 there already, 0 refused." in log("import", str(tmp_path / "out" / "times.csv"))
    assert "times: 0 written" in log("import", str(tmp_path / "out"))
    kept = Path(log("backup").strip())
    assert kept.parent == log.folder / "backups"
    assert kept.stat().st_size > 100_000
    (log.folder / "ledger.db").write_bytes(b"scribbled over")
    assert f"The newest backup is {kept}: `log restore` puts it back" in log("status", code=2)
    assert log("restore").startswith(f"{kept.name} is back. What stood there is kept as ledger-replaced-")
    assert "times: 0 written, 1612 there already, 0 refused." in log("import", str(tmp_path / "out" / "times.csv"))


def test_a_job_may_be_named_by_its_file(log: Log) -> None:
    title = "Bakery sign, nine letters, edges black, faces white"
    assert f"{title}: wipe 0.0 min  runs" in log("start", "sign_letters", "wipe")  # timed before it is quoted
    log("quote", "sign_letters", "431.50")
    assert log("won", "sign_letters") == f"{title}: won, 431.50 paid.\n"
    assert f"{title}: steps written: 1." in log("finish", "sign_letters", "--minutes", "wipe=70")
    assert title in log("show", "sign_letters")
    log("quote", "sign_letters", "440")
    assert log("lost", "sign_letters") == f"{title} 2: lost.\n"  # the last quote of that file
    assert "must be the name of a quote in the log" in log("show", "sign_leters", code=2)


@pytest.mark.parametrize(
    "words",
    [
        ("won", "nobody"),
        ("lost", "nobody"),
        ("show", "nobody"),
        ("add", "times", "job=gate", "step=blst", "minutes=3"),
        ("correct", "times", "abc", "minutes=3"),
        ("strike", "times", "abc"),
        ("start", "gate", "blst"),
        ("pause", "gate"),
        ("accept", "wipe.line_m.hands"),
        ("import", "nothing.csv", "--kind", "times"),
        ("start", "-gate", "blast"),
    ],
)
def test_a_refused_command_makes_no_database(log: Log, words: tuple[str, ...]) -> None:
    told = log(words[0], *(["--", *words[1:]] if words[1].startswith("-") else words[1:]), code=2)
    assert "Traceback" not in told
    assert not (log.folder / "ledger.db").exists()


def test_looking_makes_no_database(log: Log) -> None:
    for words in (("status",), ("list", "times"), ("review",), ("rates",), ("finish", "gate")):
        log(*words)
    assert not (log.folder / "ledger.db").exists()
