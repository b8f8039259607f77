"""A save is one act: killed at any point it leaves the old shop or the new one, and two at once do not lose one."""

import multiprocessing
import os
import signal
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pricing.basis import switch
from pricing.basis.errors import BadInput
from pricing.basis.switch import locked, switch_all
from pricing.shop.folder import FILES, open_shop, save_shop
from pricing.shop.shop import Shop
from pricing.show.desk import Desk

FORK = multiprocessing.get_context("fork")
KEY = "wipe.line_m.hands"


def numbered(shop: Shop, number: int) -> Shop:
    """Return the shop with one number in a rate, the policy and an assumption, so that a mix shows."""
    rate = replace(shop.rates[KEY], low=float(number), likely=float(number), high=float(number))
    idle = replace(shop.assumptions["oven.idle"], low=float(number), likely=float(number), high=float(number))
    policy = shop.policy.model_copy(update={"minimum_charge": float(number)})
    return replace(
        shop, rates={**shop.rates, KEY: rate}, assumptions={**shop.assumptions, "oven.idle": idle}, policy=policy
    )


def number_of(shop: Shop) -> set[float]:
    return {shop.rates[KEY].likely, shop.assumptions["oven.idle"].likely, shop.policy.minimum_charge}


def _save_until_killed(folder: Path, first: int) -> None:
    shop = open_shop(folder)
    for number in range(first, 1_000_000):
        save_shop(numbered(shop, number), folder)


def killed_saves(folder: Path, kills: int, seed: int) -> int:
    """Kill a saver again and again; give how many kills were met by a shop made of two saves."""
    save_shop(numbered(open_shop(folder), 1), folder)
    chance, mixed = np.random.default_rng(seed), 0
    for _ in range(kills):
        (last,) = number_of(open_shop(folder))
        child = FORK.Process(target=_save_until_killed, args=(folder, int(last) + 1))
        child.start()
        time.sleep(chance.uniform(0.02, 0.25))
        os.kill(child.pid or 0, signal.SIGKILL)
        child.join()
        found = number_of(open_shop(folder))
        mixed += len(found) != 1 or min(found) < last
        if len(found) != 1:
            save_shop(numbered(open_shop(folder), int(max(found))), folder)
    return mixed


@pytest.mark.slow
def test_a_killed_save_leaves_the_old_shop_or_the_new_one(own: Path) -> None:
    assert killed_saves(own, 12, seed=9) == 0
    open_shop(own)
    assert list(own.glob(".*.part")) == []


class Stopped(BaseException):
    """The program ends here."""


@pytest.mark.parametrize("step", range(12))
def test_stopped_at_any_step_of_the_switch(own: Path, monkeypatch: pytest.MonkeyPatch, step: int) -> None:
    """Every rename and removal of a save is a place to be stopped at; the last ones lie after it."""
    save_shop(numbered(open_shop(own), 1), own)
    left = [step]

    def counted(name: str) -> None:
        real = getattr(Path, name)

        def act(self: Path, *words: object, **more: object) -> object:
            if self.parent == own and (name == "replace" or self.name == ".switch.json"):
                if not left[0]:
                    raise Stopped
                left[0] -= 1
            return real(self, *words, **more)

        monkeypatch.setattr(Path, name, act)

    counted("replace")
    counted("unlink")
    shop = open_shop(own)
    try:
        save_shop(numbered(shop, 2), own)
        done = True
    except Stopped:
        done = False
    monkeypatch.undo()
    found = number_of(open_shop(own))
    assert len(found) == 1
    assert found == ({2.0} if step else {1.0}), "from the moment the list has its name the new files count"
    assert done == (step >= 5)
    assert not [path for path in own.iterdir() if path.name.endswith(".part")], "swept at the next opening"
    assert not (own / ".switch.json").exists()


def test_a_file_that_is_not_let_go_of_brings_all_old_ones_back(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save_shop(numbered(open_shop(own), 1), own)
    before = {name: (own / name).read_bytes() for name in FILES if (own / name).exists()}
    real, refusals = Path.replace, [1]

    def held(self: Path, target: Path) -> Path:
        if Path(target).name == "shop.toml" and refusals:
            refusals.pop()
            raise PermissionError(13, "in use")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(BadInput, match="the folder is 'in use'.*\n?.*Nothing was changed"):
        save_shop(numbered(open_shop(own), 2), own)
    monkeypatch.undo()
    assert {name: (own / name).read_bytes() for name in before} == before
    assert number_of(open_shop(own)) == {1.0}


def _save_desk(folder: Path, number: int, ready: "multiprocessing.synchronize.Barrier") -> None:
    desk = Desk(folder, read_only=False)
    new = numbered(desk.shop, number)
    desk.change({"rates": new.rates, "assumptions": new.assumptions, "policy": new.policy})
    ready.wait()
    try:
        desk.save()
    except BadInput as why:
        os._exit(3 if why.problems[0].value == "changed by another page" else 4)
    os._exit(0)


def test_of_two_saves_at_once_the_later_stands_whole(own: Path) -> None:
    for turn in range(4):
        ready = FORK.Barrier(2)
        children = [FORK.Process(target=_save_desk, args=(own, 10 * turn + n, ready)) for n in (1, 2)]
        for child in children:
            child.start()
        for child in children:
            child.join()
        codes = [child.exitcode for child in children]
        assert set(codes) <= {0, 3}
        assert 0 in codes
        assert number_of(open_shop(own)) in ({10.0 * turn + 1}, {10.0 * turn + 2})


def test_a_reader_meets_no_mix(own: Path) -> None:
    save_shop(numbered(open_shop(own), 1), own)
    child = FORK.Process(target=_save_until_killed, args=(own, 2))
    child.start()
    try:
        assert all(len(number_of(open_shop(own))) == 1 for _ in range(12))
    finally:
        os.kill(child.pid or 0, signal.SIGKILL)
        child.join()


def test_what_is_left_of_a_stopped_writer_is_swept_and_what_is_young_and_not_ours_stays(own: Path) -> None:
    (own / ".rates.csv.abc.part").write_text("half")
    young, old = own / "jobs" / ".gate.toml.abc.part", own / "jobs" / ".chair.toml.abc.part"
    young.write_text("somebody writes")
    old.write_text("nobody does")
    os.utime(old, (1, 1))
    open_shop(own)
    assert not (own / ".rates.csv.abc.part").exists()
    assert young.exists()
    assert not old.exists()


def test_a_lock_that_another_program_holds_is_told(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def hold(told: int) -> None:
        with locked(own):
            os.write(told, b"held")
            time.sleep(60)

    listen, told = os.pipe()
    child = FORK.Process(target=hold, args=(told,))
    child.start()
    assert os.read(listen, 4) == b"held"
    monkeypatch.setattr(switch, "_WAIT_S", 0.1)
    with pytest.raises(BadInput, match="the folder is 'in use'; it must be free within a minute"), locked(own):
        pass
    child.kill()
    child.join()
    with locked(own):
        switch_all(own, {"note.txt": "a"})
    assert (own / "note.txt").read_text() == "a"
