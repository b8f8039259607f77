"""A workbook laid out first and written then, so that every formula knows where its parts stand.

Takes    texts, numbers and formulas for cells.
Gives    an XLSX file: texts are always texts (nothing that begins with = + - or @ is run), formulas carry
         the model's own figure as the value shown before anything is recomputed.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from io import BytesIO
from typing import Any, NamedTuple

from xlsxwriter.utility import xl_rowcol_to_cell

from pricing.costing.graph import Symbol
from pricing.papers.formulas import CellPlace, written

_DASH = "#,##0.00;-#,##0.00;–"
_YELLOW = {"bg_color": "#FFF6DD", "border": 1, "border_color": "#D9C08A", "locked": False}
_HEAD = {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom", "font_color": "#55636F"}
CELL_FORMATS: Mapping[str, Mapping[str, Any]] = {
    "text": {},
    "wrap": {"text_wrap": True, "valign": "top"},
    "title": {"bold": True, "font_size": 16},
    "heading": {"bold": True, "font_size": 12, "font_color": "#22303C"},
    "head": _HEAD,
    "headnum": {**_HEAD, "align": "right"},
    "soft": {"font_color": "#55636F"},
    "bold": {"bold": True, "top": 1},
    "money": {"num_format": _DASH},
    "price": {"num_format": "#,##0.00", "bold": True},
    "total": {"num_format": "#,##0.00", "bold": True, "top": 1},
    "number": {"num_format": _DASH},
    "fine": {"num_format": "0.0000"},
    "share": {"num_format": "0.0%"},
    "whole": {"num_format": "0"},
    "sub": {"num_format": _DASH, "font_color": "#55636F"},
    "subtext": {"font_color": "#55636F", "indent": 1},
    "link": {"font_color": "#2A66A0", "underline": 1},
    "known": {"font_color": "#55636F", "indent": 1},
    "input": {"num_format": "#,##0.00##", **_YELLOW},
    "inputshare": {"num_format": "0.0%", **_YELLOW},
    "low": {"font_color": "#A3312A", "bold": True},
    "lowwrap": {"font_color": "#A3312A", "text_wrap": True},
}
"""How cells look; yellow is what may be changed."""
_MONEY = frozenset({"money", "price", "total"})


class Link(NamedTuple):
    """A text that leads to a cell of the workbook."""

    text: str
    sheet: str
    row: int


class Sum(NamedTuple):
    """A formula of its own words that stands for a figure of the model."""

    words: str
    figure: Symbol


class CellCheck(NamedTuple):
    """A formula that shows a text where something is wrong, and nothing else."""

    words: str


class WorkbookSheet:
    """One sheet: its cells, before anything is written.

    Parameters
    ----------
    name : str
        On its tab, at most 31 characters.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.cells: list[tuple[int, int, Any, str]] = []
        self.widths: dict[int, float] = {}
        self.levels: dict[int, int] = {}
        self.heights: dict[int, float] = {}
        self.frozen = (0, 0)
        self.repeat = 0
        self.checked: dict[tuple[int, int], tuple[float, float | None]] = {}
        self.flagged: list[tuple[int, int, str]] = []
        self.locked = False

    def put(self, row: int, column: int, content: Any, look: str = "text", *, name: str = "") -> None:
        """Put something into a cell; a formula that has no place yet stands here from now on.

        Parameters
        ----------
        row, column : int
            Counted from 0.
        content : str, float, Symbol, Sum, Link or None
            What; None leaves the cell empty.
        look : str
            One of `CELL_FORMATS`.
        """
        figure = content.figure if isinstance(content, Sum) else content
        if isinstance(figure, Symbol) and figure.place is None:
            figure.place = CellPlace(self.name, row, column, name)
        self.cells.append((row, column, content, look))

    def ask(
        self, at: tuple[int, int], cell: Symbol, limits: tuple[float, float | None], look: str = "input", name: str = ""
    ) -> None:
        """Put a number that may be changed, with the least and the most that may stand in its place."""
        self.put(*at, cell, look, name=name)
        self.checked[at] = limits

    def row(self, row: int, contents: Sequence[Any], look: str = "text", *, at: int = 0) -> None:
        """Put contents side by side."""
        for column, content in enumerate(contents, at):
            self.put(row, column, content, look)

    def heads(self, row: int, texts: Sequence[str], *, left: Sequence[int] = (0,), lines: int = 2) -> None:
        """Put the heads of columns; those of numbers stand to the right, as the numbers do."""
        for column, text in enumerate(texts):
            self.put(row, column, text, "head" if column in left else "headnum")
        self.heights[row] = 15.0 * lines


class Workbook:
    """Sheets in their order.

    Parameters
    ----------
    title, author : str
        Of the file.
    day : date
        Of the file.
    letter : bool
        Printed on US Letter, else on A4.
    digits : int
        Of money, after its unit.
    """

    def __init__(self, title: str, author: str, day: date, *, letter: bool, digits: int = 2) -> None:
        self.title, self.author, self.day, self.letter, self.digits = title, author, day, letter, digits
        self.sheets: list[WorkbookSheet] = []
        self._names: set[str] = set()

    def sheet(self, name: str) -> WorkbookSheet:
        """Add a sheet; its name is made to fit a tab."""
        clean = re.sub(r"[\[\]:*?/\\']", " ", name).strip()[:31].strip() or "Sheet"
        taken = {sheet.name.casefold() for sheet in self.sheets}
        number, unique = 2, clean
        while unique.casefold() in taken:
            unique = f"{clean[:27]} ({number})"
            number += 1
        self.sheets.append(WorkbookSheet(unique))
        return self.sheets[-1]

    def name(self, text: str) -> str:
        """Turn a text into a name that formulas can use, each once."""
        clean = re.sub(r"[^A-Za-z0-9]+", "_", text).strip("_") or "number"
        if re.match(r"^[A-Za-z]{1,3}\d+$|^\d|^[RrCc]$", clean):
            clean = f"n_{clean}"
        unique, number = clean, 2
        while unique.casefold() in self._names:
            unique = f"{clean}_{number}"
            number += 1
        self._names.add(unique.casefold())
        return unique

    def written(self) -> bytes:
        """Write the file."""
        import xlsxwriter  # heavy: only where a workbook is written

        out = BytesIO()
        options = {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        }
        with xlsxwriter.Workbook(out, options) as book:
            book.set_properties(
                {"title": self.title, "author": self.author, "created": datetime(*self.day.timetuple()[:6])}  # noqa: DTZ001
            )
            book.set_calc_mode("auto")
            looks = {name: book.add_format(self._look(name)) for name in CELL_FORMATS}
            for sheet in self.sheets:
                book.add_worksheet(sheet.name)
            for sheet in self.sheets:
                self._write(book.get_worksheet_by_name(sheet.name), sheet, looks)
                for _, _, content, _ in sheet.cells:
                    place = content.place if isinstance(content, Symbol) else None
                    if place and place.name and place.sheet == sheet.name:
                        cell = xl_rowcol_to_cell(place.row, place.column, row_abs=True, col_abs=True)
                        book.define_name(place.name, f"={place.quoted}!{cell}")
        return out.getvalue()

    def _look(self, name: str) -> dict[str, Any]:
        look = dict(CELL_FORMATS[name])
        if name in _MONEY:
            look["num_format"] = look["num_format"].replace("0.00", f"0.{'0' * self.digits}".rstrip("."))
        return look

    def _write(self, page: Any, sheet: WorkbookSheet, looks: Mapping[str, Any]) -> None:
        for row, column, content, look in sheet.cells:
            _write_cell(page, (row, column), content, looks["link" if isinstance(content, Link) else look], sheet.name)
        for column, width in sheet.widths.items():
            page.set_column(column, column, width)
        for row in {*sheet.levels, *sheet.heights}:
            page.set_row(row, sheet.heights.get(row), None, {"level": sheet.levels.get(row, 0)})
        for (row, column), (above, most) in sheet.checked.items():
            page.data_validation(row, column, row, column, _rule(above, most))
        for row, column, words in sheet.flagged:
            red = {"type": "formula", "criteria": words, "format": looks["low"]}
            page.conditional_format(row, column, row, column, red)
        page.freeze_panes(*sheet.frozen)
        page.hide_gridlines(2)
        page.set_landscape()
        page.set_paper(1 if self.letter else 9)
        page.fit_to_pages(1, 0)
        if sheet.locked:  # no password: it keeps a hand from slipping, and nobody from looking
            page.protect("", {"format_columns": True, "format_rows": True})
        if sheet.repeat:
            page.repeat_rows(sheet.repeat)
        page.set_footer("&L&A&RPage &P of &N")


def _write_cell(page: Any, at: tuple[int, int], content: Any, form: Any, sheet: str) -> None:
    match content:
        case None:
            page.write_blank(*at, None, form)
        case Link():
            page.write_url(*at, f"internal:'{content.sheet}'!A{content.row + 1}", form, content.text)
        case CellCheck():
            page.write_formula(*at, f"={content.words}", form, "")
        case Sum():
            page.write_formula(*at, f"={content.words}", form, content.figure.value)
        case Symbol():
            words = _words(content, CellPlace(sheet, *at))
            if words:
                page.write_formula(*at, f"={words}", form, content.value)
            else:
                page.write_number(*at, content.value, form)
        case str():
            page.write_string(*at, content, form)
        case _:
            page.write_number(*at, float(content), form)


def _words(content: Symbol, here: CellPlace) -> str:
    """Formula of a cell; '' where the number itself stands there."""
    place = content.place
    if place is None or place._replace(name="") == here:
        return "" if content.op is None else written(content, here.sheet)
    # a figure of another sheet, or of the same row, is pointed at; any other is worked out where it is shown
    beside = place.sheet != here.sheet or place.row == here.row
    return place.seen_from(here.sheet) if beside or content.op is None else written(content, here.sheet)


def _rule(least: float, most: float | None) -> dict[str, Any]:
    told = f"A number from {least:g}{'' if most is None else f' to {most:g}'}."
    if most is None:
        limits = {"criteria": ">=", "value": least}
    else:
        limits = {"criteria": "between", "minimum": least, "maximum": most}
    return {"validate": "decimal", "error_title": "Not a number", "error_message": told, **limits}
