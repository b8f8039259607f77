"""The command ``start``: the first visit in a terminal, one question after the other."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pricing.commands.shell import plain_errors

if TYPE_CHECKING:
    from pricing.show.desk import Desk

_STOP = frozenset({"stop", "quit", "q"})
_UNDO = "undo"


@click.command("start")
@click.argument("folder", required=False, type=click.Path())
@click.option("--currency", default="", help="Of a new folder: what you count in, such as USD.")
@click.option("--locale", default="", help="Of a new folder: how money is printed, such as en_US.")
@click.option("--units", default="", help="Of a new folder: metric, or us for feet, mils, degF and pounds.")
@click.option(
    "--job",
    "jobs",
    multiple=True,
    help="A job you remember, three or more: 'gate_single, single, 1, 180 EUR, 2.5 h'; price without tax.",
)
@click.option("--most", default=24, show_default=True, type=click.IntRange(1, 200), help="Questions to ask at most.")
@plain_errors
def start_command(folder: str | None, currency: str, locale: str, units: str, jobs: tuple[str, ...], most: int) -> None:
    """Make the shop in FOLDER your own: the questions that matter most to its prices, one after the other.

    FOLDER is made from the demo if it is not there; without it, powder-shop in your home folder. Stop whenever you
    like: what you said is kept, and the next start goes on from there.
    """
    from pricing.basis.errors import BadInput, Problem
    from pricing.screens.pages import own_folder
    from pricing.shop.folder import new_folder
    from pricing.shop.visit import SOLD
    from pricing.show.desk import Desk

    at = Path(folder) if folder else Path.home() / "powder-shop"
    if currency or locale or units:
        if (at / "shop.toml").is_file():
            mend = "Change currency, measures and locale of a shop that is there on page 0 or 1."
            raise BadInput("start", [Problem("--currency, --locale, --units", str(at), "a new folder", mend)])
        new_folder(at, currency=currency, locale=locale, units=units)
    desk = Desk(own_folder(at), read_only=False)
    _say(
        "Answer as you think: 1150 a month, 12 min, 30 %. Enter alone is “I don't know”: the guess stays. “undo” takes "
        "the last answer back, “stop” ends and keeps all. Nothing can break."
    )
    click.echo()
    if jobs:
        from pricing.show.visit_jobs import heard, jobs_words, read_job_words, with_job

        for text in jobs:
            desk.change(with_job(desk.shop, desk.items, read_job_words(desk.shop, text)))
        _say(jobs_words(desk.shop, desk.items))
        desk.change(heard(desk.shop, desk.items))
    if SOLD not in desk.shop.visited:
        _decide(desk)
    _ask(desk, most)
    names = desk.save()
    click.echo(f"Saved in {at}: {', '.join(names)}." if names else "Nothing was changed.")
    click.echo(f"Next: python -m pricing lab --shop {at}")


def _say(words: str, begins: str = "") -> None:
    """Write words broken at the width of the terminal, further lines as far in as the first."""
    from shutil import get_terminal_size
    from textwrap import fill

    room, kept = get_terminal_size().columns - 1, words.replace(" %", "\N{NO-BREAK SPACE}%")
    lines = fill(kept, room, initial_indent=begins, subsequent_indent=" " * len(begins), break_on_hyphens=False)
    click.echo(lines.replace("\N{NO-BREAK SPACE}", " "))


def _prompt(words: str) -> str:
    try:
        return str(click.prompt(words, default="", show_default=False)).strip()
    except click.Abort:  # no terminal, or Ctrl-C: what was said is kept
        click.echo()
        return "stop"


def _decide(desk: "Desk") -> None:
    """Ask what is no guess: the margin wanted, the sales tax, and what is sold."""
    from pricing.basis.tongue import Range, Wrong
    from pricing.basis.typed import read
    from pricing.show.visit_view import only_sold

    wishes = (("target_margin", "Margin you want, of the price", 0.95), ("sales_tax", "Sales tax on your prices", 1.0))
    for name, asked, most in wishes:
        policy, tongue = desk.shop.policy, desk.shop.tongue
        while given := _prompt(f"{asked} [{tongue.show(getattr(policy, name), 'share')}]"):
            if given in _STOP:
                return
            try:
                share = read(given, "share", tongue, within=Range(0.0, most))
            except Wrong as why:
                _say(why.told)
                continue
            desk.change({"policy": policy.model_copy(update={name: share})})
            break
    keys = list(desk.items)
    for place, key in enumerate(keys, 1):
        click.echo(f"{place:3d} {desk.items[key].title}")
    while True:
        given = _prompt("What do you sell? Numbers with commas; Enter for all")
        if given in _STOP:
            return
        words = given.replace(",", " ").split()
        if all(word.isdecimal() and 1 <= int(word) <= len(keys) for word in words):
            desk.change(only_sold(desk.shop, [keys[int(word) - 1] for word in words] or keys))
            return
        click.echo(f"Write numbers from 1 to {len(keys)}, such as 1, 4, 9.")


def _ask(desk: "Desk", most: int) -> None:
    from pricing.prices.firmness import firmness
    from pricing.show.visit_view import ENOUGH, asks, little, moves, percent, sure

    found = firmness(desk.shop, desk.items)
    _say(sure(found))
    count = 1
    while count <= most and found.breaths:
        keys = found.breaths[0]
        if little(found, keys):
            click.echo()
            _say(ENOUGH)
        click.echo()
        _say(" ".join(asks(desk.shop, found.questions[key]) for key in keys), f"{count}. ")
        answers = "An answer makes" if len(keys) == 1 else "Answers make"
        _say(f"{moves(found, *keys)} {answers} the list sure to within {percent(found.after(*keys))}.", "   ")
        count += 1
        for key in keys:
            given = _ask_one(desk, key, alone=len(keys) == 1)
            if given in _STOP:
                return
            if given == _UNDO:
                count -= 1
                break
        found = firmness(desk.shop, desk.items)
        _say(sure(found), "   ")


def _ask_one(desk: "Desk", key: str, *, alone: bool) -> str:
    """Ask a question until it is answered, passed or left; what was typed last."""
    from pricing.basis.tongue import Wrong
    from pricing.prices.first_visit import questions
    from pricing.show.visit_view import answers_given, asks, guess_of

    question = questions(desk.shop)[key]
    words = ([] if alone else [asks(desk.shop, question)]) + ([f"({question.note})"] if question.note else [])
    if words:
        _say(" ".join(words), "   ")
    while True:
        given = _prompt(f"   Now {guess_of(desk.shop, question)}. Yours")
        try:
            if given == _UNDO:
                _take_back(desk)
            elif given not in _STOP:
                desk.change(answers_given(desk.shop, {key: given}))
        except Wrong as why:
            _say(why.told, "   ")
        else:
            return given


def _take_back(desk: "Desk") -> None:
    """Take the last change back and say which answer that was; what is sold is asked again."""
    from pricing.prices.first_visit import questions
    from pricing.shop.visit import SOLD
    from pricing.show.visit_view import asks

    before = desk.shop
    if not desk.undo():
        _say("There is nothing to take back.", "   ")
        return
    gone = [key for key in before.visited if key not in desk.shop.visited]
    told = " ".join(asks(before, questions(before)[key]) for key in gone if key in questions(before))
    _say(f"Taken back: {told}" if told else "Taken back.", "   ")
    if SOLD in gone:
        _decide(desk)
