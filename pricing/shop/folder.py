"""A shop's folder: read whole with everything that is wrong told at once, written safely."""

import shutil
from collections.abc import Callable, Mapping
from functools import cache, partial
from pathlib import Path
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import Field

from pricing.basis.errors import BadInput, Problem, choices
from pricing.basis.facts import Source, data_folder, sources
from pricing.basis.files import read_table, read_text, read_toml, table_text
from pricing.basis.numerals import spelled
from pricing.basis.records import Record, read_record
from pricing.basis.switch import locked, read_settled, switch_all
from pricing.basis.tongue import PLAIN, Tongue
from pricing.basis.units import System
from pricing.shop.finishes import Finish, read_finishes
from pricing.shop.first_settings import First, settle
from pricing.shop.letterhead import Letterhead
from pricing.shop.machines import Considered, Machines
from pricing.shop.own_prices import FILE, TRADE_FILE, read_own_prices
from pricing.shop.people import FixedCost, Helper, Owner, Shopfront, Tariffs
from pricing.shop.policy import Policy
from pricing.shop.powders import POWDER_COLUMNS, POWDER_OPTIONAL, Powder, read_powders
from pricing.shop.rates import ASSUMPTION_COLUMNS, OPTIONAL, RATE_COLUMNS, Assumption, read_assumptions, read_rates
from pricing.shop.shop import Shop
from pricing.shop.visit import answers_text, read_answers

FILES = (
    "shop.toml", "rates.csv", "assumptions.csv", "powders.csv", "finishes.toml", "items.csv", "prices.csv",
    "prices_trade.csv", "rates_history.csv", "first_visit.csv",
)  # fmt: skip
"""Files of a shop that change as one, under one lock."""
T = TypeVar("T")
_USUAL = {"", "pert", "1", "1.0"}  # in columns that a table need not have


class _ShopFile(Record):
    """All tables of ``shop.toml``."""

    shop: Shopfront
    owner: Owner
    helper: Helper | None = None
    fixed: Annotated[tuple[FixedCost, ...], Field(min_length=1)]
    tariffs: Tariffs
    machines: Machines
    policy: Policy
    letterhead: Letterhead = Letterhead()
    to_buy: tuple[Considered, ...] = ()


def demo_folder() -> Path:
    """Return the folder of the demo shop."""
    return data_folder() / "shop"


def open_shop(folder: Path | str | None = None) -> Shop:
    """Read a shop's folder.

    Parameters
    ----------
    folder : path, optional
        The owner's folder; the demo shop without it.

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

    def attempt(name: str, read: Callable[[], T]) -> T | None:
        try:
            return read()
        except BadInput as why:
            bad.extend(Problem(f"{name}: {p.field}", p.value, p.accepts, p.mend) for p in why.problems)
            return None

    raw = attempt("shop.toml", lambda: read_toml(at / "shop.toml"))
    front = raw.get("shop", {}) if raw else {}
    tongue = _tongue(front) if isinstance(front, dict) else PLAIN
    known = attempt("sources.csv", lambda: _sources(at)) or {}
    whole = attempt("shop.toml", lambda: read_record(_ShopFile, raw, "shop.toml", tongue)) if raw else None
    uncounted = [problem for problem in bad if problem.field == "shop.toml: shop.currency"]
    if raw is None or uncounted:
        raise BadInput(str(at), uncounted or bad)  # without a currency every price of every file would seem wrong
    steps = {step: words.drivers for step, words in known_steps().items()}
    rates = attempt("rates.csv", lambda: read_rates(at / "rates.csv", known, steps, tongue))
    assumed = attempt("assumptions.csv", lambda: read_assumptions(at / "assumptions.csv", known, tongue))
    powders = attempt("powders.csv", lambda: read_powders(at / "powders.csv", tongue))
    finishes = attempt("finishes.toml", lambda: read_finishes(at / "finishes.toml"))
    visited = attempt("first_visit.csv", lambda: read_answers(at)) or {}
    own, of_trade = (attempt(name, partial(read_own_prices, at, tongue, name)) for name in (FILE, TRADE_FILE))
    bad += _cross_checks(whole, assumed, powders, finishes, known, tuple(steps))
    if bad or not (whole and rates and assumed and powders and finishes):
        raise BadInput(str(at), bad)
    return Shop(
        front=whole.shop, owner=whole.owner, helper=whole.helper, fixed=whole.fixed, tariffs=whole.tariffs,
        machines=whole.machines, policy=whole.policy, powders=powders, finishes=finishes, rates=rates,
        assumptions=assumed, sources=known, letterhead=whole.letterhead, own_prices=own or {},
        trade_prices=of_trade or {}, visited=visited, to_buy=whole.to_buy, folder=at,
    )  # fmt: skip


class StepWords(NamedTuple):
    """What ``data/steps.csv`` says of a step; ``seen`` is whether a customer at the door would see it as work."""

    title: str
    drivers: tuple[str, ...]
    caution: str
    seen: bool


@cache
def known_steps() -> dict[str, StepWords]:
    """Collect every step by key: its title, the drivers its rates may have, the usual caution."""
    rows = read_table(data_folder() / "steps.csv", STEP_COLUMNS)
    return {
        row["step"]: StepWords(row["title"], tuple(row["drivers"].split()), row["caution"], row["seen"] == "yes")
        for row in rows
    }


STEP_COLUMNS = ("step", "title", "drivers", "caution", "source", "where", "seen")


def _tongue(front: Mapping[str, Any]) -> Tongue:
    """Return what the files are read by; what is wrong with it is told by the record of it."""
    units: System = "us" if front.get("units") == "us" else "metric"
    return Tongue(str(front.get("currency", "")), units, str(front.get("locale", "")))


def _sources(at: Path) -> dict[str, Source]:
    own = at / "sources.csv"
    return sources() | (sources(own) if own.exists() else {})


def check_shop(shop: Shop) -> None:
    """Refuse a shop whose files would not fit together: an unknown step, a machine's name given twice.

    Parameters
    ----------
    shop : Shop
        As it would be written.

    Raises
    ------
    BadInput
        With everything that does not fit.
    """
    bad = _cross_checks(shop, dict(shop.assumptions), dict(shop.powders), dict(shop.finishes), dict(shop.sources),
                        tuple(known_steps()))  # fmt: skip
    if bad:
        raise BadInput("the shop", bad)


def _cross_checks(
    whole: _ShopFile | Shop | None, assumed: dict[str, Assumption] | None, powders: dict[str, Powder] | None,
    finishes: dict[str, Finish] | None, known: dict[str, Source], steps: tuple[str, ...],
) -> list[Problem]:  # fmt: skip
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
    folder: Path | str, *, currency: str = "", locale: str = "", units: str = "", sales_tax: float | None = None,
    rate: float | None = None,
) -> Path:  # fmt: skip
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
    first = First(currency, locale, units, sales_tax, rate)
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
        settle(beside, old=front["currency"], first=first)
        if at.exists():
            at.rmdir()
        beside.rename(at)
    except BadInput:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    except OSError as why:
        shutil.rmtree(beside, ignore_errors=True)
        mend = "Nothing was changed. Check the folder's rights and the space on the disk."
        raise BadInput(str(at), [Problem("the folder", why.strerror or str(why), "writable", mend)]) from why
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
        texts = _changes(open_shop(at), shop, at) | dict(beside or {})
        switch_all(at, texts)
    return [*(beside or ()), *sorted(set(texts) - set(beside or ()))]


def _changes(old: Shop, shop: Shop, at: Path) -> dict[str, str]:
    """Collect the whole new text of each file that changes."""
    texts: dict[str, str] = {}
    whole = {
        "shop": (old.front, shop.front), "owner": (old.owner, shop.owner), "helper": (old.helper, shop.helper),
        "tariffs": (old.tariffs, shop.tariffs), "machines": (old.machines, shop.machines),
        "policy": (old.policy, shop.policy), "fixed": (old.fixed, shop.fixed),
        "letterhead": (old.letterhead, shop.letterhead), "to_buy": (old.to_buy, shop.to_buy),
    }  # fmt: skip
    changed = {key: (_plain(a), _plain(b)) for key, (a, b) in whole.items() if a != b}
    if changed:
        texts["shop.toml"] = _edited_toml(at / "shop.toml", changed, shop.currency)
    if old.finishes != shop.finishes:
        pairs = {key: (_plain(old.finishes.get(key)), _plain(f)) for key, f in shop.finishes.items()}
        pairs |= {key: (_plain(f), None) for key, f in old.finishes.items() if key not in shop.finishes}
        texts["finishes.toml"] = _edited_toml(at / "finishes.toml", pairs, shop.currency)
    for name, columns in (("rates", RATE_COLUMNS), ("assumptions", ASSUMPTION_COLUMNS)):
        was, now = getattr(old, name), getattr(shop, name)
        if was != now:
            texts[f"{name}.csv"] = _edited_rows(at / f"{name}.csv", columns, was, now, shop.currency)
    if old.powders != shop.powders:
        texts["powders.csv"] = _edited_powders(at / "powders.csv", old, shop)
    if old.visited != shop.visited:
        texts["first_visit.csv"] = answers_text(shop.visited)
    return texts


def _plain(record: Any) -> Any:
    if isinstance(record, tuple):
        return [_plain(item) for item in record]
    return record.model_dump(exclude_none=True) if isinstance(record, Record) else record


def _money(value: Any, currency: str) -> Any:
    return value.replace(" money", f" {currency}") if isinstance(value, str) else value


def _edited_toml(path: Path, changed: dict[str, tuple[Any, Any]], currency: str) -> str:
    import tomlkit  # heavy: only where a file is written, with its comments kept

    document = tomlkit.parse(read_text(path))
    for key, (old, new) in changed.items():
        _edit(document, key, old, new, currency)
    return tomlkit.dumps(document)


def _edit(table: Any, key: Any, old: Any, new: Any, currency: str) -> None:
    if old == new:
        return
    if new is None:
        table.pop(key, None)
    elif isinstance(new, dict) and isinstance(old, dict) and _has(table, key):
        for name in {**old, **new}:
            _edit(table[key], name, old.get(name), new.get(name), currency)
    elif isinstance(new, list) and isinstance(old, list) and len(new) == len(old) and _has(table, key):
        for at, (before, after) in enumerate(zip(old, new, strict=True)):
            _edit(table[key], at, before, after, currency)
    else:
        table[key] = _toml(new, currency)


def _has(table: Any, key: Any) -> bool:
    return key < len(table) if isinstance(key, int) else key in table


def _toml(value: Any, currency: str) -> Any:
    import tomlkit

    if isinstance(value, dict):
        table = tomlkit.table()
        table.update({k: _toml(v, currency) for k, v in value.items() if v is not None})
        return table
    if isinstance(value, (list, tuple)):
        if value and all(isinstance(item, dict) for item in value):
            tables = tomlkit.aot()
            for item in value:
                tables.append(_toml(item, currency))
            return tables
        return [_toml(item, currency) for item in value]
    return _money(value, currency)


def _edited_rows(path: Path, columns: tuple[str, ...], old: Any, new: Any, currency: str) -> str:
    is_rate, out = "step" in columns, []
    for row in read_table(path, columns, optional=OPTIONAL):
        key = f"{row['step']}.{row['driver']}.{row['gives']}" if is_rate else row["name"]
        if key in new:
            out.append(row if new[key] == old.get(key) else _row_of(new[key], is_rate, currency))
    out += [_row_of(a, is_rate, currency) for key, a in new.items() if key not in old]
    return table_text([*columns, *(n for n in OPTIONAL if {row.get(n) or "" for row in out} - _USUAL)], out)


def _row_of(a: Assumption, is_rate: bool, currency: str) -> dict[str, str]:
    step, driver, gives = a.key.rsplit(".", 2) if is_rate else ("", "", "")
    return {
        "name": a.key, "step": step, "driver": driver, "gives": gives, "low": spelled(a.low),
        "likely": spelled(a.likely), "high": spelled(a.high), "unit": a.unit.replace("money", currency),
        "source": a.source.key, "where": a.where, "read_on": a.read_on, "note": a.note, "shape": a.shape,
        "doubt": spelled(a.doubt),
    }  # fmt: skip


def _edited_powders(path: Path, old: Shop, shop: Shop) -> str:
    wanted = [name for name in POWDER_COLUMNS if name not in POWDER_OPTIONAL]
    rows = {row["name"]: row for row in read_table(path, wanted, optional=POWDER_OPTIONAL)}
    out = []
    for name, powder in shop.powders.items():
        if old.powders.get(name) == powder and not rows[name]["leftover"]:
            out.append(rows[name])
        else:
            out.append({k: str(_money(v, shop.currency)) for k, v in powder.model_dump().items()})
    return table_text(POWDER_COLUMNS, out)
