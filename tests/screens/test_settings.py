"""Whatever a file of the shop's folder holds can be set on a page: every field of every record is walked."""

import csv
from pathlib import Path
from typing import Any

import pytest

from pricing.basis.records import Record, key_of
from pricing.parts.items import ITEM_COLUMNS, Item, read_items
from pricing.parts.job import Job, job_of_item
from pricing.parts.part import Part
from pricing.screens.job_form import job_entries
from pricing.screens.panel_job import JobPanel
from pricing.screens.panel_settings import SettingsPanel
from pricing.screens.panel_shop import ShopPanel
from pricing.shop import finishes, machines, own_sources, people, policy, powders, usual_week
from pricing.shop.folder import open_shop
from pricing.shop.rates import ASSUMPTION_COLUMNS, RATE_COLUMNS
from pricing.show import record_fields, settings
from pricing.show.desk import Desk
from pricing.show.fields import CheckField, ChoiceField, Field, QuantityField, ShareField, Whole
from pricing.show.open_fields import Listed, Maybe
from pricing.show.record_fields import field_places, named_field
from pricing.show.settings import SETTING_KINDS, Thing

RECORDS: list[type[Record]] = [
    people.Shopfront,
    people.Letterhead,
    people.Owner,
    people.Helper,
    people.FixedCost,
    people.Tariffs,
    policy.Policy,
    policy.PricePoint,
    policy.Scarce,
    policy.Trade,
    machines.Oven,
    machines.Booth,
    machines.Cabinet,
    machines.Compressor,
    machines.Considered,
    machines.Tank,
    machines.Bench,
    machines.BurnOff,
    powders.Powder,
    finishes.Finish,
    finishes.Coat,
    Item,
    Part,
    Job,
    usual_week.UsualWeek,
    usual_week.Ordered,
    own_sources.OwnSource,
]
TABLES = (
    "front",
    "letterhead",
    "owner",
    "helper",
    "fixed",
    "tariffs",
    "machines",
    "to_buy",
    "policy",
    "powders",
    "finishes",
    "week",
    "sources",
)


@pytest.fixture
def desk(own: Path) -> Desk:
    return Desk(own, read_only=False)


@pytest.mark.parametrize("record", RECORDS, ids=lambda r: r.__name__)
def test_every_field_has_its_words(record: type[Record]) -> None:
    assert all(named_field(record, name).label for name in record.model_fields)


def test_no_words_are_left_of_fields_that_are_gone() -> None:
    rows = csv.DictReader(Path(record_fields.__file__).with_name("field_words.csv").read_text("utf-8").splitlines())
    held = {
        (kind.__name__, name)
        for one in RECORDS
        for kind in one.__mro__
        if kind is not Record
        for name in getattr(kind, "model_fields", {})
    }
    assert not [(row["record"], row["field"]) for row in rows if (row["record"], row["field"]) not in held]


def _hidden() -> set[str]:
    """Fields that are set in no form of a record: what a row is called inside the files, a part's name, which is its
    item's title, and the currency, which turns every amount (`test_other_money`)."""
    return {f"{r.__name__}.{n}" for r in RECORDS for n in r.model_fields if named_field(r, n).shown_as == "hidden"}


def test_what_is_hidden_is_known() -> None:
    assert _hidden() == {"Item.key", "Part.name", "Shopfront.currency"}


def _another(field: Field) -> Any:
    """Something else that may well stand in a field."""
    inner = field.inner if isinstance(field, Maybe) else field
    if isinstance(inner, ChoiceField):
        return next((value for value in inner.options if value != inner.value), inner.value)
    if isinstance(inner, CheckField):
        return not inner.value
    if isinstance(inner, Whole):
        return str(inner.value + 1 if inner.value < inner.most else inner.value - 1)
    if isinstance(inner, ShareField):
        return f"{90 * inner.value or 5:.6f} %"
    if isinstance(inner, QuantityField):
        return inner.write(0.97 * inner.value or 1.0)
    if isinstance(inner, Listed):
        return f"{field.text}; and one more"
    return {"currency": "EUR", "read_on": "2026-11-21"}.get(field.key.rsplit(".", 1)[-1], f"{field.text or ''}7"[:12])


@pytest.mark.parametrize("kind", [kind for kind in SETTING_KINDS if kind != "burn_off"])
def test_every_field_of_every_file_is_on_the_page_is_changed_there_and_saved(own: Path, kind: str) -> None:
    desk = Desk(own, read_only=True)  # no draft is written for each of some four hundred changes
    panel = SettingsPanel(desk)
    thing = settings.things(desk, kind)[-1]
    panel.open(thing)
    record = settings.record_of(desk, thing)
    found = [
        place
        for place in field_places(record, thing.key, desk.tongue, settings.setting_offers(desk.shop, desk.items))
        if place.field
    ]
    assert found
    refused = []
    for place in found:
        assert place.field
        key = place.field.key
        if place.at[0] == "powders":
            continue
        if key == f"{thing.key}.name":
            continue  # names move the keys of all others: below
        assert key in panel.form, key
        before = settings.record_of(desk, thing)
        panel.form.put(key, _another(panel.form[key]))
        if settings.record_of(desk, thing) == before:
            assert panel.form.messages.get(key), f"{key} was neither taken nor refused"
            refused.append(key.removeprefix(f"{thing.key}."))
            panel.form[key].value = place.field.value
    # refused by a rule of the whole record: a film that would not rise, coats that make no finish, orders there twice
    assert {name for name in refused if not name.startswith("orders.")} <= {
        "film_low_um",
        "film_likely_um",
        "coats.0.cure",
        "coats.0.line",
        "coats.1.cure",
        "coats.1.powder",
        "coats.1.over",
        "coats.1.line",
        "rejects",
        "coats.0.powder",
        "coats.2.cure",
        "coats.2.line",
        "coats.2.over",
        "coats.2.powder",
        "part.casting",
    }
    kept = Desk(own, read_only=False)
    kept.change({name: getattr(desk.shop, name) for name in TABLES}, items=desk.items)
    kept.save()
    assert open_shop(own) == desk.shop
    assert read_items(kept.shop) == desk.items


def test_every_column_of_the_tables_is_a_field_or_on_a_table(desk: Desk) -> None:
    table = ShopPanel(desk).table
    shown = {sheet["key"]: {column["key"] for column in sheet["columns"]} for sheet in table.sheets}
    its_name = {"step", "driver", "gives", "name", "unit"}  # what the row is; the program reads it by these
    by_itself = {"read_on"}  # the day of the last change
    assert {*RATE_COLUMNS, *ASSUMPTION_COLUMNS} - its_name - by_itself <= shown["rates"]
    assert shown["rates"] == shown["assumptions"]
    item = {key_of(name) for kind in (Item, Part) for name in kind.model_fields} | {"item"}
    assert set(ITEM_COLUMNS) - item == {"powder", "second_powder", "clear_powder"}
    assert {"first", "second", "third"} <= shown["items"]
    facts = {name for name in Part.model_fields if named_field(Part, name).shown_as != "hidden"}
    assert facts <= shown["items"], "a fact that moves the price of an item is not seen where it is typed"
    assert set(powders.POWDER_COLUMNS) == {
        key_of(name) if not name.startswith("film") else name.removesuffix("_um")
        for name in powders.Powder.model_fields
    }


def test_every_field_of_a_job_is_on_its_page(desk: Desk) -> None:
    job = job_of_item(desk.items["bench_end"])
    keys = {entry.key for entry in job_entries(desk, job, "item:bench_end") if isinstance(entry, Field)}
    facts = {name for name in Part.model_fields if named_field(Part, name).shown_as != "hidden"}
    own = set(Job.model_fields) - {"powders", "own_powders", "lots"}
    assert facts | own | {"powder.0", "powder.1", "own.0", "own.1", "quantity"} <= keys


def test_worth_a_known_customer_and_his_own_powder_move_the_job_and_are_saved(desk: Desk) -> None:
    panel = JobPanel(desk)
    panel.form.put("begun", "item:bicycle_frame")
    panel.form.put("safety_critical", True)  # then it may not be done again and again: one that is spoiled is lost
    costs = [panel.trial.sheet.total]
    for key, given in (("value", "500 EUR"), ("repeat", True)):
        panel.form.put(key, given)
        costs.append(panel.trial.sheet.total)
    sprayed = [panel.trial.sheet.line("coat").total]
    panel.form.put("own.0", True)
    sprayed.append(panel.trial.sheet.line("coat").total)
    assert costs[1] > costs[0]  # what cannot be coated again is paid for
    assert costs[2] < costs[1]  # nobody asks first
    assert sprayed[1] < sprayed[0]  # his powder is not bought; the change to it is his alone, and dearer
    panel.form.put("customer", "the pub")
    panel.form.put("save", True)
    again = JobPanel(desk)
    again.form.put(
        "begun", f"job:{panel.form.state['said']['text'].removeprefix('Saved as jobs/').removesuffix('.toml')}"
    )
    assert again.job.repeat
    assert again.job.own_powders == (again.job.powders[0],)
    assert again.job.customer == "the pub"
    assert again.job.lots[0].part.value == 500


def test_a_helper_goes_and_comes(desk: Desk, own: Path) -> None:
    panel = ShopPanel(desk)
    alone = desk.shop.owner.draw_per_y / desk.shop.owner.hours
    panel.form.put("hire", True)
    assert desk.shop.helper is None
    desk.save()
    assert open_shop(own).helper is None
    panel.form.put("hire", True)
    assert desk.shop.helper is not None
    assert desk.shop.helper.wage_per_h == pytest.approx(alone)
    panel.form.put("helper.wage_per_h", "15 EUR/h")
    desk.save()
    helper = open_shop(own).helper
    assert helper is not None
    assert helper.wage_per_h == 15


def test_a_helper_whose_hour_is_the_scarce_one_stays_until_another_is_named(desk: Desk) -> None:
    panel = SettingsPanel(desk)
    panel.form.put("policy.scarce.resource", "helper")
    panel.form.put("kind", "helper")
    panel.form.put("drop", True)
    assert desk.shop.helper is not None
    assert "runs out first" in panel.form.state["said"]["text"]


def test_ovens_come_and_go_and_their_new_name_is_known_everywhere(desk: Desk, own: Path) -> None:
    panel = SettingsPanel(desk)
    panel.form.put("policy.scarce.resource", "large oven")
    panel.open(Thing("oven", "large oven"))
    panel.form.put("oven:large oven.name", "big oven")
    assert desk.shop.policy.scarce.resource == "big oven"
    panel.form.put("oven:big oven.name", "small oven")
    assert panel.form.messages["oven:big oven.name"] == "Another one is called so."
    panel.form.put("add", True)
    assert [oven.name for oven in desk.shop.machines.oven] == ["small oven", "big oven", "big oven 2"]
    panel.form.put("drop", True)
    panel.open(Thing("oven", "small oven"))
    panel.form.put("drop", True)
    assert panel.form.state["said"]["text"] == "Still used by second small oven."
    panel.open(Thing("to_buy", "second small oven"))
    panel.form.put("drop", True)
    panel.open(Thing("oven", "small oven"))
    panel.form.put("drop", True)
    desk.save()
    assert [oven.name for oven in open_shop(own).machines.oven] == ["big oven"]
    panel.form.put("drop", True)
    assert panel.form.state["said"]["text"] == "One oven must stay."


def test_price_points_coats_a_trade_list_and_a_burn_off_oven_are_made_and_taken_away(desk: Desk, own: Path) -> None:
    panel = SettingsPanel(desk)
    n = len(desk.shop.policy.price_points)
    panel.form.put("more:price_points", True)
    panel.form.put("less:price_points.0", True)
    if desk.shop.policy.trade:
        panel.form.put("maybe:trade", True)
        assert desk.shop.policy.trade is None
    panel.form.put("maybe:trade", True)
    panel.form.put("policy.trade.target_margin", "15 %")
    assert len(desk.shop.policy.price_points) == n
    panel.form.put("policy.further_kind", "")
    panel.form.put("kind", "burn_off")
    panel.form.put("add", True)
    panel.form.put("burn_off.batch_kg", "80 kg")
    desk.save()
    shop = open_shop(own)
    assert shop.policy == desk.shop.policy
    assert shop.policy.trade is not None
    assert shop.policy.trade.target_margin == pytest.approx(0.15)
    assert shop.policy.further_kind is None
    assert shop.machines.burn_off is not None
    assert shop.machines.burn_off.batch_kg == 80
    panel.form.put("drop", True)
    panel.open(Thing("policy"))
    panel.form.put("maybe:trade", True)
    desk.save()
    assert open_shop(own).policy.trade is None
    assert open_shop(own).machines.burn_off is None


def test_the_last_machine_to_buy_goes_and_one_comes_again(desk: Desk) -> None:
    panel = SettingsPanel(desk)
    panel.form.put("kind", "to_buy")
    for _ in range(2):
        panel.form.put("drop", True)
    assert desk.shop.to_buy == ()
    panel.form.put("drop", True)
    panel.form.put("add", True)
    assert [(one.name, one.like) for one in desk.shop.to_buy] == [("second small oven", "small oven")]
    panel.form.put("to_buy:second small oven.name", "another")
    assert [one.name for one in desk.shop.to_buy] == ["another"]
    panel.open(Thing("oven", "small oven"))
    panel.form.put("oven:small oven.name", "little oven")
    assert desk.shop.to_buy[0].like == "little oven"
