"""What every command shares: the --shop and --json options, reading, and errors without a traceback."""

import json
import re
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import wraps
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import click

from pricing.basis.errors import BadInput
from pricing.show.own_log import URL_VARIABLE

if TYPE_CHECKING:
    from pricing.basis.tongue import Tongue
    from pricing.parts.items import Item
    from pricing.parts.job import Job
    from pricing.shop.shop import Shop

_P = ParamSpec("_P")
_T = TypeVar("_T")

SHOP = click.option(
    "--shop", "folder", type=click.Path(), default=None, help="A shop's folder; the demo shop without it."
)
TRADE = click.option("--trade", is_flag=True, help="The second list, for the trade: [policy.trade] in shop.toml.")
URL = click.option(
    "--url", default=None, envvar=URL_VARIABLE, help="A database of the log in place of ledger.db in the shop's folder."
)
JSON = click.option(
    "--json", "as_json", is_flag=True, help="For a program to read; every figure with its unit in the key."
)


def plain_errors(command: Callable[_P, _T]) -> Callable[_P, _T]:
    """Tell what is wrong with the input and end with code 2; no traceback for an owner."""

    @wraps(command)
    def run(*args: _P.args, **kwargs: _P.kwargs) -> _T:
        try:
            return command(*args, **kwargs)
        except BadInput as why:
            click.echo(str(why), err=True)
            sys.exit(2)

    return run


def read_shop(folder: str | None) -> "tuple[Shop, dict[str, Item]]":
    """Open a shop and its items.

    Raises
    ------
    BadInput
        With every problem of the folder.
    """
    from pricing.parts.items import read_items
    from pricing.shop.folder import open_shop

    shop = open_shop(folder)
    return shop, read_items(shop)


def tongue_of(folder: str | None) -> "Tongue":
    """Return what a command's numbers are read by: a shop's currency, units and locale.

    Raises
    ------
    BadInput
        With every problem of the folder.
    """
    from pricing.shop.folder import open_shop

    return open_shop(folder).tongue


def read_shop_and_job(folder: str | None, job: str) -> "tuple[Shop, Job]":
    """Open a shop and read a job's file; a bare name is looked up among the shop's and the demo's jobs.

    Raises
    ------
    BadInput
        With every problem of the folder, or of the job.
    """
    from pricing.parts.job import read_job

    shop, items = read_shop(folder)
    return shop, read_job(job, shop, items)


def own_jobs(shop: "Shop") -> list[Path]:
    """Collect the files of a shop's own jobs; those of the demo lie beside its folder."""
    from pricing.basis.facts import data_folder

    folder = shop.folder or data_folder() / "shop"
    return sorted(((data_folder() if folder == data_folder() / "shop" else folder) / "jobs").glob("*.toml"))


def echo_json(told: Any) -> None:
    """Print JSON as it is."""
    click.echo(json.dumps(told, indent=2, ensure_ascii=False))


def echo_figures(told: Any, currency: str) -> None:
    """Print figures as JSON, as `in_currency` writes them."""
    echo_json(in_currency(told, currency))


def in_currency(told: Any, currency: str) -> Any:
    """Write "money" in keys as the currency's code, and figures with six digits; null for what cannot be counted with.

    >>> in_currency({"cost_money_per_h": 1 / 3, "turns": (float("inf"), 2), "known": None}, "EUR")
    {'cost_EUR_per_h': 0.333333, 'turns': [None, 2], 'known': None}
    """
    if isinstance(told, Mapping):
        return {re.sub(r"_money(?=_|$)", f"_{currency}", key): in_currency(one, currency) for key, one in told.items()}
    if told is None or isinstance(told, str | int):
        return told
    if isinstance(told, Sequence):
        return [in_currency(one, currency) for one in told]
    plain = float(told)
    return round(plain, 6) if isfinite(plain) else None


def picked(one: Any, *names: str, **others: str) -> dict[str, Any]:
    """Collect fields of a record by their own names, then those whose key is another: ``oven_min="held_min"``."""
    return {key: getattr(one, name) for key, name in (dict(zip(names, names, strict=True)) | others).items()}


def read_jobs(shop: "Shop", items: "dict[str, Item]") -> "list[Job]":
    """Read all jobs of a shop's folder ``jobs``; those of the demo where it has none.

    Raises
    ------
    BadInput
        With the problems of the first job that cannot be read.
    """
    from pricing.basis.facts import data_folder
    from pricing.parts.job import read_job

    paths = own_jobs(shop) or sorted((data_folder() / "jobs").glob("*.toml"))
    return [read_job(path, shop, items) for path in paths]
