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

from pricing.basis.units import COUNT_UNITS, registry, shown, turned
from tests.conftest import ROOT

BASIS = ROOT / "pricing" / "basis"


def test_another_currency_is_sent_back() -> None:
    assert turned(3, "USD", "money", currency="EUR") == "The shop counts in EUR; turn USD into EUR first."


def test_a_level_is_no_rise() -> None:
    advice = turned(170, "degC", "delta_degC")
    assert isinstance(advice, str)
    assert advice.startswith("This is a rise, not a level: write '170 K'")


@given(st.floats(1e-6, 1e6), st.sampled_from([("m", "ft"), ("kg", "lb"), ("m**2", "ft**2"), ("um", "thou")]))
def test_reading_agrees_with_pint(value: float, pair: tuple[str, str]) -> None:
    unit, other = pair
    ours = turned(value, other, unit)
    assert ours == pytest.approx(registry().Quantity(value, other).to(unit).magnitude, rel=1e-11)


@given(st.floats(1e-3, 1e5), st.sampled_from(["m", "m**2", "kg", "um", "degC", "min/m", "money/kg", "money/m"]))
def test_what_is_shown_in_feet_and_pounds_reads_back(value: float, unit: str) -> None:
    there = shown(value, unit, "us")
    code = "EUR" if "money" in unit else ""
    assert turned(there.value, there.unit.replace("money", "EUR"), unit, currency=code) == pytest.approx(
        value, rel=1e-9
    )


def test_every_unit_of_the_shop_is_what_pint_says_it_is() -> None:
    """Held against pint's own file of definitions, which is the source."""
    ours, theirs = registry(), pint.UnitRegistry(cache_folder=None)
    # money is defined as it is met; the default file reads cfm as a length of 1e-17 m
    own = {*COUNT_UNITS, "cubic_foot_per_minute", "cfm", *(name for name in ours if re.fullmatch("[A-Z]{3}", name))}
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
from pricing.basis.units import turned
assert turned(3, "furlong/fortnight", "m/s") != 3
assert "pint" in sys.modules and "dask" not in sys.modules
"""
    words = [sys.executable, "-c", code, f"{tmp_path}/mine", *shop]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 0, done.stderr
