"""The command ``start``: the first visit in a terminal, one question after the other, the one that helps most first."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.commands.shell import plain_errors

if TYPE_CHECKING:
    from pricing.prices.first_visit import Question
    from pricing.show.first_view import FirstVisit

_LEAVE = {"q", "quit", "stop"}


@click.command("start")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--most", type=click.IntRange(1, 200), default=24, help="Stop after so many questions; 24 without it.")
@plain_errors
def start_command(folder: Path, most: int) -> None:
    """Make FOLDER your own shop: at most 24 questions, each time the one that makes your prices surest."""
    from pricing.shop.folder import new_folder
    from pricing.show.desk import Desk
    from pricing.show.first_view import INTRODUCED, FirstVisit

    if not (folder / "shop.toml").exists():
        new_folder(folder)
    talk = FirstVisit(Desk(folder))
    click.echo("\n".join(INTRODUCED))
    click.echo("Type a number, with its unit or without. Nothing means: I do not know. q stops; go on another day.\n")
    for _ in range(most):
        found = talk.now()
        click.echo(talk.sure(found))
        if not found.questions or not _asked(talk, found.questions[0]):
            break
    click.echo(talk.sure(talk.now()))
    names = talk.desk.save() if talk.desk.changed else []
    click.echo(f"Saved: {', '.join(names)}." if names else "Nothing changed.")
    click.echo(f"Your price list: price-list --shop {folder}. Your pages: lab --shop {folder}.")


def _asked(talk: "FirstVisit", question: "Question") -> bool:
    """Ask until there is an answer or none; False to leave."""
    from pricing.basis.tongue import Wrong

    click.echo(f"\n{talk.ask(question)}\n  {talk.about(question)}")
    while True:
        try:
            given = click.prompt("  ", default="", show_default=False, prompt_suffix="> ").strip()
        except click.Abort:  # the end of what is typed
            return False
        if given.lower() in _LEAVE:
            return False
        if not given:
            talk.skip(question.key)
            return True
        try:
            talk.give(question.key, given)
        except Wrong as why:
            click.echo(f"  {why.told}")
        else:
            return True
