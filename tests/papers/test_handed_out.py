"""The printed price list and the customer's quote: the figures of the library, and nothing that is not theirs."""

import csv
import io
import os
import re
import unicodedata
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from pricing.basis.errors import BadInput
from pricing.basis.ranges import Between, WholeBetween
from pricing.basis.tongue import Tongue
from pricing.commands.main import main
from pricing.costing.sheet import cost
from pricing.papers import pages
from pricing.papers.customer_quote import choices_of, next_number, quote_fields
from pricing.papers.outfiles import file_stem, save_all
from pricing.papers.pages import fill
from pricing.papers.printed_list import list_csv, list_fields
from pricing.papers.typeset import to_pdf
from pricing.parts.items import Item
from pricing.parts.job import Job, read_job
from pricing.prices.marks import marks_of
from pricing.prices.price_list import price_list
from pricing.prices.quote import quote
from pricing.prices.row_costs import CLEAR
from pricing.shop.folder import open_shop
from pricing.shop.own_prices import OwnPrice, save_own_prices
from pricing.shop.shop import Shop
from tests.conftest import ROOT, with_part, with_policy
from tests.papers.pdfs import metadata, numbers, page_texts, text_of, text_places

DAY = date(2026, 11, 25)
SECRET_WORDS = ("margin", "markup", "overhead", "minute", "labour", "break-even", "profit", "per hour", "scarce")


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


def page_of(shop: Shop, job: Job) -> str:
    return fill(shop, "quote.html", quote_fields(shop, job, day=DAY))


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
    library = price_list(shop, items)
    html = fill(shop, "price_list.html", fields)
    pdf = tmp_path / "list.pdf"
    pdf.write_bytes(to_pdf(shop, "price_list.typ", fields, "a4"))
    rows = {row[0].strip(): [numbers(cell) for cell in row[1:]] for row in Tags(html).rows if len(row) > 5}
    table = {row["item"]: row for row in csv.DictReader(io.StringIO(list_csv(fields)))}
    printed = " ".join(text_of(pdf).split())
    for key, item in items.items():
        tariffs = [library.row(key, column).tariff for column in ("single", "two_tone")]
        block = [amount for t in tariffs if t for amount in (t.first, t.each, t.beyond)]
        cells = next(cells for title, cells in rows.items() if title.startswith(item.title))
        assert [cell[0] for cell in cells[:6]] == block, key
        names = [f"{c}_{p}_EUR" for c in ("single", "two_tone") for p in ("first", "each_further", "each_beyond")]
        assert [float(table[key][name]) for name in names] == block
        in_pdf = printed.split(item.title, 1)[1][:90]
        assert numbers(in_pdf.split("€", 1)[1])[:6] == block, (key, in_pdf)


def test_what_is_added_to_a_price_is_printed_as_the_library_has_it(
    shop: Shop, items: dict[str, Item], fields: dict[str, Any]
) -> None:
    adders = price_list(shop, items).adders
    for row in fields["rows"]:
        for name in fields["adders"]:
            adder = adders[row["key"]].get(name)
            assert row.get(name) == (adder and {"first": adder.first, "each": adder.each, "beyond": adder.beyond})
    assert CLEAR in fields["adders"]


def test_what_must_not_be_quoted_stands_as_on_request(shop: Shop, items: dict[str, Item]) -> None:
    strict = with_policy(shop, most_heat_cycles=2)
    found = list_fields(strict, items, day=DAY)
    wheels = next(row for row in found["rows"] if row["key"] == "wheel_set")
    assert wheels["two_tone"] is None
    assert "on request" in fill(strict, "price_list.html", found)


def test_a_us_shop_prints_letter(shop: Shop, items: dict[str, Item], own: Path) -> None:
    text = (own / "shop.toml").read_text("utf-8").replace('units = "metric"', 'units = "us"')
    (own / "shop.toml").write_text(text, "utf-8")
    assert pages.paper_of(open_shop(own)) == "letter"


@pytest.mark.parametrize("name", ["sign_letters", "bench_ends", "gate_and_railing", "shelf_brackets_us"])
def test_no_cost_and_no_margin_leaks_into_a_quote(
    shop: Shop, items: dict[str, Item], name: str, tmp_path: Path
) -> None:
    job = read_job(ROOT / "data" / "jobs" / f"{name}.toml", shop, items)
    told_fields = quote_fields(shop, job, day=DAY)
    html = fill(shop, "quote.html", told_fields)
    pdf = tmp_path / "quote.pdf"
    pdf.write_bytes(to_pdf(shop, "quote.typ", told_fields, "a4"))
    text, about = text_of(pdf), metadata(pdf)
    for word in SECRET_WORDS:
        assert word not in text.casefold(), word
        assert word not in about.casefold(), word
        assert word not in re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL).casefold(), word
    allowed = {2026.0, 25.0, 0.0, 30.0, 23.0, 40.0, *range(1, 40)}  # dates, days, tax, deposit, steps and pages
    allowed |= set(numbers(" ".join([*shop.letterhead.lines, shop.letterhead.tax_number or ""])))
    told = set()
    for choice in choices_of(shop, job):
        found = quote(shop, job.model_copy(update={"powders": choice.powders}), finish=choice.key)
        price, sheet = found.must_price(), found.sheet
        told |= {float(price.net), float(price.tax), round(float(price.gross), 2), float(price.shared), price.panel}
        if choice.key == job.finish:
            told |= {n for line in found.lines for n in (line.amount, line.tariff.first, line.tariff.each)}
        hidden = [getattr(line, kind) for line in sheet.lines for kind in ("cash", "labour", "total", "minutes")]
        marks = marks_of(sheet)
        hidden += [sheet.total, sheet.cash, marks.break_even, marks.target, marks.scarce]
        for amount in hidden:
            if round(float(amount), 2) not in told and float(amount) > 1:
                whole = rf"(?<![\d.,]){re.escape(f'{float(amount):,.2f}')}(?!\d)"  # 4.30 is no part of 504.30
                assert not re.search(whole, text), amount
                assert f"{float(amount):.2f}" not in about
    allowed |= told | {float(lot.pieces) for lot in job.lots}
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
    assert sheet.shop.policy.deposit * quote(shop, special).net <= told


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
    plain = page_of(shop, plates)
    assert "strength" not in plain
    worried = with_part(plates, safety_critical=True, old_coating="paint", apart=True)
    worried = worried.model_copy(update={"new_pair": True})
    told = page_of(shop, worried)
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
    html = page_of(shop, job)
    assert "script" not in Tags(html).tags
    assert "&lt;script&gt;" in html
    pdf = tmp_path / "quote.pdf"
    pdf.write_bytes(to_pdf(shop, "quote.typ", quote_fields(shop, job, day=DAY), "a4"))
    assert SCRIPT.replace(" ", "") in text_of(pdf).replace(" ", "").replace("\n", "")


def test_a_script_in_an_item_stays_text(shop: Shop, items: dict[str, Item]) -> None:
    nasty = {key: item.model_copy(update={"title": f"{item.title} {SCRIPT}"}) for key, item in items.items()}
    assert "script" not in Tags(fill(shop, "price_list.html", list_fields(shop, nasty, day=DAY))).tags


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
    pdf.write_bytes(to_pdf(shop, "price_list.typ", list_fields(shop, many, day=DAY), paper))
    reader = PdfReader(pdf)
    wide, high = (595.28, 841.89) if paper == "a4" else (612.0, 792.0)
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "<pdfaid:part>3" in metadata(pdf)
    assert "<pdfaid:conformance>A" in metadata(pdf)
    assert "<pdfuaid:part>1" in metadata(pdf)
    texts = page_texts(pdf)
    assert len(texts) >= 2
    for n, (page, text) in enumerate(zip(reader.pages, texts, strict=True), 1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((wide, high), abs=0.02)
        assert f"Page {n} of {len(texts)}" in text
    with_rows = [text for text in texts if "Bicycle frame" in text or "Garden gate" in text]
    assert all("Clear coat adds" in text for text in with_rows)  # the head is printed again
    whole = " ".join(" ".join(texts).split())
    assert len(re.findall(r"Sheet-metal tool box incl. stripping(?: €\d+){7}", whole)) == 4  # no row is torn apart
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
        "price list 2026-11-25 (2).csv",
        "price list 2026-11-25 (2).html",
    }
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
        if name == "typst":
            raise ImportError("No module named 'typst'")
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
    html = fill(mine, "price_list.html", list_fields(mine, items, day=DAY))
    assert "Pay by 25 December 2026, at least €100." in html
    (own / "templates" / "terms.txt").write_text("one\n{{ minimum_charg }}\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)templates/terms.txt.*line 2.*minimum_charg.*minimum_charge"):
        list_fields(mine, items, day=DAY)
    (own / "templates" / "terms.txt").write_text("one\ntwo {% if rush %}\n", "utf-8")
    with pytest.raises(BadInput, match=r"(?s)templates/terms.txt.*endif"):
        list_fields(mine, items, day=DAY)
    (own / "templates" / "terms.txt").unlink()
    assert "How these prices are meant" in fill(mine, "price_list.html", list_fields(mine, items, day=DAY))


def test_a_template_can_reach_nothing_but_its_fields(own: Path) -> None:
    mine = open_shop(own)
    (own / "templates" / "evil.txt").write_text("{{ shop.__class__.__mro__ }}", "utf-8")
    with pytest.raises(BadInput, match="evil.txt"):
        fill(mine, "evil.txt", {"shop": "x"})


def test_the_list_prints_what_the_owner_saved(own: Path, items: dict[str, Item]) -> None:
    saved = {("bench_end", "single"): OwnPrice(999.0, 80.0, 70.0), ("wheel_set", "two_tone"): OwnPrice(1.0, 1.0, 1.0)}
    saved |= {("tool_box", column): OwnPrice(9.0, 1.0, 1.0, hidden=True) for column in ("single", "two_tone")}
    save_own_prices(own, saved, Tongue("EUR"))
    mine = open_shop(own)
    rows = {row["key"]: row for row in list_fields(mine, items, day=DAY)["rows"]}
    today = {row["key"]: row for row in list_fields(open_shop(), items, day=DAY)["rows"]}
    assert rows["bench_end"]["single"] == {"first": 999.0, "each": 80.0, "beyond": 70.0}
    assert rows["wheel_set"]["two_tone"]["first"] == 1.0
    assert rows["bench_end"][CLEAR] == today["bench_end"][CLEAR]
    assert "tool_box" not in rows
    strict = with_policy(mine, most_heat_cycles=2)  # what must not be quoted is not printed, saved or not
    assert next(r for r in list_fields(strict, items, day=DAY)["rows"] if r["key"] == "wheel_set")["two_tone"] is None


def test_the_list_says_from_which_day_its_prices_are(own: Path, items: dict[str, Item], tmp_path: Path) -> None:
    words = ("print-list", "--shop", str(own), "--out", str(tmp_path), "--format", "csv", "--format", "html")
    on = ("--day", DAY.isoformat(), "--replace")
    page, table = (tmp_path / f"price list {DAY}.{ending}" for ending in ("html", "csv"))

    def days() -> dict[str, str]:
        return {row["item"]: row["set_on"] for row in csv.DictReader(io.StringIO(page_text(table)))}

    assert "--fresh" not in run(*words, *on)
    assert "Prices set on" not in page_text(page)
    assert set(days().values()) == {DAY.isoformat()}

    head = "item,column,first,each_further,each_beyond,currency,saved_on"
    (own / "prices.csv").write_text(
        f"{head}\nbench_end,single,999.0,80,80,EUR,2026-10-05\nbench_end,two_tone,999.0,80,80,EUR,2026-10-05\n", "utf-8"
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

    rows = [head]
    rows += [f"{key},{column},99.0,9,9,EUR,2026-10-05" for key in items for column in ("single", "two_tone")]
    (own / "prices.csv").write_text("\n".join(rows), "utf-8")
    run(*words, *on)
    assert "Prices set on 5 October 2026.</p>" in page_text(page)
    assert set(days().values()) == {"2026-10-05"}

    (own / "prices.csv").write_text("\n".join(rows).replace("2026-10-05", "last week"), "utf-8")
    bad = CliRunner().invoke(main, [*words, *on])
    assert bad.exit_code == 2
    assert "saved_on is 'last week'; it must be a day like 2026-11-25" in bad.output


def page_text(path: Path) -> str:
    return path.read_text("utf-8")


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
    (tmp_path / "q.pdf").write_bytes(to_pdf(shop, "quote.typ", quote_fields(shop, job, day=DAY), paper))
    texts = page_texts(tmp_path / "q.pdf")
    assert "<pdfuaid:part>1" in metadata(tmp_path / "q.pdf")
    assert len(texts) == 1
    assert "Date and signature" in texts[0]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_longer_quote_keeps_its_terms_and_signatures_together(
    shop: Shop, items: dict[str, Item], paper: pages.Paper, tmp_path: Path
) -> None:
    job = read_job(ROOT / "data" / "jobs" / "bench_ends.toml", shop, items)
    (tmp_path / "q.pdf").write_bytes(to_pdf(shop, "quote.typ", quote_fields(shop, job, day=DAY), paper))
    last = " ".join(page_texts(tmp_path / "q.pdf")[-1].split())
    for words in ("Not included", "fitting and re-torquing", "Terms", "Cure follows", "Date and signature"):
        assert words in last


def changed_toml(own: Path, *pairs: tuple[str, str]) -> Shop:
    text = (own / "shop.toml").read_text("utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    (own / "shop.toml").write_text(text, "utf-8")
    return open_shop(own)


def test_stripping_is_told_where_it_is_in_the_price(shop: Shop, items: dict[str, Item], fields: dict[str, Any]) -> None:
    page = fill(shop, "price_list.html", fields)
    rows = {row["key"]: row for row in fields["rows"]}
    for key, item in items.items():
        assert ("incl. stripping" in rows[key]["note"]) == (item.part.old_coating != "none"), key
    assert "Where “incl. stripping” stands behind a name" in page
    assert "clean-stripped" not in page.split("Where “incl. stripping”")[0]
    old = {key: item for key, item in items.items() if item.part.old_coating != "none"}
    assert "All other prices" not in fill(shop, "price_list.html", list_fields(shop, old, day=DAY))
    new = {key: item for key, item in items.items() if item.part.old_coating == "none"}
    assert "Prices are for clean-stripped or uncoated parts" in fill(
        shop, "price_list.html", list_fields(shop, new, day=DAY)
    )


def test_a_minimum_charge_is_named_only_where_it_acts(shop: Shop, items: dict[str, Item]) -> None:
    low = with_policy(shop, minimum_charge=20.0)
    assert "inimum charge" not in fill(low, "price_list.html", list_fields(low, items, day=DAY))
    high = with_policy(shop, minimum_charge=120.0)
    page = fill(high, "price_list.html", list_fields(high, items, day=DAY))
    assert page.count("inimum charge €120") == 2


def test_signs_in_the_list_are_explained_where_they_stand(shop: Shop, items: dict[str, Item]) -> None:
    wheels, gate = {"wheel_set": items["wheel_set"]}, {"gate_single": items["gate_single"]}
    # two-tone with a clear coat would be an oven visit too many for the wheels, and so no adder of theirs is printed
    assert "“–”:" in fill(shop, "price_list.html", list_fields(shop, wheels | gate, day=DAY))
    assert "“–”" not in fill(shop, "price_list.html", list_fields(shop, gate, day=DAY))
    strict = with_policy(shop, most_heat_cycles=2)
    assert "“on request”:" in fill(strict, "price_list.html", list_fields(strict, wheels, day=DAY))


def test_the_deposit_says_what_it_is_of(shop: Shop, letters: Job, items: dict[str, Item]) -> None:
    rows = {what: amount for what, amount, _ in quote_fields(shop, letters, day=DAY)["price_rows"]}
    assert rows["Of it with the order, as a deposit: 40% of the price without tax, rounded up"] == "€170.00"
    gate = read_job(ROOT / "data" / "jobs" / "gate_and_railing.toml", shop, items)
    told = [what for what, _, _ in quote_fields(shop, gate, day=DAY)["price_rows"]]
    assert "powder bought for this job and the work before the first coat" in told[-1]
    none = with_policy(shop, deposit=0.0, minimum_charge=0.0)
    for what, amount, _ in quote_fields(none, letters, day=DAY)["price_rows"]:
        assert "40%" not in what, amount


@pytest.mark.parametrize("locale", ["de_DE", "fr_FR", "de_CH", "pl_PL"])
def test_one_paper_has_one_locale_and_english_months(
    own: Path, items: dict[str, Item], letters: Job, locale: str, tmp_path: Path
) -> None:
    mine = changed_toml(own, ("en_IE", locale))
    dear = {key: item.model_copy(update={"pieces": 30}) for key, item in list(items.items())[:3]}
    listed = list_fields(mine, dear, day=DAY)
    quoted = quote_fields(mine, letters, day=DAY)
    for name, template, found in (("l", "price_list.typ", listed), ("q", "quote.typ", quoted)):
        (tmp_path / name).write_bytes(to_pdf(mine, template, found, "a4"))
        text = " ".join(text_of(tmp_path / name).split())
        assert "25 November 2026" in text
        assert "25 December 2026" in text
        assert not re.search(r"€\d|\d,\d{3}\b", text), name  # no money and no thousands the English way
        decimal = {"de_CH": "."}.get(locale, ",")
        wrong = {",": r"\d\.\d{2}\b", ".": r"\d,\d{2}\b"}[decimal]
        assert not re.search(wrong, text.replace("1.0 × 1.2", "").replace("0.1 m²", "")), name


def test_what_the_shop_has_set_stands_on_papers_and_what_it_has_not_does_not(
    own: Path, items: dict[str, Item], letters: Job, tmp_path: Path
) -> None:
    mine = open_shop(own)
    fields = quote_fields(mine, letters, day=DAY, number="Q20261125-1")
    (tmp_path / "q.pdf").write_bytes(to_pdf(mine, "quote.typ", fields, "a4"))
    for text in (fill(mine, "quote.html", fields), " ".join(text_of(tmp_path / "q.pdf").split())):
        for told in (
            "Unit 4, Example Yard",
            "000 000 000",
            "XX 0000000",
            "Quote Q20261125-1",
            "by card or bank transfer",
            "25 December 2026",
        ):
            assert told in text, told
    assert "Unit 4, Example Yard" in fill(mine, "price_list.html", list_fields(mine, items, day=DAY))

    text = (own / "shop.toml").read_text("utf-8")
    (own / "shop.toml").write_text(re.sub(r"(?s)\[letterhead\].*?\n\n", "", text), "utf-8")
    bare = open_shop(own)
    page = fill(bare, "quote.html", quote_fields(bare, letters, day=DAY))
    assert "tax number" not in page
    assert "<address>" not in page
    assert "The rest is due at pick-up." in page
    assert "<h1>Quote</h1>" in page


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('quote_prefix = "Q/"', "quote_prefix"),
        ('phone = ""', "phone"),
        ('telephone = "1"', "telephone"),
        ('address = ["a\\u202e"]', "address"),
        ("payment = 14", "payment"),
    ],
)
def test_a_slip_in_the_letterhead_is_told_by_its_field(own: Path, line: str, told: str) -> None:
    text = (own / "shop.toml").read_text("utf-8")
    (own / "shop.toml").write_text(
        re.sub(r"(?s)\[letterhead\].*?\n\n", lambda _: f"[letterhead]\n{line}\n\n", text), "utf-8"
    )
    with pytest.raises(BadInput, match=rf"shop\.toml: letterhead.*{told}"):
        open_shop(own)


def test_quotes_of_a_day_are_counted_on(own: Path, letters: Job, tmp_path: Path) -> None:
    mine = open_shop(own)

    def number(title: str, *, again: bool = False) -> str:
        return next_number(mine, tmp_path, DAY, title, replace=again)

    assert number("gate") == "Q20261125-1"
    (tmp_path / "quote Q20261125-1 gate.html").write_text("x")
    (tmp_path / "quote Q20261125-1 gate-a4.pdf").write_text("x")
    assert number("gate") == "Q20261125-2"
    assert number("gate", again=True) == "Q20261125-1"  # the same quote written once more
    assert number("wheels", again=True) == "Q20261125-2"
    assert next_number(mine, tmp_path, date(2026, 11, 26), "gate") == "Q20261126-1"
    mine = changed_toml(own, ('quote_prefix = "Q" ', "# "))
    assert number("gate") == ""


def test_papers_for_customers_and_for_partners_lie_apart(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(own)
    on = ("--shop", str(own), "--day", DAY.isoformat())
    run("print-list", *on, "--format", "csv")
    run("customer-quote", "sign_letters", *on, "--format", "html")
    run("report", "sign_letters", *on, "--format", "html")
    apart = {folder.name: {path.suffix for path in folder.iterdir()} for folder in (own / "hand-outs").iterdir()}
    assert apart == {"customers": {".csv", ".html"}, "partners": {".html", ".json"}}
    assert [path.name[:17] for path in (own / "hand-outs" / "customers").glob("quote*")] == ["quote Q20261125-1"]


@pytest.mark.parametrize("name", ["गेट किताब", "ประตูบ้าน", "שער ראשי", "日本語の門", "Ворота 1", "Cổng nhà"])
def test_a_file_keeps_a_name_in_any_script(name: str, tmp_path: Path) -> None:
    [path] = save_all(tmp_path, file_stem(f"quote {name}\u202e\x00"), {".html": "x"})
    assert path.stem == f"quote {unicodedata.normalize('NFC', name)}"
    assert len(file_stem(name * 60).encode()) <= 200


@pytest.mark.parametrize("kind", ["html", "pdf"])
def test_what_steers_in_a_customers_name_does_not_reach_the_quote(
    shop: Shop, letters: Job, kind: str, tmp_path: Path
) -> None:
    job = letters.model_copy(update={"customer": "Ann\u202egnp.exe\u2066\x1b[1m Lee"})
    fields = quote_fields(shop, job, day=DAY)
    if kind == "html":
        text = fill(shop, "quote.html", fields)
    else:
        (tmp_path / "q.pdf").write_bytes(to_pdf(shop, "quote.typ", fields, "a4"))
        text = text_of(tmp_path / "q.pdf") + metadata(tmp_path / "q.pdf")
    assert "Anngnp.exe[1m Lee" in text
    assert not re.search("[\u202a-\u202e\u2066-\u2069\x1b]", text)


def test_many_columns_leave_names_readable(shop: Shop, items: dict[str, Item], tmp_path: Path) -> None:
    found = list_fields(shop, items, day=DAY)
    (tmp_path / "l.pdf").write_bytes(to_pdf(shop, "price_list.typ", found, "a4"))
    assert len(found["columns"]) == 10
    assert len(page_texts(tmp_path / "l.pdf")) == 1  # a starved column breaks after each word and runs over the page
    assert "Bracket, up to 0.1" in text_of(tmp_path / "l.pdf")


def test_a_quote_of_open_amounts_says_from_where_to_where(shop: Shop, letters: Job) -> None:
    lot = letters.lots[0]
    part = lot.part.model_copy(update={"line_m": Between(2.0, 4.0)})
    job = letters.model_copy(update={"lots": (lot.model_copy(update={"part": part, "quantity": WholeBetween(7, 11)}),)})
    told, between = page_of(shop, job), quote(shop, job).between
    assert between
    for end in between:
        assert f"€{end.gross:,.2f}" in told
    assert "7 to 11 of them" in told
    assert "line 2 m to 4 m each" in told
    assert "fixed at intake" in told
    assert "is then fixed within the two ends above" in told
    assert "fixed at intake" not in page_of(shop, letters)
