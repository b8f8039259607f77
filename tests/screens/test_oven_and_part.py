"""My oven and a new part on page 1: the page works out what the command does, and a new item hides no fact."""

import csv
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from pricing.commands.main import main
from pricing.costing.visits import oven_visits
from pricing.parts.items import read_items
from pricing.parts.job import job_of_item
from pricing.parts.shaped import Shaped
from pricing.prices.quote import quote
from pricing.screens.on_bench import OnBench
from pricing.screens.panel_job import JobPanel
from pricing.screens.panel_new_part import NewPartPanel
from pricing.screens.panel_oven import OvenPanel
from pricing.shop.folder import open_shop
from pricing.show.desk import Desk
from pricing.steps.oven_hour import hour_held
from tests.conftest import ROOT
from tests.screens.texts import plain

COOLING = list(csv.DictReader((ROOT / "data" / "cooling.csv").read_text("utf-8").splitlines()))


@pytest.fixture
def desk(own: Path) -> Desk:
    return Desk(own, read_only=False)


def test_an_hour_at_temperature_is_what_walls_exhaust_and_fans_take() -> None:
    shop = Desk().shop
    electric, gas = shop.machines.oven
    held = hour_held(shop, electric, 200.0)
    # an electric oven is billed what walls and exhaust take; the fans' heat is part of it, their power is billed too
    assert held.electric_kwh == pytest.approx(held.walls_kwh + held.exhaust_kwh, rel=0.11)
    assert held.cost == pytest.approx(held.electric_kwh * shop.tariffs.electricity_per_kwh)
    assert hour_held(shop, electric.model_copy(update={"panel_mm": 200.0}), 200.0).walls_kwh < 0.6 * held.walls_kwh
    assert hour_held(shop, gas, 200.0).electric_kwh == pytest.approx(gas.fan_kw)


def test_the_page_fits_an_oven_as_the_command_does(desk: Desk, own: Path) -> None:
    panel = OvenPanel(desk, OnBench(desk))
    for key, given in (("took", "9 kWh"), ("at", "200 degC"), ("air", "18 degC")):
        panel.form.put(key, given)
    panel.form.put("log", "\n".join(["time, temperature", *(f"{r['time']}, {r['temperature']}" for r in COOLING)]))
    panel.form.put("fit", True)
    words = ["fit-oven", "small oven", "--held", "60 min", "--took", "9 kWh", "--at", "200 degC", "--air", "18 degC"]
    told = CliRunner().invoke(main, [*words, "--cooling", str(ROOT / "data" / "cooling.csv"), "--shop", str(own)])
    assert told.output.strip() == f"small oven: {panel.form.state['fitted']['text']}"
    panel.form.put("take", True)
    desk.save()
    oven = open_shop(own).machines.oven[0]
    assert panel.form.state["take"]["off"]
    assert f"lose {oven.bridging:.3g} times" in told.output


@pytest.mark.parametrize(
    ("log", "told"),
    [("0, 200\n10 min", "Line 2, '10 min'"), ("0, warm\n5, 190", "Line 1, '0, warm'")],
)
def test_a_line_of_the_log_that_cannot_be_read_is_told(desk: Desk, log: str, told: str) -> None:
    panel = OvenPanel(desk, OnBench(desk))
    panel.form.put("log", log)
    panel.form.put("fit", True)
    assert told in panel.form.messages["log"]
    assert panel.fit is None


def test_the_visits_are_those_of_the_job_and_follow_the_oven(desk: Desk) -> None:
    panel = OvenPanel(desk, OnBench(desk))
    panel.form.put("begun", "item:bench_end")
    visits = oven_visits(quote(desk.shop, job_of_item(desk.items["bench_end"])).sheet)
    rows = panel.board.rows_of("heat", "heat")
    assert sum(row["kwh"] for row in rows) == pytest.approx(sum(sum(v.heat_kwh.values()) for v in visits), abs=0.01)
    told = panel.board.words_of("visits")
    assert "times in minutes" in told
    assert f"<td>{visits[0].bring_up_min:.0f}</td><td>{visits[0].dwell_min:.0f}</td>" in told
    panel.form.put("oven", visits[0].oven)
    before = panel.board.words_of("plan"), panel.board.words_of("hour")
    panel.form.put(f"oven:{visits[0].oven}.inside_depth_mm", "10 ft")
    panel.form.put(f"oven:{visits[0].oven}.exhaust_m3_per_h", "250 cfm")
    assert "3048 mm" in panel.board.words_of("plan")
    assert "3048 mm" not in before[0]
    assert panel.board.words_of("hour") != before[1]
    assert panel.board.rows_of("heat", "heat") != rows


def test_a_new_item_hides_nothing_of_another(desk: Desk, own: Path) -> None:
    panel = NewPartPanel(desk)
    panel.form.put("begun", "shape:box")
    for key, given in (("drawn.width", "16 in"), ("drawn.height", "30 cm"), ("drawn.depth", "200")):
        panel.form.put(key, given)
    assert panel.form.messages == {} or "drawn.depth" in panel.form.messages  # a bare number may be asked about
    panel.form.put("drawn.depth", "200 mm")
    panel.form.put("item:new.title", "Tool box, my own")
    item = panel.item
    box = Shaped("box", {"width": 406.4, "height": 300.0, "depth": 200.0, "wall": 1.5})
    assert item.part.area_m2 == pytest.approx(float(box.shape.area_m2))
    assert not item.part.apart  # the last item of the list comes apart: that was taken over, unseen
    usual = {name for name, field in type(item.part).model_fields.items() if not field.is_required()}
    by_shape = {"edge_m", "line_m"}
    for name in usual - by_shape:
        assert getattr(item.part, name) == type(item.part).model_fields[name].default, name
    told = re.findall(r"€[\d,.]+", plain(panel.board.words_of("price")))
    asked = [
        quote(desk.shop, job_of_item(item, units=n, column=c)).net for c in ("single", "two_tone") for n in (1, 10)
    ]
    assert told == [f"€{price:,.2f}" for price in asked]
    panel.form.put("item:new.part.apart", True)
    assert plain(panel.board.words_of("price")) != plain(panel.board.words_of("found"))
    assert panel.item.part.apart
    panel.form.put("add", True)
    desk.save()
    assert read_items(open_shop(own))["tool_box_my_own"].part.apart


def test_what_was_weighed_stays_when_a_measure_changes_and_goes_back(desk: Desk) -> None:
    panel = NewPartPanel(desk)
    panel.form.put("item:new.part.mass_kg", "1 kg")
    panel.form.put("drawn.width", "600 mm")
    assert panel.item.part.mass_kg == 1.0
    panel.form.put("back", True)
    assert panel.item.part.mass_kg == pytest.approx(0.6 * 0.2 * 0.003 * 7850)
    panel.form.put("drawn.holes", "4")
    assert "drill_mm is 0" in panel.form.messages["drawn.holes"]
    panel.form.put("drawn.drill", "12 mm")
    assert panel.form.messages == {}
    assert panel.item.part.edge_m == pytest.approx(2 * (1.6 + 4 * 0.012 * 3.14159265), rel=1e-6)


def test_a_drawing_comes_onto_the_list_too(desk: Desk) -> None:
    panel = NewPartPanel(desk)
    panel.form.put("begun", "drawing:sign_letter_p.dxf")
    assert panel.item.part.plugs == 2
    panel.form.put("add", True)
    assert desk.items["sign_letter_p"].part.plugs == 2


def test_a_job_begins_with_a_shape_and_keeps_its_facts(desk: Desk) -> None:
    panel = JobPanel(desk)
    panel.form.put("begun", "shape:tube")
    panel.form.put("old_coating", "paint")
    panel.form.put("drawn.length", "2 m")
    panel.form.put("drawn.upright", True)
    part = panel.job.lots[0].part
    assert (part.width_mm, part.height_mm, part.old_coating) == (48.0, 2000.0, "paint")
    assert "2000 mm" in panel.picture.view["plan"]
    panel.form.put("drawn.wall", "30 mm")
    assert "must be below 24" in panel.form.messages["drawn.wall"]


def test_closed_outlines_and_metal_are_ticked_beside_a_drawing(desk: Desk) -> None:
    panel = JobPanel(desk)
    panel.form.put("begun", "drawing:sign_letter_p.dxf")
    panel.form.put("drawn.closed", True)
    assert panel.drawn.closed
    seen = panel.drawn.read().seen
    panel.form.put(f"drawn.keep.{seen[0].id}", True)
    assert panel.drawn.keep == {seen[0].id}
    panel.form.put(f"drawn.keep.{seen[0].id}", False)
    assert not panel.drawn.keep
