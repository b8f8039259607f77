"""The README is true: every row of its table works as typed, in order, and its Python example gives what it shows."""

import doctest
import os
import re
import shlex
import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.commands.main import main
from tests.conftest import ROOT

README = ROOT / "README.md"
ROWS = [
    [shlex.split(words) for words in re.findall(r"`([^`]+)`", row.split(" | ")[1])]
    for row in re.findall(r"^\| .+ \|$", README.read_text("utf-8"), re.MULTILINE)
    if row.startswith("| ") and "`" in row.split(" | ")[1] and not row.startswith("| `")
][1:]
LONG = {"report", "spreadsheet", "risk", "print-list", "oven", "capacity"}


def test_the_table_is_found_whole() -> None:
    said = {words[0] for row in ROWS for words in row}
    assert said >= {*main.list_commands(None)} - {"customer-quote"}  # type: ignore[arg-type]
    assert "customer-quote" in said


@pytest.mark.parametrize(
    "row",
    [pytest.param(row, id=row[0][0], marks=pytest.mark.slow if row[0][0] in LONG else ()) for row in ROWS],
)
def test_a_row_works_as_typed(row: list[list[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("USERPROFILE", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "data", tmp_path / "data")
    if row[0][0] != "new":
        assert CliRunner().invoke(main, ["new", "my_shop"]).exit_code == 0
    served = _nothing_is_served(monkeypatch)
    for words in row:
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, (words, done.output, done.exception)
        assert done.output.strip(), words
        assert "Warning" not in done.output, words
        assert not re.search("Traceback|needs mending", done.output), words
    assert len(served) == sum(words[0] in {"lab", "app"} for words in row)


def _nothing_is_served(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Have the servers note what they are started with; tests/browser starts them in earnest."""
    served: list[list[str]] = []
    for module, name in (("jupyterlab.labapp", "LabApp"), ("voila.app", "Voila")):
        __import__(module)
        monkeypatch.setattr(f"{module}.{name}.launch_instance", served.append)
    return served


def test_the_python_example_gives_what_it_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    told = doctest.testfile(str(README), module_relative=False)
    assert told.attempted >= 5
    assert told.failed == 0


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii"])
def test_a_terminal_without_the_euro_sign_shows_the_rest(encoding: str) -> None:
    import subprocess

    words = [sys.executable, "-m", "pricing", "why", "sign_letters", "wipe"]
    env = {**os.environ, "PYTHONIOENCODING": encoding}
    done = subprocess.run(words, capture_output=True, check=False, cwd=ROOT, env=env)
    assert done.returncode == 0, done.stderr
    assert b"24.3 m" in done.stdout
