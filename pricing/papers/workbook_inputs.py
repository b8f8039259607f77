"""The sheets of a workbook that hold its numbers: rates with their sources, and the shop's own."""

from pricing.basis.units import readable
from pricing.papers.live_shop import LiveShop
from pricing.papers.workbook import CellCheck, Workbook, WorkbookSheet
from pricing.show.naming import Names

LIMITS = {"share": 1.0, "0.0%": 10.0}


def put_rates(book: Workbook, sheet: WorkbookSheet, live: LiveShop) -> None:
    """Put every three-point number: yellow where it can be changed, its mean, its source and kind."""
    names, code = Names(live.plain), live.plain.currency
    us = any(rate.used is not rate.mean for rate in live.rates)
    sheet.put(0, 0, "Rates and assumptions", "title")
    told = "Change a yellow cell and every cost follows. Costs rest on the mean of the three points."
    sheet.put(1, 0, told, "soft")
    heads = ["What", "unit", "lowest", "likely", "highest", "mean"]
    heads += ["in the sums", "unit of the sums"] if us else []
    after = len(heads)
    more = ["order", "known as", "source", "where", "read on", "note", "name in formulas"]
    sheet.heads(3, [*heads, *more], left=(0, 1, *range(after, after + len(more))), lines=1)
    for row, rate in enumerate(live.rates, 4):
        unit = readable(rate.unit, code)
        sheet.row(row, [names.of(rate.key), unit])
        for column, point in enumerate(rate.points, 2):
            sheet.ask((row, column), point, (0.0, LIMITS.get(rate.row.unit)))
        name = book.name(rate.key)
        sheet.put(row, 5, rate.mean, "fine", name="" if us and rate.used is not rate.mean else name)
        if us:
            sheet.put(row, 6, rate.used, "fine", name=name if rate.used is not rate.mean else "")
            sheet.put(row, 7, readable(rate.row.unit, code), "soft")
        cells = f"C{row + 1}<=D{row + 1},D{row + 1}<=E{row + 1}"
        sheet.put(row, after, CellCheck(f'IF(AND({cells}),"","must rise")'), "low")
        source = rate.row.source
        known = [rate.row.kind, source.title, rate.row.where, rate.row.read_on, rate.row.note, name]
        sheet.row(row, known, "soft", at=after + 1)
    sheet.frozen, sheet.locked = (4, 1), True
    sheet.repeat = 3
    sheet.widths = {
        0: 44,
        1: 11,
        after + 1: 10,
        after + 2: 30,
        after + 3: 30,
        after + 4: 11,
        after + 5: 34,
        after + 6: 24,
    }


def lock_deaf(sheet: WorkbookSheet, live: LiveShop) -> None:
    """Lock the rates that no figure follows: those that act through the heat of the oven, and those not used."""
    cells = {(row, column): at for at, (row, column, *_) in enumerate(sheet.cells)}
    for row, rate in enumerate(live.rates, 4):
        if rate.key in live.deaf or rate.key not in live.book.read:
            told = "acts through the oven's heat: change it in the shop's folder and export again"
            sheet.put(row, 0, f"{Names(live.plain).of(rate.key)} *", "soft")
            note = told if rate.key in live.deaf else "not used in this workbook"
            column = max(column for at, column in cells if at == row) - 1
            sheet.put(row, column, f"{note}. {rate.row.note}".strip(" ."), "soft")
            for column, point in enumerate(rate.points, 2):
                sheet.cells[cells[row, column]] = (row, column, point, "fine")
                del sheet.checked[row, column]


def put_shop(book: Workbook, sheet: WorkbookSheet, live: LiveShop) -> None:
    """Put the shop's own numbers, and what an hour of everybody and everything costs.

    Parameters
    ----------
    book, sheet, live
        As in `put_rates`.
    """
    code = live.plain.currency
    sheet.put(0, 0, f"{live.plain.front.name}: own numbers", "title")
    sheet.put(1, 0, "Change a yellow cell and every cost follows.", "soft")
    row, group = 2, ""
    for own in live.own:
        if own.group != group:
            group = own.group
            row += 1
            sheet.put(row, 0, group, "heading")
            row += 1
        sheet.put(row, 0, own.label)
        name = book.name(own.name) if own.name else ""
        sheet.put(row, 2, readable(own.unit, code), "soft")
        share = own.shows.endswith("%")
        if own.fixed:
            sheet.put(row, 1, own.cell, "share" if share else "number", name=name)
            sheet.put(row, 3, "as the price list was made; change it in the shop's folder", "soft")
        else:
            look = "inputshare" if share else "input"
            sheet.ask((row, 1), own.cell, (0.0, LIMITS.get(own.shows)), look, name)
        row += 1
    row += 1
    sheet.put(row, 0, "What an hour costs", "heading")
    shop = live.live
    rows = [
        ("hours of the owner that are booked on jobs, a year", shop.owner.billable_hours, "h", ""),
        ("hours of owner and helper that are booked on jobs, a year", shop.billable_hours, "h", ""),
        ("all bills, a year", shop.overhead_per_y, f"{code}/year", ""),
    ]
    rows += [(name, rate, f"{code}/h", f"hour {name}") for name, rate in shop.hour_rates.items()]
    rows.append(
        (
            "owner with overhead: what an hour must bring",
            shop.hour_rates["owner"] + shop.hour_rates["overhead"],
            f"{code}/h",
            "",
        )
    )
    for text, figure, unit, name in rows:
        row += 1
        sheet.put(row, 0, text)
        sheet.put(row, 1, figure, "number", name=book.name(name) if name else "")
        sheet.put(row, 2, unit, "soft")
    sheet.frozen, sheet.locked = (2, 0), True
    sheet.widths = {0: 58, 1: 14, 2: 14, 3: 50}
