"""Opening the workbook: the owner's folder, the words the servers are started with, and what is left behind."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from pricing.basis.errors import BadInput
from pricing.screens.bar import PAGES
from pricing.screens.pages import notebooks_folder, own_folder
from pricing.screens.serve import Door, app_words, free_port, lab_words, laid_out
from pricing.show.desk import READ_ONLY_VARIABLE, SHOP_VARIABLE, Desk
from tests.conftest import ROOT


def test_the_owners_folder_is_made_once_and_its_pages_are_mended(tmp_path: Path) -> None:
    at = own_folder(tmp_path / "mine")
    assert {page.stem for page in at.glob("*.ipynb")} == set(PAGES)
    mine = (at / "rates.csv").read_text("utf-8").replace("won or lost", "mine: won or lost")
    (at / "rates.csv").write_text(mine, "utf-8")
    (at / "notes.txt").write_text("mine", "utf-8")
    for name, damage in (("1_my_shop", b"{}"), ("4_two_tone", b""), ("5_break_even", b"\xff\xfe")):
        (at / f"{name}.ipynb").write_bytes(damage)
    (at / "7_what_it_took.ipynb").unlink()
    assert own_folder(at) == at
    for name in PAGES:
        assert (at / f"{name}.ipynb").read_bytes() == (notebooks_folder() / f"{name}.ipynb").read_bytes()
    assert (at / "rates.csv").read_text("utf-8") == mine
    assert (at / "notes.txt").read_text("utf-8") == "mine"


def test_a_folder_that_is_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("dear", "utf-8")
    with pytest.raises(BadInput, match="not empty"):
        own_folder(tmp_path)


def test_settings_lie_beside_and_are_gone_afterwards(tmp_path: Path) -> None:
    before = dict(os.environ)
    with laid_out(tmp_path, app=True) as beside:
        settings = json.loads((beside / "settings" / "overrides.json").read_text("utf-8"))
        kernels = settings["@jupyterlab/apputils-extension:kernels-settings"]
        assert kernels == {"commsOverSubshells": "disabled"}
        assert os.environ[SHOP_VARIABLE] == str(tmp_path)
        assert os.environ[READ_ONLY_VARIABLE] == "1"
    assert not beside.exists()
    assert dict(os.environ) == before


def test_the_notebook_is_reached_from_this_machine_alone_and_with_a_token(tmp_path: Path) -> None:
    door = Door.free()
    words = lab_words(tmp_path, tmp_path, door, browser=False)
    assert "--ServerApp.ip=127.0.0.1" in words
    assert len(door.token) >= 24
    assert f"--IdentityProvider.token={door.token}" in words
    assert "--Voila.ip=127.0.0.1" in app_words(door, browser=False)
    assert Door.free().token != door.token


def test_a_kernel_waits_for_nobody_since_it_would_show_an_old_folder() -> None:
    assert "--preheat_kernel=False" in app_words(Door.free(), browser=False)


def test_a_taken_port_is_passed_over() -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        assert free_port(port) > port


def test_the_port_is_free_at_the_address_that_is_listened_at() -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.2", 0))
        port = taken.getsockname()[1]
        assert free_port(port, address="127.0.0.1") == port
        assert free_port(port, address="127.0.0.2") > port


def test_pages_open_the_folder_they_are_told(own: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(SHOP_VARIABLE, str(own))
    assert Desk().folder == own
    monkeypatch.delenv(SHOP_VARIABLE)
    monkeypatch.chdir(own)
    assert Desk().folder == own
    monkeypatch.chdir(tmp_path)
    assert Desk().demo


def test_without_a_terminal_the_price_list_is_printed() -> None:
    done = subprocess.run([sys.executable, "-m", "pricing"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Sign letter, 200 mm" in done.stdout
