"""The commands that open the pages: ``lab`` to work with, ``app`` to look at."""

import click

from pricing.commands.shell import plain_errors

_FOLDER = click.option(
    "--shop",
    "folder",
    type=click.Path(),
    default=None,
    help="Your shop's folder, made from the demo if it is not there; powder-shop in your home folder without it.",
)
_PORT = click.option("--port", default=0, help="Port of this machine; the first free one from 8888 without it.")
_BROWSER = click.option("--browser/--no-browser", default=True, help="Open the first page in a browser.")


@click.command("lab")
@_FOLDER
@_PORT
@_BROWSER
@plain_errors
def lab_command(folder: str | None = None, port: int = 0, *, browser: bool = True) -> None:
    """Open the pages of your shop to work with, on this machine alone."""
    from pricing.screens.serve import open_lab

    open_lab(folder, port=port, browser=browser)


@click.command("app")
@_FOLDER
@_PORT
@_BROWSER
@click.option("--tablet", is_flag=True, help="Let other machines of your network look, with the token of the address.")
@click.option("--log", is_flag=True, help="Let page 7 write what jobs took: the stopwatch beside the booth.")
@click.option(
    "--most", default=40, show_default=True, type=click.IntRange(1, 500), help="Pages that may be open at once."
)
@plain_errors
def app_command(folder: str | None, port: int, *, browser: bool, tablet: bool, log: bool, most: int) -> None:
    """Show the pages without any code and without saving, on a tablet or to a partner."""
    from pricing.screens.serve import open_app

    open_app(folder, port=port, browser=browser, tablet=tablet, log=log, most=most)
