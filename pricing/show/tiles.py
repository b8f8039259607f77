"""Figures as HTML: tiles, small tables, and the button behind which a number's "why" lies.

Rule     every text is escaped here; what is marked up is marked up here.
"""

from collections.abc import Iterable, Sequence
from html import escape

_LONG = 30
_NEAR = 5e-3  # a margin that is shown as the one wanted keeps it


def tile_number(text: str, why: str = "", *, style: str = "") -> str:
    """Write a number; with ``why``, as a button that asks for the sum behind it.

    >>> tile_number("€5", "step.wipe")
    '<button type="button" class="why" data-why="step.wipe">€5</button>'
    """
    shown = escape(text)
    if why:
        shown = f'<button type="button" class="why" data-why="{escape(why)}">{shown}</button>'
    return f'<span class="{escape(style)}">{shown}</span>' if style else shown


def tile(title: str, big: str = "", sub: str = "", *, style: str = "") -> str:
    """Write a tile: a heading, a large figure, a line below; ``big`` and ``sub`` are HTML already."""
    large = f'<div class="big">{big}</div>' if big else ""
    below = f'<div class="sub">{sub}</div>' if sub else ""
    whole = f' title="{escape(title)}"' if len(title) > _LONG else ""  # two lines of it are shown
    return f'<div class="pp-tile {escape(style)}"><h3{whole}>{escape(title)}</h3>{large}{below}</div>'


def tiles(found: Iterable[str]) -> str:
    """Put tiles side by side."""
    return f'<div class="pp-tiles">{"".join(found)}</div>'


def fact_tiles(rows: Sequence[Sequence[str]], *, head: Sequence[str] = ()) -> str:
    """Write a small table; the first cell of a row names it, the others are HTML already."""
    top = ""
    if head:
        cells = "".join(f'<th scope="col">{escape(word)}</th>' for word in head)
        top = f"<thead><tr>{cells}</tr></thead>"
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>{"".join(f"<td>{cell}</td>" for cell in row[1:])}</tr>'
        for row in rows
    )
    return f'<table class="facts">{top}<tbody>{body}</tbody></table>'


def stopped(reasons: Sequence[str], *, title: str = "Do not quote") -> str:
    """Say that there is no price, or what else stands still, and why."""
    told = "".join(f"<p>{escape(reason)}</p>" for reason in reasons)
    return f'<div class="stopped" role="alert"><b>{escape(title)}</b>{told}</div>'


def told_list(title: str, told: Iterable[str]) -> str:
    """Write sentences one below the other, under a heading."""
    rows = "".join(f"<li>{escape(one)}</li>" for one in told)
    return f'<h3>{escape(title)}</h3><ul class="cautions">{rows}</ul>'


def graded(margin: float, wanted: float) -> tuple[str, str]:
    """Say how a margin stands against the one that is wanted: its style, and a verdict in words."""
    if margin >= wanted - _NEAR:
        return "gain", "keeps your margin"
    return ("thin", "below your margin") if margin >= 0 else ("loss", "loses money")
