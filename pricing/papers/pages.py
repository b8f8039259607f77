"""From an owner's own templates to pages of HTML that stand alone.

Takes    templates of the shop's folder (the demo shop's where one is missing) and what to fill in.
Gives    HTML with every field escaped and nothing fetched from anywhere; `pricing.papers.typeset` gives PDF.
Safe     templates run in a sandbox: they can fill in what they are given, and nothing else.
"""

import traceback
from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pricing.basis.errors import BadInput, Problem
from pricing.papers.told import PaperWords, cleaned
from pricing.shop.folder import demo_folder
from pricing.shop.shop import Shop

if TYPE_CHECKING:
    from jinja2 import Environment

Paper = Literal["a4", "letter"]
PAPER_SIZES: tuple[Paper, ...] = ("a4", "letter")
"""Sizes of paper."""

_BAD_TEMPLATE = (TypeError, ValueError, ArithmeticError, LookupError, AttributeError)


class PrintedBlock(NamedTuple):
    """One block of an owner's text: a heading, a paragraph or a list."""

    kind: Literal["heading", "paragraph", "list"]
    lines: tuple[str, ...]


def paper_of(shop: Shop) -> Paper:
    """Return the paper a shop prints on: US Letter where it thinks in US units, else A4."""
    return "letter" if shop.front.units == "us" else "a4"


def fill(shop: Shop, template: str, fields: Mapping[str, Any]) -> str:
    """Fill in one of the shop's templates, a file of its folder ``templates``; in ``.html`` every field is escaped.

    Raises
    ------
    BadInput
        The template is missing or has a mistake; the message names file and line.
    """
    from jinja2 import TemplateError, TemplateNotFound, TemplateSyntaxError

    folders = tuple(dict.fromkeys((templates_of(shop), demo_folder() / "templates")))
    where, made = f"templates/{template}", _environment(folders)
    try:
        return made.overlay().get_template(template).render(cleaned(fields))
    except TemplateNotFound as why:
        mend = again(str(why.name or template))
        raise BadInput(where, [Problem("the template", f"{why.name} is not there", "there", mend)]) from why
    except TemplateSyntaxError as why:
        mend = f"Each {{{{ has its }}}}, each {{% if … %}} its {{% endif %}}. {again(why.name or template)}"
        raise BadInput(f"templates/{why.name or template}", [_at(why.lineno, why.message or "", mend)]) from why
    except (TemplateError, *_BAD_TEMPLATE) as why:
        mend = f"Names that can be filled in: {', '.join(sorted(fields))}. {again(template)}"
        raise BadInput(where, [_at(_line_of(why, template), str(why), mend)]) from why


def again(template: str) -> str:
    """Say where a template that is missing, spoiled or of an earlier version is to be had anew."""
    return f"To have it anew, copy it from the demo shop: {demo_folder() / 'templates' / template}."


def fill_text(shop: Shop, template: str, fields: Mapping[str, Any]) -> list[PrintedBlock]:
    """Fill in a text of the shop and cut it into blocks.

    An empty line ends a block; ``# `` begins a heading, ``- `` an entry of a list.

    Raises
    ------
    BadInput
        As `fill`.
    """
    return blocks_of(fill(shop, template, fields))


def blocks_of(text: str) -> list[PrintedBlock]:
    r"""Cut a plain text into blocks.

    >>> [block.kind for block in blocks_of("# Terms\n\nPay in time.\n- cash\n- card\n")]
    ['heading', 'paragraph', 'list']
    """
    found: list[PrintedBlock] = []
    lines: list[str] = []

    def close() -> None:
        if lines:
            found.append(PrintedBlock("paragraph", (" ".join(lines),)))
            lines.clear()

    for line in map(str.strip, text.splitlines()):
        if line.startswith("# "):
            close()
            found.append(PrintedBlock("heading", (line[2:].strip(),)))
        elif line.startswith("- "):
            close()
            entries = found.pop().lines if found and found[-1].kind == "list" else ()
            found.append(PrintedBlock("list", (*entries, line[2:].strip())))
        elif line:
            lines.append(line)
        else:
            close()
    close()
    return found


def templates_of(shop: Shop) -> Path:
    """Return the one folder that templates of a shop may read: its own, else the demo shop's.

    Raises
    ------
    BadInput
        A link in it leads out of it.
    """
    own = shop.folder / "templates" if shop.folder else None
    at = (own if own and own.is_dir() else demo_folder() / "templates").resolve()
    for path in at.rglob("*"):
        if path.is_symlink() and not path.resolve().is_relative_to(at):
            mend = "Copy the file into the folder in place of the link."
            raise BadInput("templates", [Problem(path.name, "a link that leads out", "files of the folder", mend)])
    return at


@lru_cache(maxsize=8)
def _environment(folders: tuple[Path, ...]) -> "Environment":
    from jinja2 import FileSystemLoader, StrictUndefined, select_autoescape
    from jinja2.sandbox import SandboxedEnvironment

    return SandboxedEnvironment(
        loader=FileSystemLoader(folders),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=True,
    )


def _at(line: int, message: str, mend: str) -> Problem:
    return Problem(f"line {line}" if line else "the template", message, "something that can be filled in", mend)


def _line_of(why: BaseException, template: str) -> int:
    frames = [frame for frame in traceback.extract_tb(why.__traceback__) if Path(frame.filename).name == template]
    return (frames[-1].lineno or 0) if frames else 0


def common_fields(shop: Shop, day: date) -> dict[str, Any]:
    """Describe what every paper may print: the shop's name and letterhead, the day, its policy in words.

    Days, money and shares are texts in the shop's locale.
    """
    words, policy = PaperWords(shop), shop.policy
    tax_number = shop.letterhead.tax_number
    return {
        "shop": shop.front.name,
        "currency": shop.currency,
        "letterhead": shop.letterhead.lines,
        "tax_number": tax_number or "",
        "payment": shop.letterhead.payment or "",
        "today": words.day(day),
        "today_iso": day.isoformat(),
        "valid_until": words.day(day + timedelta(days=policy.valid_days)),
        "valid_days": policy.valid_days,
        "minimum_charge": words.short(policy.minimum_charge),
        "rush": f"{policy.rush_surcharge:.0%}",
        "deposit_share": words.share(policy.deposit),
        "sales_tax": words.share(policy.sales_tax),
        "with_tax": policy.prices_include_tax,
    }
