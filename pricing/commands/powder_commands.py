"""Powders: how often each colour is wanted, and what each way of buying it makes a use pay."""

import click

from pricing.commands.shell import JSON, SHOP, echo_json, plain_errors, read_shop


@click.command("powders")
@SHOP
@click.option("--week", "path", type=click.Path(), default=None, help="Another file than the shop's week.csv.")
@click.option("--save", is_flag=True, help="Write the uses of the week into powders.csv of your own folder.")
@JSON
@plain_errors
def powders_command(folder: str | None, path: str | None, *, save: bool, as_json: bool) -> None:
    """Colours by use: a year's uses from the week, and what one pays when stocked, passed on or shared."""
    from pathlib import Path

    from pricing.basis.errors import BadInput, Problem
    from pricing.commands.tables import grid, tell
    from pricing.prices.powder_uses import colours, with_uses
    from pricing.prices.week import read_week
    from pricing.shop.folder import save_shop
    from pricing.shop.powders import WAYS
    from pricing.show.words import Words

    shop, items = read_shop(folder)
    wanted = read_week(shop, items, Path(path) if path else None)
    if save and not folder:
        mend = "Make a folder of your own and name it with --shop."
        raise BadInput("powders", [Problem("--save", "the demo shop", "a folder of your own", mend)])
    found, words = colours(shop, wanted), Words(shop)
    if as_json:
        told = {
            c.powder.name: {"way": c.powder.way, "uses": c.uses.per_y, "each_kg": c.uses.each_kg, **c.pays}
            for c in found
        }
        echo_json(told)
    else:
        rows = []
        for colour in found:
            pays = [f"{words.money(v)}{' *' if way == colour.powder.way else ''}" for way, v in colour.pays.items()]
            each = words.measure(colour.uses.each_kg, "kg")
            rows.append((colour.powder.name, f"{colour.uses.per_y:.0f}", each, *pays))
        columns = ("colour", "uses a year", "each", *(way.replace("_", " ") for way in WAYS))
        tell(
            grid("What one use pays for its powder", columns, rows),
            "* as your powders.csv has it. Change the column 'way' there, or on the page of your shop.",
        )
    if save and folder:
        changed = save_shop(with_uses(shop, wanted), folder)
        click.echo(f"Written: {', '.join(changed)}." if changed else "Nothing changed.")
