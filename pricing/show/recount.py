"""The shop in another currency: every amount turned at a rate, marked as a guess, as one step that can be undone.

Takes    the desk, a code, and what one of the old currency is worth in the new.
Gives    a changed draft; or why it cannot be, where something is written in the old currency for good.
"""

import re
from dataclasses import fields

from pricing.basis.tongue import Wrong
from pricing.shop.first_settings import First, rate_of, settle_first
from pricing.show.desk import Desk, beside, read_state, write_state
from pricing.show.own_log import has_log, log_stamps
from pricing.show.visit_jobs import waiting


def why_not(desk: Desk) -> str:
    """Say what stands in the way of another currency; empty where nothing does."""
    shop, old = desk.shop, desk.shop.currency
    if has_log(desk.folder) and any(log_stamps(desk.folder)):
        return f"Your log is kept in {old}, for good: `new FOLDER --currency` makes a folder in another currency."
    if any(price.priced for price in (*shop.own_prices.values(), *shop.trade_prices.values())):
        return f"Prices that you have set on page 3 stand in {old}: take them back there first."
    if waiting(shop):
        return f"Jobs that you remember stand in {old}: let them speak first."
    told = re.compile(rf"\d\s*{old}\b")
    jobs = [path.name for path in sorted((desk.folder / "jobs").glob("*.toml")) if told.search(path.read_text("utf-8"))]
    return f"Amounts in {old} stand in your jobs {', '.join(jobs)}: open and mend them on page 2 first." if jobs else ""


def recount(desk: Desk, code: str, rate: float) -> None:
    """Turn every amount of the shop into another currency, in which one of the old is worth ``rate``.

    Raises
    ------
    Wrong
        Something is written in the old currency for good.
    BadInput
        The folder cannot be read.
    """
    if told := why_not(desk):
        raise Wrong(told)
    shop = desk.shop
    known, source = rate_of(shop.currency, code)
    with beside(desk.folder) as at:
        write_state(at, desk.saved, desk.now)
        first = First(code, sales_tax=shop.policy.sales_tax, rate=None if rate == known and source else rate)
        settle_first(at, old=shop.currency, first=first)
        new = read_state(at)
    names = [one.name for one in fields(new.shop) if one.init and one.compare and one.name != "for_trade"]
    desk.change({name: getattr(new.shop, name) for name in names}, items=new.items)
