"""Fields take text with its unit, keep the last good value, and say what is wrong."""

import pytest

from pricing.basis.tongue import Tongue, Wrong
from pricing.screens.form import Form, Plain
from pricing.shop.shop import Shop
from pricing.show.cells import Measure
from pricing.show.fields import CheckField, ChoiceField, QuantityField, ShareField, Slider, Whole, WordsField
from pricing.show.sheets import Cell, Column, Row, Sheet
from pricing.show.table import EditTable

METRIC, US = Tongue("EUR", "metric"), Tongue("USD", "us")


def test_a_length_is_read_in_any_unit_and_shown_in_the_shops() -> None:
    field = QuantityField("line", "Line", 2.7, "m", METRIC)
    assert field.give("12 ft")
    assert field.value == pytest.approx(3.6576)  # 12 x 0.3048 m, exact by definition of the foot
    assert field.text == "3.658 m"
    us = QuantityField("line", "Line", 3.6576, "m", US)
    assert us.text == "12 ft"


def test_leaving_a_rounded_text_alone_does_not_change_the_number() -> None:
    field = QuantityField("line", "Line", 3.65761234, "m", METRIC)
    assert not field.give(field.text)
    assert field.value == 3.65761234


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("12 kg", "kg is not a unit of this kind. Write it like 2.7 m."),
        ("lots", "'lots' is no number. Write it like 2.7 m."),
        ("-3 m", "Must be 0 m or more."),
        ("1e9 m", "Must be at most 100 m."),
        ("3 blurps", "The unit 'blurps' is not known. Write it like 2.7 m."),
        ("", "It is empty. Write it like 2.7 m."),
        ("50", "That is 19 times what stood there, 2.7 m."),
    ],
)
def test_a_bad_length_is_refused_in_words_and_the_last_good_one_stays(given: str, told: str) -> None:
    field = QuantityField("line", "Line", 2.7, "m", METRIC, most=100)
    assert not field.give(given)
    assert (field.message, field.value, field.text) == (told, 2.7, given)
    field.give("3 m")
    assert (field.message, field.value) == ("", 3.0)


@pytest.mark.parametrize(
    ("given", "share"), [("25 %", 0.25), ("25", 0.25), ("0.25", 0.25), ("7.5%", 0.075), ("0", 0.0)]
)
def test_a_share_is_read_as_people_write_it(given: str, share: float) -> None:
    field = ShareField("margin", "Margin", 0.5, METRIC)
    field.give(given)
    assert field.value == pytest.approx(share)


@pytest.mark.parametrize("given", ["120 %", "-1", "a quarter", ""])
def test_a_share_outside_0_to_1_is_refused(given: str) -> None:
    field = ShareField("margin", "Margin", 0.5, METRIC)
    field.give(given)
    assert field.value == 0.5
    assert field.message


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("1.5", "Must be a whole number. Write it like 9."),
        ("0", "Must be 1 or more."),
        ("x", "'x' is no number. Write it like 9."),
        ("-2", "Must be 1 or more."),
        ("", "It is empty. Write it like 9."),
        ("99999999999999", "Must be a number that can be counted with."),
    ],
)
def test_a_count_takes_whole_numbers_within_its_bounds(given: str, told: str) -> None:
    field = Whole("n", "How many", 9, METRIC, least=1, most=5000)
    field.give(given)
    assert (field.value, field.message) == (9, told)
    assert field.give("1,000")
    assert field.value == 1000


def test_what_can_be_meant_in_two_ways_is_asked_and_an_answer_is_taken() -> None:
    rent = QuantityField("rent", "Rent", 13_800.0, "money/year", METRIC)
    assert not rent.give("10.800")
    assert rent.message == "'10.800' can be read in two ways."
    assert [words for _, words in rent.choices] == ["10.8 EUR/year", "10,800 EUR/year"]
    assert rent.value == 13_800.0
    assert rent.give(rent.choices[1].given)
    assert (rent.value, rent.text, rent.message, rent.choices) == (10_800.0, "10800 EUR/year", "", ())
    interest = ShareField("interest", "Interest", 0.06, METRIC)
    interest.give("0.5")
    assert [words for _, words in interest.choices] == ["50 %", "0.5 %"]
    assert interest.give(interest.choices[1].given)
    assert interest.value == 0.005


def test_a_value_far_off_what_stood_there_is_asked_about() -> None:
    rent = QuantityField("rent", "Rent", 13_800.0, "money/year", METRIC)
    rent.give("1150")
    assert rent.message == "That is 1/12 of what stood there, 13,800 EUR/year."
    assert [words for _, words in rent.choices] == ["1,150 EUR/year", "1,150 EUR/month"]
    assert not rent.give(rent.choices[1].given)
    assert (rent.value, rent.message) == (13_800.0, "")
    rent.give("1150")
    assert rent.give(rent.choices[0].given)
    assert rent.value == 1150.0
    started = QuantityField("minutes", "It took", 10.0, "min", METRIC, known=False)
    assert started.give("300")


def test_somebody_who_is_still_typing_is_not_asked_about_half_a_number() -> None:
    draw = QuantityField("draw", "Draw", 36_000.0, "money/year", METRIC)
    draw.give("4", live=True)
    assert draw.message
    assert draw.give("9000", live=True)
    assert draw.give("90000", live=True)  # ten times half a number, not what stood there
    assert not draw.give("90000")
    assert (draw.value, draw.stood) == (90_000.0, 90_000.0)


def test_choices_checks_and_names() -> None:
    choice = ChoiceField("edge", "Edges", "cut", {"cut": "cut", "rough": "rough"})
    choice.give("rogh")
    assert choice.message == "Must be cut or rough. Did you mean 'rough'?"
    assert choice.give("rough")
    check = CheckField("rush", "Rush", value=False)
    assert check.give(given=True)
    assert check.state() == {"checked": True, "message": ""}
    words = WordsField("title", "Called", "Gate")
    words.give("=SUM(A1)")
    assert words.value == "Gate"
    assert "begin with = + - @" in words.message


def test_a_slider_runs_beyond_low_and_high_and_marks_them(shop: Shop) -> None:
    row = shop.uncertain["wipe.line_m.hands"]
    slider = Slider.of("Wiping", row, METRIC)
    assert slider.least < row.low
    assert slider.most > row.high
    assert slider.value == row.mean
    assert [(at, word) for at, word, _ in slider.state()["marks"]] == [
        (row.low, "low"),
        (row.likely, "likely"),
        (row.high, "high"),
    ]
    assert slider.give(99.0)
    assert slider.value == slider.most
    slider.give("3 min/m")
    assert slider.value == 3.0


def test_a_slider_of_a_share_is_written_as_per_cent(shop: Shop) -> None:
    slider = Slider.of("Spoiled", shop.uncertain["spoil.wiped"], METRIC)
    slider.give(0.1)
    assert slider.text == "10 %"
    slider.give("90 %")
    assert slider.value == 0.1
    assert slider.message.startswith("Must be at most")


def test_a_slider_in_feet_moves_the_number_of_the_model(shop: Shop) -> None:
    slider = Slider.of("Wiping", shop.uncertain["wipe.line_m.hands"], US)
    slider.give("1 min/ft")
    assert slider.value == pytest.approx(1 / 0.3048)


def test_cells_take_bare_numbers_in_the_unit_that_stands_beside_them() -> None:
    metres, feet = Measure("min/m", METRIC), Measure("min/m", US)
    assert (metres.heading, feet.heading) == ("min/m", "min/ft")
    assert metres.read("2.5") == 2.5
    assert feet.read("1") == pytest.approx(1 / 0.3048)
    assert feet.read("2.5 min/m") == 2.5
    assert Measure("share", METRIC).read("25") == 0.25
    assert feet.read(feet.write(3.3), 3.3) == 3.3
    assert Measure("money/kg", US).read("9 USD/kg") == 9.0
    with pytest.raises(Wrong, match=r"^'fast' is no number\. Write it like 12 min/m\.$"):
        metres.read("fast")
    with pytest.raises(Wrong, match=r"^It is empty\. Write it like 12\.$"):
        Measure("number", METRIC).read("")


def test_edits_that_waited_for_a_busy_kernel_are_taken_once_and_in_their_order() -> None:
    form = Form(
        [ChoiceField("step", "Step", "wipe", {"wipe": "wipe", "blast": "blast"}), Plain("button", "Start", "start")],
        about="A form",
    )
    seen: list[tuple[str, object]] = []
    form.on_change(lambda key: seen.append((key, form["step"].value)))
    form.edit = {"queue": [{"key": "step", "value": "blast", "n": 1}, {"key": "start", "value": True, "n": 2}]}
    form.edit = {"queue": [{"key": "start", "value": True, "n": 2}, {"key": "step", "value": "wipe", "n": 3}]}
    assert seen == [("step", "blast"), ("start", "blast"), ("step", "wipe")]
    assert form.heard == 3


def test_a_tables_edits_are_taken_once_and_in_their_order() -> None:
    taken: list[str] = []
    columns = (Column("name", "Job", "plain"), Column("paid", "paid"), Column("won", "", "do"))
    table = EditTable([Sheet("quotes", "Quotes", columns)], lambda *edit: taken.append(edit[2]), about="A table")
    table.fill({"quotes": [Row("gate", "gate", {"paid": Cell("1"), "won": Cell("Won")})]})
    edits = [
        {"sheet": "quotes", "row": "gate", "column": name, "given": "2", "n": n}
        for n, name in enumerate(("paid", "won"), 1)
    ]
    table.edit = {"queue": edits[:1]}
    table.edit = {"queue": edits}
    assert taken == ["paid", "won"]
