"""Quantities as people write them, against exact definitions and pint itself."""

import csv
import re
import subprocess
import sys
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.basis.errors import BadInput
from pricing.basis.units import COUNTS, as_float, convert, registry, shown
from tests.conftest import ROOT

BASIS = ROOT / "pricing" / "basis"


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # exact by definition: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and pound, 1959)
        ("12 ft", "m", 3.6576),
        ("1/2 in", "mm", 12.7),
        ("1 1/2 in", "mm", 38.1),
        ("5 ft 6 in", "m", 1.6764),
        ("5' 6\"", "m", 1.6764),
        ("3'", "m", 0.9144),
        ("2 mil", "um", 50.8),
        ("2 mils", "um", 50.8),
        ("2 thou", "um", 50.8),
        ("80 µm", "um", 80.0),
        ("80 μm", "um", 80.0),
        ("0.08 mm", "um", 80.0),
        ("3 ft2", "m**2", 0.27870912),
        ("3 sq ft", "m**2", 0.27870912),
        ("3 ft²", "m**2", 0.27870912),
        ("10 lb", "kg", 4.5359237),
        ("212 F", "degC", 100.0),
        ("390 °F", "degC", 198.888888889),
        ("463.15 K", "degC", 190.0),
        ("18 degF/1", "delta_degC", None),
        ("170 K", "delta_degC", 170.0),
        ("306 delta_degF", "delta_degC", 170.0),
        ("45 min", "h", 0.75),
        ("100 psi", "bar", 6.89475729317),
        ("1 therm", "kWh", 29.3071111),  # therm (EC), 105.506 MJ
        ("150 cfm", "m**3/h", 254.85161901),
        ("2 min/ft", "min/m", 6.56167979003),
        ("30 s/part", "min/part", 0.5),
        ("4 min/lb", "min/kg", 8.81849048740),
    ],
)
def test_people_write_units_in_many_ways(text: str, unit: str, value: float | None) -> None:
    read = convert(text, unit)
    if value is None:
        assert isinstance(read, str)
    else:
        assert read == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("0.31 EUR/kWh", "money/kWh", 0.31),
        ("38 EUR/h", "money/min", 38 / 60),
        ("1150 EUR/month", "money/year", 13800.0),
        ("8.40 EUR/kg", "money/kg", 8.40),
        ("4 EUR/lb", "money/kg", 8.818490487),
    ],
)
def test_money_is_a_unit(text: str, unit: str, value: float) -> None:
    assert convert(text, unit, currency="EUR") == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "unit", "advice"),
    [
        ("12", "m", "Write it with its unit, for example '12 m'."),
        (12.0, "m", "Write it with its unit, for example '12 m'."),
        ("12 kg", "m", "kg is not a unit of this kind. Write it with its unit, for example '12 m'."),
        (
            "12 metr",
            "m",
            "The unit 'metr' is not known. Did you mean 'metre'? Write it with its unit, for example '12 m'.",
        ),
        ("12 furlngs", "m", "The unit 'furlngs' is not known. Write it with its unit, for example '12 m'."),
        ("12,5 mm", "mm", "Write decimals with a point and no thousands marks: 1234.5."),
        ("1.234,5 mm", "mm", "Write decimals with a point and no thousands marks: 1234.5."),
        ("nan mm", "mm", "Write it with its unit, for example '12 mm'."),
        ("1/0 in", "mm", "A fraction cannot have 0 below the line."),
        (
            "5 min/job",
            "min/part",
            "min/job is not a unit of this kind. Write it with its unit, for example '12 min/part'.",
        ),
        ("x" * 10_000, "m", "The text is too long for a quantity."),
    ],
)
def test_what_cannot_be_read_comes_with_advice(text: object, unit: str, advice: str) -> None:
    assert convert(text, unit) == advice


def test_another_currency_is_sent_back() -> None:
    advice = convert("3 USD", "money", currency="EUR")
    assert advice == "The shop counts in EUR; turn USD into EUR first. Write it with its unit, for example '12 EUR'."


def test_a_level_is_no_rise() -> None:
    advice = convert("170 degC", "delta_degC")
    assert isinstance(advice, str)
    assert advice.startswith("This is a rise, not a level: write '170 K'")


def test_the_error_names_field_value_and_mend() -> None:
    with pytest.raises(BadInput) as caught:
        as_float("3", "mm", "thickness")
    assert str(caught.value) == (
        "a quantity needs mending:\n"
        "  thickness is '3'; it must be a quantity in mm. Write it with its unit, for example '12 mm'."
    )


@given(st.floats(1e-6, 1e6), st.sampled_from([("m", "ft"), ("kg", "lb"), ("m**2", "ft**2"), ("um", "thou")]))
def test_reading_agrees_with_pint(value: float, pair: tuple[str, str]) -> None:
    unit, other = pair
    ours = convert(f"{value!r} {other}", unit)
    assert ours == pytest.approx(registry().Quantity(value, other).to(unit).magnitude, rel=1e-11)


@given(st.floats(1e-3, 1e5), st.sampled_from(["m", "m**2", "kg", "um", "degC", "min/m", "money/kg", "money/m"]))
def test_what_is_shown_in_feet_and_pounds_reads_back(value: float, unit: str) -> None:
    there = shown(value, unit, "us")
    code = "EUR" if "money" in unit else ""
    text = f"{there.value!r} {there.unit.replace('money', 'EUR')}"
    assert convert(text, unit, currency=code) == pytest.approx(value, rel=1e-9)


def test_every_unit_of_the_shop_is_what_pint_says_it_is() -> None:
    """Held against pint's own file of definitions, which is the source."""
    ours, theirs = registry(), pint.UnitRegistry(cache_folder=None)
    # money is defined as it is met; the default file reads cfm as a length of 1e-17 m
    own = {*COUNTS, "cubic_foot_per_minute", "cfm", *(name for name in ours if re.fullmatch("[A-Z]{3}", name))}
    names = {"BTU", "MPH", "KPH", *ours} - own - {f"delta_{name}" for name in ours}
    assert len(names) > 200
    for name in names:
        ((scale, base), (wanted, root)) = (ureg.get_root_units(name, check_nonmult=False) for ureg in (ours, theirs))
        assert (scale, str(base)) == (pytest.approx(wanted, rel=1e-14), str(root)), name


def test_what_is_usual_is_what_pint_makes_of_it() -> None:
    ureg = registry()
    ureg.define("EUR = [EUR]")
    rows = list(csv.DictReader((BASIS / "usual_units.csv").read_text("utf-8").splitlines()))
    assert len(rows) > 40
    for row in rows:
        written, wanted = (row[k].replace("money", "EUR") for k in ("written", "wanted"))
        at = [ureg.Quantity(value, written).to(wanted).magnitude for value in (0.0, 1.0)]
        if (written, wanted) == ("K", "delta_degC"):
            at = [0.0, 1.0]  # a rise, not a level
        assert (float(row["offset"]), float(row["scale"])) == (at[0], at[1] - at[0]), row


@pytest.mark.parametrize(
    "shop", [[], ["--currency", "USD", "--locale", "en_US", "--units", "us"]], ids=["metric", "us"]
)
def test_a_quote_starts_without_pint(shop: list[str], tmp_path: Path) -> None:
    code = """
import sys
from click.testing import CliRunner
from pricing.commands.main import main
folder, *words = sys.argv[1:]
run = CliRunner().invoke
assert run(main, ["new", folder, *words]).exit_code == 0
done = run(main, ["quote", "sign_letters", "--shop", folder])
assert done.exit_code == 0, done.output
assert not {"pint", "dask", "pandas", "altair", "scipy"} & set(sys.modules)
from pricing.basis.units import convert
assert convert("3 furlong/fortnight", "m/s") != 3
assert "pint" in sys.modules and "dask" not in sys.modules
"""
    words = [sys.executable, "-c", code, f"{tmp_path}/mine", *shop]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
