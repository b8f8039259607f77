"""The printed price list and the customer's quote: the figures of the library, and nothing that is not theirs."""

import csv
import io
import os
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from pricing.basis.errors import BadInput
from pricing.commands.main import main
from pricing.costing.sheet import cost
from pricing.papers import pages
from pricing.papers.customer_quote import quote_fields, quote_html
from pricing.papers.finish_choice import choices_of
from pricing.papers.outfiles import save_all
from pricing.papers.pages import fill, to_pdf
from pricing.papers.printed_list import list_csv, list_fields, list_html
from pricing.parts.items import Item
from pricing.parts.job import Job, read_job
from pricing.prices.marks import list_price, marks_of
from pricing.prices.price_list import price_list
from pricing.shop.folder import open_shop
from pricing.shop.shop import Shop
from pricing.show.listed import save_listed
from tests.conftest import ROOT, with_part, with_policy
from tests.papers.pdfs import metadata, numbers, page_texts, text_of, text_places

DAY = date(2026, 11, 25)
SECRET_WORDS = ("margin", "markup", "overhead", "minute", "labour", "break-even", "profit", "per hour", "scarce")


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


class Tags(HTMLParser):
    """Counts tags, and keeps the text of cells by row."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: dict[str, int] = {}
        self.rows: list[list[str]] = []
        self._in_cell = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: Any) -> None:  # noqa: ARG002
        self.tags[tag] = self.tags.get(tag, 0) + 1
        if tag == "tr":
            self.rows.append([])
        if tag in {"td", "th"} and self.rows:
            self.rows[-1].append("")
            self._in_cell = True

    def handle_endtag(self, tag: str) -> None:
        if tag in {"td", "th"}:
            self._in_cell = False

    def handle_data(self, data: str) -> None:
        if self._in_cell:
            self.rows[-1][-1] += data


@pytest.fixture(scope="module")
def fields(shop: Shop, items: dict[str, Item]) -> dict[str, Any]:
    return list_fields(shop, items, day=DAY)


def test_page_pdf_table_and_library_show_the_same_prices(
    shop: Shop, items: dict[str, Item], fields: dict[str, Any], tmp_path: Path
) -> None:
    library = price_list(shop, items, quantities=(1, 10))
    html = list_html(shop, fields)
    pdf = tmp_path / "list.pdf"
    pdf.write_bytes(to_pdf(html, "a4"))
    rows = {row[0].strip(): [numbers(cell) for cell in row[1:]] for row in Tags(html).rows if len(row) > 5}
    table = {(row["item"], row["quantity"]): row for row in csv.DictReader(io.StringIO(list_csv(fields)))}
    printed = " ".join(text_of(pdf).split())
    for at, item in enumerate(items.values()):
        block = library.price[4 * at : 4 * at + 4]  # single 1, 10; two-tone 1, 10
        cells = next(cells for title, cells in rows.items() if title.startswith(item.title))
        assert [cell[0] for cell in cells[:4]] == list(block), item.key
        for n, quantity in enumerate(("1", "10")):
            row = table[item.key, quantity]
            assert float(row["single_EUR"]) == block[n]
            assert float(row["two_tone_EUR"]) == block[n + 2]
        in_pdf = printed.split(item.title, 1)[1][:60]
        assert numbers(in_pdf.split("€", 1)[1])[:4] == list(block), (item.key, in_pdf)


def test_what_is_added_to_a_price_is_on_a_price_point(fields: dict[str, Any]) -> None:
    for row in fields["rows"]:
        for extra in (row["per_line"], *row["clear_adds"]):
            assert extra is None or (extra > 0 and extra == round(extra))
    wheels = next(row for row in fields["rows"] if row["key"] == "wheel_set")
    assert wheels["clear_adds"][1] is None  # one oven visit more than the limit: no price


def test_what_must_not_be_quoted_stands_as_on_request(shop: Shop, items: dict[str, Item]) -> None:
    strict = with_policy(shop, most_heat_cycles=2)
    found = list_fields(strict, items, day=DAY)
    wheels = next(row for row in found["rows"] if row["key"] == "wheel_set")
    assert wheels["two_tone"] == [None, None]
    assert "on request" in list_html(strict, found)


def test_a_us_shop_prints_letter_and_extra_by_the_foot(shop: Shop, items: dict[str, Item], own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8").replace('units = "metric"', 'units = "us"')
    (own / "shop.toml").write_text(text, "utf-8")
    us = open_shop(own)
    assert pages.paper_of(us) == "letter"
    assert "foot of line" in list_html(us, list_fields(us, items, day=DAY))


@pytest.mark.parametrize("name", ["sign_letters", "bench_ends", "gate_and_railing", "shelf_brackets_us"])
def test_no_cost_and_no_margin_leaks_into_a_quote(
    shop: Shop, items: dict[str, Item], name: str, tmp_path: Path
) -> None:
    job = read_job(ROOT / "data" / "jobs" / f"{name}.toml", shop, items)
    html = quote_html(shop, job, day=DAY)
    pdf = tmp_path / "quote.pdf"
    pdf.write_bytes(to_pdf(html, "a4"))
    text, about = text_of(pdf), metadata(pdf)
    for word in SECRET_WORDS:
        assert word not in text.casefold(), word
        assert word not in about.casefold(), word
        assert word not in re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL).casefold(), word
    allowed = {2026.0, 25.0, 0.0, 30.0, 23.0, *range(1, 40)}  # dates, days, tax, steps and pages
    told = set()
    for choice in choices_of(shop, job):
        sheet = cost(shop, job.model_copy(update={"powders": choice.powders}), finish=choice.key)
        price = list_price(sheet.total, shop.policy)
        told |= {float(price.net), round(float(price.tax), 2), round(float(price.net) * 1.23, 2)}
        hidden = [getattr(line, kind) for line in sheet.lines for kind in ("cash", "labour", "total", "minutes")]
        marks = marks_of(sheet)
        hidden += [sheet.total, sheet.cash, marks.break_even, marks.target, marks.scarce]
        for amount in hidden:
            if round(float(amount), 2) not in told and float(amount) > 1:
                whole = rf"(?<![\d.,]){re.escape(f'{float(amount):,.2f}')}(?!\d)"  # 4.30 is no part of 504.30
                assert not re.search(whole, text), amount
                assert f"{float(amount):.2f}" not in about
    allowed |= told | {float(lot.quantity) for lot in job.lots}
    sizes = " ".join(lot["size"] + lot["name"] for lot in quote_fields(shop, job, day=DAY)["lots"])
    allowed |= set(numbers(sizes))
    deposit = quote_fields(shop, job, day=DAY)["deposit"]
    unknown = [n for n in numbers(text) if n not in allowed and n != deposit]
    assert not unknown


def test_the_deposit_does_not_tell_what_was_spent(shop: Shop, letters: Job) -> None:
    special = letters.model_copy(update={"powders": ("moss green", "bright red")})
    sheet = cost(shop, special)
    told = quote_fields(shop, special, day=DAY)["deposit"]
    assert told == round(told)
    assert sheet.shop.policy.deposit * list_price(sheet.total, shop.policy).net <= told


def test_options_are_single_tone_two_tone_and_clear_in_the_jobs_own_colours(shop: Shop, letters: Job) -> None:
    found = {choice.key: choice.powders for choice in choices_of(shop, letters)}
    assert found == {
        "single": ("jet black",),
        "single_clear": ("jet black", "clear gloss"),
        "two_tone_wiped": ("jet black", "signal white"),
        "two_tone_clear": ("jet black", "signal white", "clear gloss"),
    }
    taped = letters.model_copy(update={"finish": "two_tone_masked"})
    assert "two_tone_masked" in {choice.key for choice in choices_of(shop, taped)}
    assert "two_tone_wiped" not in {choice.key for choice in choices_of(shop, taped)}


def test_cautions_stand_where_they_concern_the_customer(shop: Shop, plates: Job) -> None:
    plain = quote_html(shop, plates, day=DAY)
    assert "strength" not in plain
    worried = with_part(plates, safety_critical=True, old_coating="paint", apart=True)
    worried = worried.model_copy(update={"new_pair": True})
    told = quote_html(shop, worried, day=DAY)
    for word in ("says nothing about strength", "cannot be seen today", "panel first", "torqued"):
        assert word in told, word


def test_a_job_that_must_not_be_priced_gets_no_quote(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["customer-quote", "wheels_three_coats", "--out", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert "ask the maker" in result.output
    assert not (tmp_path / "out").exists()


SCRIPT = "<script>alert('x')</script>"


def test_a_script_in_a_name_stays_text(shop: Shop, letters: Job, tmp_path: Path) -> None:
    job = letters.model_copy(update={"customer": SCRIPT, "title": f"Sign {SCRIPT} \"'&"})
    html = quote_html(shop, job, day=DAY)
    assert "script" not in Tags(html).tags
    assert "&lt;script&gt;" in html
    pdf = tmp_path / "quote.pdf"
    pdf.write_bytes(to_pdf(html, "a4"))
    assert SCRIPT.replace(" ", "") in text_of(pdf).replace(" ", "").replace("\n", "")


def test_a_script_in_an_item_stays_text(shop: Shop, items: dict[str, Item]) -> None:
    nasty = {key: item.model_copy(update={"title": f"{item.title} {SCRIPT}"}) for key, item in items.items()}
    assert "script" not in Tags(list_html(shop, list_fields(shop, nasty, day=DAY))).tags


def test_no_cell_of_the_table_is_run_as_a_formula(fields: dict[str, Any]) -> None:
    rows = [{**fields["rows"][0], "title": title} for title in ("=1+1", "+2", "-3", "@sum(A1)", " =x", "\t=y", "＝z")]
    rows.append({**fields["rows"][0], "title": "Gate, 1.0 × 1.2 m"})
    read = list(csv.DictReader(io.StringIO(list_csv({**fields, "rows": rows}))))
    titles = [row["title"] for row in read]
    assert all(title.startswith("'") for title in titles[:-2])
    assert titles[-1] == "Gate, 1.0 × 1.2 m"


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_is_tagged_archivable_numbered_and_cut_nowhere(
    shop: Shop, items: dict[str, Item], paper: pages.Paper, tmp_path: Path
) -> None:
    many = {
        f"i{n}_{key}": item.model_copy(update={"key": f"i{n}_{key}"}) for n in range(4) for key, item in items.items()
    }
    pdf = tmp_path / "list.pdf"
    pdf.write_bytes(to_pdf(list_html(shop, list_fields(shop, many, day=DAY)), paper))
    reader = PdfReader(pdf)
    wide, high = (595.28, 841.89) if paper == "a4" else (612.0, 792.0)
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert 'pdfaid:part="3"' in metadata(pdf) or "<pdfaid:part>3" in metadata(pdf)
    texts = page_texts(pdf)
    assert len(texts) >= 2
    for n, (page, text) in enumerate(zip(reader.pages, texts, strict=True), 1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((wide, high), abs=0.02)
        assert f"Page {n} of {len(texts)}" in text
    with_rows = [text for text in texts if "Bicycle frame" in text or "Garden gate" in text]
    assert all("Clear coat adds" in text for text in with_rows)  # the head is printed again
    whole = " ".join(" ".join(texts).split())
    assert len(re.findall(r"Sheet-metal tool box(?: €\d+){7}", whole)) == 4  # no row is torn apart
    for x, y, width, height in text_places(pdf):
        assert 30 <= x <= width - 40, (x, y)
        assert 20 <= y <= height - 20, (x, y)


def test_two_runs_make_two_files_and_replace_is_asked_for(tmp_path: Path) -> None:
    words = ("print-list", "--out", str(tmp_path), "--format", "csv", "--format", "html", "--day", "2026-11-25")
    run(*words)
    first = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert set(first) == {"price list 2026-11-25.csv", "price list 2026-11-25.html"}
    run(*words)
    assert {path.name for path in tmp_path.iterdir()} == set(first) | {
        "price list 2026-11-25 (2).csv", "price list 2026-11-25 (2).html"
    }  # fmt: skip
    (tmp_path / "price list 2026-11-25.csv").write_text("mine", "utf-8")
    run(*words)
    assert (tmp_path / "price list 2026-11-25.csv").read_text("utf-8") == "mine"
    run(*words, "--replace")
    assert (tmp_path / "price list 2026-11-25.csv").read_bytes() == first["price list 2026-11-25.csv"]


def test_a_write_that_fails_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save_all(tmp_path, "list", {".csv": "old"})

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        save_all(tmp_path, "list", {".csv": "new"}, replace=True)
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("list.csv", "old")]


def test_when_one_file_of_several_fails_none_is_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old = {".csv": "old", ".html": "old", "-a4.pdf": "old"}
    save_all(tmp_path, "list", old)
    real, calls = os.fsync, []

    def full_at_the_third(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 3:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full_at_the_third)
    with pytest.raises(BadInput, match=r"(?s)a4\.pdf.*No space left.*Nothing was changed"):
        save_all(tmp_path, "list", dict.fromkeys(old, "new"), replace=True)
    assert len(list(tmp_path.iterdir())) == 3
    assert {path.read_text() for path in tmp_path.iterdir()} == {"old"}


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    result = CliRunner().invoke(main, ["print-list", "--out", str(tmp_path / "taken"), "--format", "csv"])
    assert result.exit_code == 2
    assert "A file of that name is there" in result.output


def test_without_the_pdf_printer_the_page_is_still_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import builtins

    real = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name.startswith("weasyprint"):
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    result = CliRunner().invoke(main, ["print-list", "--out", str(tmp_path)])
    assert result.exit_code == 0
    assert "print it from the browser" in result.output
    assert {path.suffix for path in tmp_path.iterdir()} == {".html", ".csv"}
    only = CliRunner().invoke(main, ["print-list", "--out", str(tmp_path), "--format", "pdf"])
    assert only.exit_code == 2


def test_the_owners_own_templates_are_used_and_their_mistakes_told(own: Path, items: dict[str, Item]) -> None:
    assert {"terms.txt", "quote.html", "price_list.html", "style.css"} <= {
        p.name for p in (own / "templates").iterdir()
    }
    mine = open_shop(own)
    (own / "templates" / "terms.txt").write_text(
        "# Mine\n\nPay by {{ valid_until }}, at least {{ minimum_charge }}.\n", "utf-8"
    )
    html = list_html(mine, list_fields(mine, items, day=DAY))
    assert "Pay by 25 December 2026, at least €60." in html
    (own / "templates" / "terms.txt").write_text("one\n{{ minimum_charg }}\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)templates/terms.txt.*line 2.*minimum_charg.*minimum_charge"):
        list_fields(mine, items, day=DAY)
    (own / "templates" / "terms.txt").write_text("one\ntwo {% if rush %}\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)templates/terms.txt.*endif"):
        list_fields(mine, items, day=DAY)
    (own / "templates" / "terms.txt").unlink()
    assert "How these prices are meant" in list_html(mine, list_fields(mine, items, day=DAY))


def test_a_template_can_reach_nothing_but_its_fields(own: Path) -> None:
    mine = open_shop(own)
    (own / "templates" / "evil.txt").write_text("{{ shop.__class__.__mro__ }}", "utf-8")
    with pytest.raises(BadInput, match="evil.txt"):
        fill(mine, "evil.txt", {"shop": "x"})


@pytest.mark.parametrize("text", ["0", "1,x", "", "1.5", "-1"])
def test_bad_quantities_are_told(text: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["print-list", "--out", str(tmp_path), "--quantities", text])
    assert result.exit_code == 2
    assert "--quantities" in result.output


def test_margins_of_a_printed_list_hold(shop: Shop, items: dict[str, Item], fields: dict[str, Any]) -> None:
    library = price_list(shop, items, quantities=(1,))
    printed = np.array([price for row in fields["rows"] for price in (row["single"][0], row["two_tone"][0])])
    assert (1 - library.cost / printed >= shop.policy.target_margin - 1e-12).all()


def test_the_list_prints_what_the_owner_saved(own: Path, items: dict[str, Item]) -> None:
    save_listed(own, {("bench_end", "single", 1): 999.0, ("wheel_set", "two_tone", 1): 1.0}, "EUR")
    mine = open_shop(own)
    rows = {row["key"]: row for row in list_fields(mine, items, day=DAY)["rows"]}
    today = {row["key"]: row for row in list_fields(open_shop(), items, day=DAY)["rows"]}
    assert rows["bench_end"]["single"] == [999.0, today["bench_end"]["single"][1]]
    assert rows["wheel_set"]["two_tone"][0] == 1.0
    assert rows["bench_end"]["clear_adds"] == today["bench_end"]["clear_adds"]
    strict = with_policy(mine, most_heat_cycles=2)  # what must not be quoted is not printed, saved or not
    assert (
        next(r for r in list_fields(strict, items, day=DAY)["rows"] if r["key"] == "wheel_set")["two_tone"][0] is None
    )


def test_the_list_says_from_which_day_its_prices_are(own: Path, items: dict[str, Item], tmp_path: Path) -> None:
    words = ("print-list", "--shop", str(own), "--out", str(tmp_path), "--format", "csv", "--format", "html")
    on = ("--day", DAY.isoformat(), "--quantities", "1", "--replace")
    page, table = (tmp_path / f"price list {DAY}.{ending}" for ending in ("html", "csv"))

    def days() -> dict[str, str]:
        return {row["item"]: row["set_on"] for row in csv.DictReader(io.StringIO(page_text(table)))}

    assert "--fresh" not in run(*words, *on)
    assert "Prices set on" not in page_text(page)
    assert set(days().values()) == {DAY.isoformat()}

    (own / "price_list.csv").write_text(
        "item,column,quantity,price,currency,saved_on\nbench_end,single,1,999.0,EUR,2026-10-05\n", "utf-8"
    )
    assert "Prices as you saved them on 2026-10-05, the others as worked out today; --fresh" in run(*words, *on)
    told = "Prices set on 5 October 2026, those that are not on the saved list on 25 November 2026."
    assert told in page_text(page)
    assert "€999" in page_text(page)
    assert days()["bench_end"] == "2026-10-05"
    assert days()["wheel_set"] == DAY.isoformat()

    assert "--fresh" not in run(*words, *on, "--fresh")
    assert "€999" not in page_text(page)
    assert "Prices set on" not in page_text(page)

    rows = ["item,column,quantity,price,currency,saved_on"]
    rows += [f"{key},{column},1,99.0,EUR,2026-10-05" for key in items for column in ("single", "two_tone")]
    (own / "price_list.csv").write_text("\n".join(rows), "utf-8")
    run(*words, *on)
    assert "Prices set on 5 October 2026.</p>" in page_text(page)
    assert set(days().values()) == {"2026-10-05"}

    (own / "price_list.csv").write_text("\n".join(rows).replace("2026-10-05", "last week"), "utf-8")
    bad = CliRunner().invoke(main, [*words, *on])
    assert bad.exit_code == 2
    assert "saved_on is 'last week'; it must be a day like 2026-11-25" in bad.output


def page_text(path: Path) -> str:
    return path.read_text("utf-8")


def test_a_foot_of_line_costs_a_tenth_of_ten_feet_on_a_price_point(
    shop: Shop, items: dict[str, Item], own: Path
) -> None:
    us = with_units(shop, "us")
    for row, metric in zip(*(list_fields(s, items, day=DAY)["rows"] for s in (us, shop)), strict=True):
        if row["per_line"] is not None:
            assert 10 * row["per_line"] == pytest.approx(round(10 * row["per_line"]))
            exact = row["per_line"] / 0.3048  # what a metre comes to
            assert metric["per_line"] - 1 < exact < metric["per_line"] + 0.1 / 0.3048


def with_units(shop: Shop, units: str) -> Shop:
    return replace(shop, front=shop.front.model_copy(update={"units": units}))


@pytest.mark.parametrize("command", ["customer-quote", "report", "spreadsheet"])
def test_a_job_that_is_not_there_is_told_with_those_that_are(command: str, own: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = CliRunner().invoke(main, [command, "sign_leters", "--shop", str(own), "--out", str(out)])
    assert result.exit_code == 2
    assert "its name is 'sign_leters'; it must be bench_ends, " in result.output
    assert "Did you mean 'sign_letters'?" in result.output
    assert str(own / "jobs") in result.output
    assert not out.exists()


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_usual_quote_is_one_page_with_its_signatures(
    shop: Shop, letters: Job, paper: pages.Paper, tmp_path: Path
) -> None:
    job = letters.model_copy(update={"customer": "Bakery at the Old Bridge, Ltd."})
    (tmp_path / "q.pdf").write_bytes(to_pdf(quote_html(shop, job, day=DAY), paper))
    texts = page_texts(tmp_path / "q.pdf")
    assert len(texts) == 1
    assert "Date and signature" in texts[0]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_longer_quote_keeps_its_terms_and_signatures_together(
    shop: Shop, items: dict[str, Item], paper: pages.Paper, tmp_path: Path
) -> None:
    job = read_job(ROOT / "data" / "jobs" / "bench_ends.toml", shop, items)
    (tmp_path / "q.pdf").write_bytes(to_pdf(quote_html(shop, job, day=DAY), paper))
    last = " ".join(page_texts(tmp_path / "q.pdf")[-1].split())
    for words in ("Not included", "fitting and re-torquing", "Terms", "Cure follows", "Date and signature"):
        assert words in last
