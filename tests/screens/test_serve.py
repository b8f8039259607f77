"""Opening the workbook: the owner's folder, the words the servers are started with, and what is left behind."""

import ast
import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from pricing.basis.errors import BadInput
from pricing.screens.bar import PAGES
from pricing.screens.serve import Door, app_words, free_port, lab_words, laid_out, own_folder
from pricing.show.desk import READ_ONLY_VARIABLE, SHOP_VARIABLE, Desk
from tests.conftest import ROOT


def test_the_owners_folder_is_made_once_and_then_left_alone(tmp_path: Path) -> None:
    at = own_folder(tmp_path / "mine")
    assert {page.stem for page in at.glob("*.ipynb")} == set(PAGES)
    (at / "1_my_shop.ipynb").write_text("mine", "utf-8")
    (at / "rates.csv").write_text((at / "rates.csv").read_text("utf-8").replace("min/enquiry", "min/enquiry"), "utf-8")
    assert own_folder(at) == at
    assert (at / "1_my_shop.ipynb").read_text("utf-8") == "mine"


def test_a_folder_that_is_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("dear", "utf-8")
    with pytest.raises(BadInput, match="not empty"):
        own_folder(tmp_path)


def test_settings_lie_beside_and_are_gone_afterwards(tmp_path: Path) -> None:
    before = dict(os.environ)
    with laid_out(tmp_path, read_only=True) as beside:
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
    assert "--Voila.ip=127.0.0.1" in app_words(tmp_path, door, browser=False)
    assert Door.free().token != door.token


def test_one_kernel_waits_for_the_first_page_and_none_for_the_others(tmp_path: Path) -> None:
    from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
    from voila.voila_kernel_manager import voila_kernel_manager_factory

    word = next(word for word in app_words(tmp_path, Door.free(), browser=False) if "denylist" in word)
    manager = voila_kernel_manager_factory(AsyncMappingKernelManager, True, 1)
    told = SimpleNamespace(preheat_denylist=ast.literal_eval(word.partition("=")[2]))
    waiting = [name for name in PAGES if manager._notebook_filter(told, tmp_path / f"{name}.ipynb")]
    assert waiting == [next(iter(PAGES))]


def test_a_taken_port_is_passed_over() -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        assert free_port(port) > port


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
