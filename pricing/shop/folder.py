"""A shop's folder: read whole with everything that is wrong told at once, written safely."""

import shutil
import tempfile
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pricing.basis.errors import BadInput, Problem, choices, gathered, told_at
from pricing.basis.facts import Source, data_folder, read_sources, sources
from pricing.basis.files import not_writable, read_table, read_text, read_toml
from pricing.basis.records import read_record
from pricing.basis.switch import locked, read_settled, switch_all
from pricing.basis.tongue import PLAIN, Tongue
from pricing.basis.units import System
from pricing.shop.changed_files import changed_files
from pricing.shop.finishes import Finish, read_finishes
from pricing.shop.first_settings import First, relabel, settle_first
from pricing.shop.own_prices import PRICES_FILE, TRADE_FILE, read_own_prices
from pricing.shop.people import Shopfront
from pricing.shop.powders import Powder, read_powders
from pricing.shop.rates import Assumption, read_assumptions, read_rates
from pricing.shop.shop import Shop, ShopFile
from pricing.shop.usual_week import UsualWeek, read_orders
from pricing.shop.visit import read_answers

FILES = (
    "shop.toml",
    "rates.csv",
    "assumptions.csv",
    "powders.csv",
    "finishes.toml",
    "items.csv",
    "prices.csv",
    "prices_trade.csv",
    "rates_history.csv",
    "first_visit.csv",
    "week.csv",
    "sources.csv",
)
"""Files of a shop that change as one, under one lock."""
_T = TypeVar("_T")


def demo_folder() -> Path:
    """Return the folder of the demo shop."""
    return data_folder() / "shop"


def open_shop(folder: Path | str | None = None) -> Shop:
    """Read a shop's folder; the demo shop without one.

    Raises
    ------
    BadInput
        With every problem of every file.
    """
    at = Path(folder) if folder else demo_folder()
    if not at.is_dir():
        mend = "`new FOLDER` makes one from the demo shop."
        raise BadInput(str(at), [Problem("the folder", "not there", "a shop's folder", mend)])
    return read_settled(at, FILES, lambda: _read(at))


def _read(at: Path) -> Shop:
    bad: list[Problem] = []

    def attempt(name: str, read: Callable[[Path], _T]) -> _T | None:
        with told_at(f"{name}: ", bad):
            return read(at / name)
        return None

    def optional(name: str, read: Callable[[Path], _T]) -> _T | None:
        return attempt(name, read) if (at / name).exists() else None

    raw = attempt("shop.toml", read_toml)
    front = raw.get("shop", {}) if raw else {}
    tongue = _tongue(front) if isinstance(front, dict) else PLAIN
    known = sources() | (optional("sources.csv", read_sources) or {})
    whole = attempt("shop.toml", lambda _: read_record(ShopFile, raw, "shop.toml", tongue)) if raw else None
    uncounted = [problem for problem in bad if problem.field == "shop.toml: shop.currency"]
    if raw is None or uncounted:
        raise BadInput(str(at), uncounted or bad)  # without a currency every price of every file would seem wrong
    steps = {step: words.drivers for step, words in known_steps().items()}
    rates = attempt("rates.csv", lambda path: read_rates(path, known, steps, tongue))
    assumed = attempt("assumptions.csv", lambda path: read_assumptions(path, known, tongue))
    powders = attempt("powders.csv", lambda path: read_powders(path, tongue))
    finishes = attempt("finishes.toml", read_finishes)
    visited = optional("first_visit.csv", read_answers) or {}
    week = optional("week.csv", lambda path: read_orders(path, tongue)) or UsualWeek()
    own, of_trade = (
        attempt(name, lambda path: read_own_prices(at, tongue, path.name)) for name in (PRICES_FILE, TRADE_FILE)
    )
    bad += _cross_checks(whole, assumed, powders, finishes, known, tuple(steps))
    if bad or not (whole and rates and assumed and powders and finishes):
        raise BadInput(str(at), bad)
    return Shop(
        **dict(whole),
        powders=powders,
        finishes=finishes,
        rates=rates,
        assumptions=assumed,
        sources=known,
        own_prices=own or {},
        trade_prices=of_trade or {},
        visited=visited,
        week=week,
        folder=at,
    )


class StepWords(NamedTuple):
    """What ``data/steps.csv`` says of a step; ``seen`` is whether a customer at the door would see it as work."""

    title: str
    drivers: tuple[str, ...]
    caution: str
    seen: bool


@cache
def known_steps() -> dict[str, StepWords]:
    """Collect every step by key: its title, the drivers its rates may have, the usual caution."""
    return {
        row["step"]: StepWords(row["title"], tuple(row["drivers"].split()), row["caution"], row["seen"] == "yes")
        for row in read_table(data_folder() / "steps.csv")
    }


def _tongue(front: Mapping[str, Any]) -> Tongue:
    """Return what the files are read by; what is wrong with it is told by the record of it."""
    units: System = "us" if front.get("units") == "us" else "metric"
    return Tongue(str(front.get("currency", "")), units, str(front.get("locale", "")))


def check_shop(shop: Shop) -> None:
    """Refuse a shop whose files would not fit together: an unknown step, a machine's name given twice."""
    with gathered("the shop") as bad:
        bad.extend(
            _cross_checks(shop, shop.assumptions, shop.powders, shop.finishes, shop.sources, tuple(known_steps()))
        )


def _cross_checks(
    whole: ShopFile | Shop | None,
    assumed: Mapping[str, Assumption] | None,
    powders: Mapping[str, Powder] | None,
    finishes: Mapping[str, Finish] | None,
    known: Mapping[str, Source],
    steps: tuple[str, ...],
) -> list[Problem]:
    bad: list[Problem] = []
    if assumed is not None and finishes is not None:
        for key, finish in finishes.items():
            for substrate in ("wrought", "casting"):
                name = f"reject.{finish.rejects}.{substrate}"
                if name not in assumed:
                    classes = sorted({n.split(".")[1] for n in assumed if n.startswith("reject.")})
                    mend = f"Add the row {name} to assumptions.csv, or use {choices(classes)}."
                    bad.append(Problem(f"finishes.toml: {key}.rejects", finish.rejects, "a class with rows", mend))
    if whole and whole.policy.warranty_years and assumed is not None:
        for key, finish in (finishes or {}).items():
            if f"warranty.{finish.rejects}" not in assumed:
                mend = f"Add the row warranty.{finish.rejects} to assumptions.csv, or set warranty_years = 0."
                bad.append(Problem(f"finishes.toml: {key}.rejects", finish.rejects, "a class with claims", mend))
    bad += [
        Problem(f"powders.csv: source of {powder.name}", powder.source, "a key of sources.csv")
        for powder in (powders or {}).values()
        if powder.source not in known
    ]
    if whole:
        names = [m.name for m in whole.machines.all()]
        twice = sorted({n for n in names if names.count(n) > 1})
        bad += [Problem("shop.toml: machines", n, "a name of its own", "Two machines share it.") for n in twice]
        bad += whole.machines.cannot_join(whole.to_buy)
        scarce = ["owner", "helper", *names]
        if whole.policy.scarce.resource not in scarce:
            field = "shop.toml: policy.scarce.resource"
            bad.append(Problem(field, whole.policy.scarce.resource, choices(scarce)))
        if whole.helper:
            wrong = [s for s in whole.helper.steps if s not in steps]
            bad += [Problem("shop.toml: helper.steps", s, "a step", choices(steps)) for s in wrong]
    return bad


def new_folder(
    folder: Path | str,
    *,
    currency: str = "",
    locale: str = "",
    units: str = "",
    sales_tax: float | None = None,
    rate: float | None = None,
) -> Path:
    """Make an owner's own folder from the demo shop.

    Parameters
    ----------
    folder : path
        A folder that is not there yet, or is empty.
    currency, locale, units, sales_tax, rate
        Other settings than the demo's, as `pricing.shop.first_settings.First` takes them.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    BadInput
        Something stands there already, a setting is not known, or it cannot be written.
    """
    at = Path(folder)
    wanted = {k: v for k, v in (("currency", currency), ("locale", locale), ("units", units)) if v}
    front = read_toml(demo_folder() / "shop.toml")["shop"]
    read_record(Shopfront, front | wanted, "new")
    if at.exists() and (not at.is_dir() or any(at.iterdir())):
        mend = "Choose another name; nothing was changed."
        raise BadInput(str(at), [Problem("the folder", "not empty", "new or empty", mend)])
    beside = at.with_name(f".{at.name}.part")
    try:
        shutil.rmtree(beside, ignore_errors=True)
        shutil.copytree(demo_folder(), beside)
        for name in ("jobs", "drawings", "photos"):
            if (data_folder() / name).is_dir():
                shutil.copytree(data_folder() / name, beside / name)
        settle_first(beside, old=front["currency"], first=First(currency, locale, units, sales_tax, rate))
        if at.exists():
            at.rmdir()
        beside.rename(at)
    except OSError as why:
        raise not_writable(at, why) from why
    finally:
        shutil.rmtree(beside, ignore_errors=True)  # there no more where all went well
    return at


def save_shop(shop: Shop, folder: Path | str, beside: Mapping[str, str] | None = None) -> list[str]:
    """Write what differs from the folder's files, all of it as one; comments, order and the owner's own units stay.

    Parameters
    ----------
    shop : Shop
        What shall stand in the folder.
    folder : path
        A shop's folder.
    beside : mapping of str to str, optional
        Whole text of other files that change with it, by name.

    Returns
    -------
    list of str
        Names of the files that were changed.

    Raises
    ------
    BadInput
        The folder cannot be read or written, or another program does not let go of it; the old files are left whole.
    """
    at = Path(folder)
    if not at.is_dir():
        open_shop(at)  # says so
    with locked(at, FILES):
        texts = _changed(open_shop(at), shop, at) | dict(beside or {})
        switch_all(at, texts)
    return [*(beside or ()), *sorted(set(texts) - set(beside or ()))]


def _changed(old: Shop, shop: Shop, at: Path) -> dict[str, str]:
    """Collect the whole new text of each file that changes; another currency is put into all of them first."""
    if old.currency == shop.currency:
        return changed_files(old, shop, at)
    with tempfile.TemporaryDirectory() as name:
        beside = Path(name)
        for file in FILES:
            if (at / file).exists():
                shutil.copyfile(at / file, beside / file)
        relabel(beside, old.currency, shop.currency)
        texts = changed_files(open_shop(beside), shop, beside)
        turned = {file: read_text(beside / file) for file in FILES if (beside / file).exists()}
        new = (turned | texts).items()
        return {file: text for file, text in new if not (at / file).exists() or text != read_text(at / file)}
