"""Settle a fresh folder's currency, locale and units before its owner fills it in.

Room     shop. Imports basis.
"""

import re
from pathlib import Path

from pricing.basis.files import read_text, write_safely

MONEY_FILES = ("shop.toml", "rates.csv", "assumptions.csv", "powders.csv")


def settle(folder: Path, *, old: str, currency: str = "", locale: str = "", units: str = "") -> None:
    """Write other settings into a folder made from the demo.

    Parameters
    ----------
    folder : Path
        A fresh copy, nobody's yet.
    old : str
        Code of the currency that its files are written in.
    currency, locale, units : str
        What the shop counts in, how it prints money, what it thinks in; empty leaves the demo's.

    Notes
    -----
    Amounts keep their numbers: 60 EUR becomes 60 USD, not its worth in dollars. They are an invented
    shop's and are there to be replaced.
    """
    if currency:
        for name in MONEY_FILES:
            path = folder / name
            write_safely(path, re.sub(rf"\b{old}\b", currency, read_text(path)))
    path = folder / "shop.toml"
    text = read_text(path)
    for field, value in (("locale", locale), ("units", units)):
        if value:
            text = re.sub(rf'(?m)^{field} = "[^"]*"', f'{field} = "{value}"', text, count=1)
    write_safely(path, text)
