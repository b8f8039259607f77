"""The one reader of typed values: a table of forms as people type them, and what must hold of all.

Conversions in the table are exact by definition: 1 in = 25.4 mm and 1 lb = 0.45359237 kg (international yard and pound,
1959), 0 °C = 32 °F = 273.15 K, a month is a twelfth of a year, a week 7 of its 365.25 days. Marks of decimals and
thousands are those of Unicode CLDR, from which babel has them.
"""

import csv
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.basis.numerals import readings, spelled
from pricing.basis.tongue import LARGEST, Range, Tongue, Wrong
from pricing.basis.typed import read, read_field

FORMS = list(csv.DictReader(Path(__file__).with_name("typed.csv").read_text("utf-8").splitlines()))
MONEY = {"en_US": "USD", "en_IE": "EUR", "de_DE": "EUR", "fr_FR": "EUR", "ja_JP": "JPY"}
TONGUES = [Tongue(code, "us" if locale == "en_US" else "metric", locale) for locale, code in MONEY.items()]


def _tongue(row: dict[str, str]) -> Tongue:
    return Tongue(MONEY[row["locale"]], "us" if row["units"] == "us" else "metric", row["locale"])


def test_the_table_is_as_large_as_it_says() -> None:
    assert len(FORMS) >= 200
    assert len({tuple(row.values()) for row in FORMS}) == len(FORMS)
    assert min(Counter(row["locale"] for row in FORMS)[locale] for locale in MONEY) >= 20


@pytest.mark.parametrize("row", FORMS, ids=lambda r: f"{r['locale']} {r['units']} {r['typed']} as {r['unit']}")
def test_what_people_type(row: dict[str, str]) -> None:
    now = float(row["now"]) if row["now"] else None
    within = Range(*(float(at) for at in row["within"].split())) if row["within"] else Range()
    settings = {"now": now, "within": within, "file": row["where"] == "file", "small": row["where"] == "small"}
    if row["value"]:
        assert read(row["typed"], row["unit"], _tongue(row), **settings) == pytest.approx(float(row["value"]), rel=1e-9)
        return
    with pytest.raises(Wrong) as caught:
        read(row["typed"], row["unit"], _tongue(row), **settings)
    assert row["says"] in str(caught.value)
    assert [words for _, words in caught.value.choices] == (row["asks"].split(" | ") if row["asks"] else [])


@pytest.mark.parametrize("row", [row for row in FORMS if row["asks"]], ids=lambda r: f"{r['locale']} {r['typed']}")
def test_each_answer_is_taken_without_another_question(row: dict[str, str]) -> None:
    now = float(row["now"]) if row["now"] else None
    settings = {"now": now, "file": row["where"] == "file"}
    within = Range(*(float(at) for at in row["within"].split())) if row["within"] else Range()
    with pytest.raises(Wrong) as caught:
        read(row["typed"], row["unit"], _tongue(row), within=within, small=True, **settings)
    values = [read(one.given, row["unit"], _tongue(row), within=within, **settings) for one in caught.value.choices]
    assert len(set(values)) == len(values) > 0
    assert all(within.holds(value) for value in values)
    assert all(f"'{one.given}'" in caught.value.told for one in caught.value.choices)


NUMBERS = st.floats(1e-4, 1e7, allow_nan=False)
UNITS = st.sampled_from(
    [
        "m",
        "m**2",
        "mm",
        "um",
        "kg",
        "min",
        "h",
        "degC",
        "delta_degC",
        "min/m",
        "min/part",
        "money",
        "money/year",
        "money/kg",
        "money/kWh",
        "money/m**2",
        "share",
        "number",
        "bar",
        "kW",
    ]
)


@given(NUMBERS, UNITS, st.sampled_from(TONGUES))
def test_what_is_shown_is_read_back_as_the_same(value: float, unit: str, tongue: Tongue) -> None:
    value = value % 1.0 if unit == "share" else value
    assert read(tongue.show(value, unit), unit, tongue, now=value) == value
    assert read(tongue.number(value, unit), unit, tongue, now=value) == value
    assert _shown_anew(tongue.show(value, unit), unit, tongue) == tongue.show(value, unit)


def _shown_anew(shown: str, unit: str, tongue: Tongue) -> str:
    try:
        return tongue.show(read(shown, unit, tongue), unit)
    except Wrong as why:  # where nothing stands there to tell, three decimals are asked about
        return shown if len(why.choices) == 2 else str(why)


@given(NUMBERS, UNITS, st.sampled_from(TONGUES))
def test_what_a_file_is_given_is_read_in_one_way_only(value: float, unit: str, tongue: Tongue) -> None:
    written = f"{spelled(value)} {unit}" if unit not in {"share", "number"} else value
    if unit != "share" or value <= 1:
        assert read(written, unit, tongue, file=True, within=Range(most=1.0 if unit == "share" else LARGEST)) == value


@given(st.floats(1e-4, 1e9), st.sampled_from(TONGUES))
def test_a_number_spelled_by_the_locale_has_one_reading(value: float, tongue: Tongue) -> None:
    assert [one.value for one in readings(spelled(value, tongue.locale), tongue.locale)] == [value]


@given(st.text(max_size=30), UNITS, st.sampled_from(TONGUES), st.none() | NUMBERS)
def test_any_text_is_read_or_refused_in_words(text: str, unit: str, tongue: Tongue, now: float | None) -> None:
    try:
        assert abs(read(text, unit, tongue, now=now)) <= LARGEST
    except Wrong as refused:
        why = refused
        assert (len(why.choices) != 1 or "meant?" in str(why)) and str(why)  # noqa: PT018


def test_a_text_without_end_is_no_number() -> None:
    with pytest.raises(Wrong, match="too long"):
        read("1" * 10_000, "m")


def test_a_command_names_both_readings_and_how_to_write_each() -> None:
    with pytest.raises(BadInput) as caught:
        read_field("10.800", "money", "--price", TONGUES[1])
    assert str(caught.value) == (
        "a quantity needs mending:\n  --price is '10.800'; it must be a quantity in EUR. '10.800' can be read in two ways."
        " Write '10.8 EUR' or '10800 EUR' for 10,800 EUR."
    )
