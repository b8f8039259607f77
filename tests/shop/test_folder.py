"""A shop's folder: everything that is wrong at once, nothing half-written, nothing lost."""

from dataclasses import replace
from math import exp
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.basis import files
from pricing.basis.errors import BadInput
from pricing.basis.files import read_text
from pricing.shop.folder import new_folder, open_shop, save_shop
from pricing.shop.shop import Shop


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(old) >= 1, f"{old!r} is not in {path.name}"
    path.write_text(text.replace(old, new, 1), "utf-8")


def told(folder: Path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        open_shop(folder)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        (
            "shop.toml",
            'draw = "36000 EUR/year"',
            "draw = 36000",
            "shop.toml: owner.draw is 36000; it must be a quantity in EUR/year. '36000' can be read in two ways."
            " Write '36000 EUR/year' for 36,000 EUR/year or '36000 EUR/month' for 36,000 EUR/month.",
        ),
        (
            "shop.toml",
            '"1150 EUR/month"',
            '"10.800 EUR/month"',
            "shop.toml: fixed.1.cost is '10.800 EUR/month'; it must be a quantity in EUR/year. '10.800 EUR/month' can be"
            " read in two ways. Write '10.8 EUR/month' or '10800 EUR/month' for 10,800 EUR/month.",
        ),
        (
            "shop.toml",
            "interest = 0.06",
            "interest = 0.5",
            "shop.toml: policy.interest is 0.5; it must be a share such as 0.25 or '25 %'. '0.5' can be read in two ways."
            " Write '50 %' or '0.5 %'.",
        ),
        (
            "shop.toml",
            "target_margin = 0.25",
            "target_margin = '130 %'",
            "shop.toml: policy.target_margin is '130 %'; it must be 0 % or more and at most 100 %.",
        ),
        (
            "shop.toml",
            "target_margin = 0.25",
            "target_margin = nan",
            "shop.toml: policy.target_margin is nan; it must be a share such as 0.25 or '25 %'. 'nan' is no number."
            " Write it like 25 %.",
        ),
        (
            "shop.toml",
            'fuel = "gas"',
            'fuel = "gass"',
            "shop.toml: machines.oven.2.fuel is 'gass'; it must be gas or electric. Did you mean 'gas'?",
        ),
        (
            "shop.toml",
            'inside_width = "1200 mm"',
            'inside_width = "-1200 mm"',
            "shop.toml: machines.oven.1.inside_width is '-1200 mm'; it must be above 0 mm.",
        ),
        (
            "shop.toml",
            'inside_width = "1200 mm"',
            'inside_wdth = "1200 mm"',
            "shop.toml: machines.oven.1.inside_width is 'missing'; it must be given.",
        ),
        (
            "shop.toml",
            'electricity = "0.27 EUR/kWh"',
            'electricity = "0.27 USD/kWh"',
            "shop.toml: tariffs.electricity is '0.27 USD/kWh'; it must be a quantity in EUR/kWh. The shop counts in EUR;"
            " turn USD into EUR first. Write it like 12 EUR/kWh.",
        ),
        (
            "shop.toml",
            'locale = "en_IE"',
            'locale = "en_XX"',
            "shop.toml: shop.locale is 'en_XX'; it must be a locale such as en_IE, en_US or de_DE.",
        ),
        (
            "shop.toml",
            'name = "Two Coats Workshop (invented)"',
            'name = "=2+2"',
            "shop.toml: shop.name is '=2+2'; it must be a name that does not begin with = + - @."
            " A spreadsheet would run it; begin with a letter.",
        ),
        (
            "shop.toml",
            'resource = "owner"',
            'resource = "boss"',
            "shop.toml: policy.scarce.resource is 'boss'; it must be owner, helper, small oven, large oven, spray booth,"
            " blast cabinet, compressor, strip tank or benches and racks.",
        ),
        (
            "rates.csv",
            "coat,m2,hands,2,3.5,6,min/m2",
            "coat,m2,hands,6,3.5,2,min/m2",
            "rates.csv: line 57: points of coat.m2.hands is '6, 3.5, 2'; it must be rising."
            " low, likely and high stand in this order; swap them.",
        ),
        (
            "rates.csv",
            "coat,m2,hands,2,3.5,6,min/m2",
            "coat,m2,hands,,3.5,6,min/m2",
            "rates.csv: line 57: low of coat.m2.hands is 'empty'; it must be a quantity in min/m². It is empty."
            " Write it like 12 min/m².",
        ),
        (
            "rates.csv",
            "coat,m2,hands,2,3.5,6,min/m2",
            "coat,kg,hands,2,3.5,6,min/kg",
            "rates.csv: line 57: driver is 'kg'; it must be coat, part or m2.",
        ),
        (
            "rates.csv",
            "coat,m2,hands,2,3.5,6,min/m2",
            "coat,m2,hands,2,nan,6,min/m2",
            "rates.csv: line 57: likely of coat.m2.hands is 'nan min/m2'; it must be a quantity in min/m²."
            " 'nan min/m2' is no number. Write it like 12 min/m².",
        ),
        (
            "assumptions.csv",
            "oven.fill,0.4,0.6,0.85,share",
            "oven.fill,40 %,60 %,185 %,share",
            "assumptions.csv: line 4: high of oven.fill is '185 %'; it must be above 0 % and at most 100 %.",
        ),
        (
            "assumptions.csv",
            "oven.fill,",
            "oven.filling,",
            "assumptions.csv: line 4: name is 'oven.filling'; it must be a known name. Did you mean 'oven.fill'?",
        ),
        (
            "powders.csv",
            "1.55 g/cm3",
            "1550 g/cm3",
            "powders.csv: line 2: density is '1550 g/cm3'; it must be above 0.5 g/cm³ and at most 4 g/cm³.",
        ),
        (
            "powders.csv",
            ",supplier_bill,",
            ",suplier_bill,",
            "powders.csv: source of signal white is 'suplier_bill'; it must be a key of sources.csv.",
        ),
        (
            "finishes.toml",
            'rejects = "plain"',
            'rejects = "plane"',
            "finishes.toml: single.rejects is 'plane'; it must be a class with rows. Add the row reject.plane.wrought to"
            " assumptions.csv, or use clear, masked, plain or wiped.",
        ),
        (
            "finishes.toml",
            'coats = [{ powder = 1, cure = "full" }]',
            'coats = [{ powder = 1, cure = "partial" }]',
            "finishes.toml: single.record is 'as written'; it must be a last coat with cure = 'full'."
            " The part leaves the shop fully cured.",
        ),
    ],
)
def test_each_slip_gets_one_clear_message(own: Path, name: str, old: str, new: str, message: str) -> None:
    spoil(own / name, old, new)
    assert message in told(own)


def test_every_file_tells_its_problems_at_once(own: Path) -> None:
    spoil(own / "shop.toml", 'fuel = "gas"', 'fuel = "gass"')
    spoil(own / "rates.csv", "min/m2", "min/kg")
    spoil(own / "powders.csv", "190 degC", "190 kg")
    (own / "finishes.toml").unlink()
    files_told = {text.split(":")[0] for text in told(own)}
    assert files_told == {"shop.toml", "rates.csv", "powders.csv", "finishes.toml"}


@pytest.mark.parametrize("name", ["shop.toml", "rates.csv", "assumptions.csv", "powders.csv", "finishes.toml"])
def test_missing_empty_or_wrongly_encoded_files_are_named(own: Path, name: str) -> None:
    for content in (None, b"", b"\xff\xfe\x00x"):
        if content is None:
            (own / name).rename(own / "away")
        else:
            (own / name).write_bytes(content)
        assert any(text.startswith(f"{name}: ") for text in told(own))
        if content is None:
            (own / "away").rename(own / name)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"the folder is 'not there'; .* `new FOLDER` makes one from the demo shop\."):
        open_shop(tmp_path / "nowhere")


def test_new_never_overwrites(own: Path) -> None:
    before = read_text(own / "shop.toml")
    with pytest.raises(BadInput, match="Choose another name; nothing was changed"):
        new_folder(own)
    assert read_text(own / "shop.toml") == before


def test_new_makes_a_folder_that_reads_as_the_demo(own: Path, shop: Shop) -> None:
    assert open_shop(own) == shop
    assert (own / "jobs" / "sign_letters.toml").is_file()


def test_saving_what_was_read_changes_nothing(own: Path) -> None:
    before = {path.name: path.read_bytes() for path in own.iterdir() if path.is_file() and path.name != ".lock"}
    assert save_shop(open_shop(own), own) == []
    assert {path.name: path.read_bytes() for path in own.iterdir() if path.is_file() and path.name != ".lock"} == before


numbers = st.floats(0.01, 1e5, allow_nan=False)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    draw=numbers,
    price=numbers,
    minimum=numbers,
    margin=st.floats(0, 0.95),
    wide=st.floats(100, 5000),
    low=st.floats(0.01, 5),
    rises=st.tuples(st.floats(0, 5), st.floats(0, 5)),
    fill=st.floats(0.3, 0.9),
    powder_price=numbers,
    bill=numbers,
)
def test_what_is_saved_reads_back_the_same(
    own: Path,
    draw: float,
    price: float,
    minimum: float,
    margin: float,
    wide: float,
    low: float,
    rises: tuple[float, float],
    fill: float,
    powder_price: float,
    bill: float,
) -> None:
    shop = open_shop(own)
    oven = shop.machines.oven[0].model_copy(update={"price": price, "inside_width_mm": wide})
    rate = shop.rates["wipe.line_m.hands"]
    filling = shop.assumptions["oven.fill"]
    powder = shop.powders["sky blue"].model_copy(update={"price_per_kg": powder_price})
    changed = replace(
        shop,
        owner=shop.owner.model_copy(update={"draw_per_y": draw}),
        fixed=(*shop.fixed[:-1], shop.fixed[-1].model_copy(update={"cost_per_y": bill})),
        machines=shop.machines.model_copy(update={"oven": (oven, *shop.machines.oven[1:])}),
        policy=shop.policy.model_copy(update={"target_margin": margin, "minimum_charge": minimum}),
        rates={
            **shop.rates,
            rate.key: replace(rate, low=low, likely=low + rises[0], high=low + sum(rises), doubt=1.234),
        },
        assumptions={**shop.assumptions, "oven.fill": replace(filling, low=0.2, likely=fill, high=0.95)},
        powders={**shop.powders, "sky blue": powder},
    )
    save_shop(changed, own)
    assert open_shop(own) == changed


def test_saving_keeps_comments_order_and_the_owners_own_units(own: Path) -> None:
    spoil(own / "shop.toml", 'inside_width = "1200 mm"', 'inside_width = "47 1/4 in"  # measured with the door open')
    shop = open_shop(own)
    before = (own / "shop.toml").read_text("utf-8").splitlines()
    policy = shop.policy.model_copy(update={"minimum_charge": 75.0})
    assert save_shop(replace(shop, policy=policy), own) == ["shop.toml"]
    after = (own / "shop.toml").read_text("utf-8").splitlines()
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    ((old, new),) = changed
    assert old.startswith('minimum_charge = "100 EUR"     # less')
    assert new == old.replace("100 EUR", "75 EUR")
    assert 'inside_width = "47 1/4 in"  # measured with the door open' in after


def test_a_full_disk_leaves_the_old_folder_whole(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = open_shop(own)
    before = {path.name: path.read_bytes() for path in own.iterdir() if path.is_file() and path.name != ".lock"}

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full)
    with pytest.raises(BadInput, match="Nothing was changed"):
        save_shop(replace(shop, policy=shop.policy.model_copy(update={"minimum_charge": 1.0})), own)
    assert {path.name: path.read_bytes() for path in own.iterdir() if path.is_file() and path.name != ".lock"} == before


def test_three_points_are_kept_as_means(shop: Shop) -> None:
    row = shop.rates["wipe.line_m.hands"]
    assert shop.book["wipe.line_m.hands"] == pytest.approx((row.low + 4 * row.likely + row.high) / 6)


def test_a_measured_row_may_be_log_normal(own: Path) -> None:
    """Mean of a log-normal: median 40, geometric standard deviation 1.5 gives 43.427 (scipy's lognorm)."""
    from scipy import stats

    spread = stats.norm.ppf(0.95) * 0.4054651081081644
    low, high = (40.0 * exp(sign * spread) for sign in (-1, 1))
    text = (own / "rates.csv").read_text("utf-8").splitlines()
    head = f"{text[0]},shape"
    body = [
        f"coat,m2,hands,{low!r},40,{high!r},min/m2,owner_watch,,2026-11-20,,lognormal"
        if r.startswith("coat,m2")
        else f"{r},"
        for r in text[1:]
    ]
    (own / "rates.csv").write_text("\n".join([head, *body]) + "\n", "utf-8")
    mean = open_shop(own).rates["coat.m2.hands"].mean
    assert mean == pytest.approx(float(stats.lognorm(0.4054651081081644, scale=40).mean()), rel=1e-9)


def test_an_own_price_without_each_beyond_asks_each_further_there_too(own: Path) -> None:
    head = "item,column,first,each_further,each_beyond\n"
    (own / "prices.csv").write_text(f"{head}gate_single,single,90,20,\nbench_end,single,80,20,15\n", "utf-8")
    prices = open_shop(own).own_prices
    assert [(one.each, one.beyond) for one in prices.values()] == [(20.0, 20.0), (20.0, 15.0)]


def test_a_powder_that_is_there_twice_is_told_by_its_line(own: Path) -> None:
    path = own / "powders.csv"
    lines = path.read_text("utf-8").rstrip().split("\n")
    path.write_text("\n".join([*lines, lines[1], ""]), "utf-8")
    (problem,) = told(own)
    assert problem.startswith(f"powders.csv: line {len(lines) + 1}: name is ")
    assert problem.endswith("it must be there once. It is there twice; keep one.")
