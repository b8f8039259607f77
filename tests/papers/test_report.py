"""The partner's summary: the library's figures in every form of it, live and offline, with every assumption."""

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from datetime import date
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from pricing.basis.errors import BadInput
from pricing.basis.facts import facts
from pricing.basis.tongue import Tongue
from pricing.commands.main import main
from pricing.costing.sheet import cost
from pricing.papers import pages
from pricing.papers.customer_quote import choices_of
from pricing.papers.last_summary import changes, read_snapshot, snapshot_text
from pricing.papers.live_price import live_price
from pricing.papers.outfiles import save_all
from pricing.papers.report import Report, job_to_show
from pricing.papers.report_answers import answers, should
from pricing.papers.report_charts import described, figures_of
from pricing.papers.report_constants import constants
from pricing.papers.report_files import Pages, figures_before, report_pages, write_report
from pricing.papers.report_tables import assumption_rows, bank_rows, choice_rows, own_numbers
from pricing.papers.told import plain
from pricing.papers.typeset import to_pdf
from pricing.parts.items import Item
from pricing.parts.job import Job
from pricing.prices.quote import quote
from pricing.shop.folder import open_shop
from pricing.shop.own_prices import OwnPrice, save_own_prices
from pricing.shop.shop import Shop
from pricing.show.charts_job import cost_of_two_sides
from pricing.show.words import Words
from tests.conftest import with_part, with_policy
from tests.papers.pdfs import metadata, page_texts, text_places

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def report(shop: Shop, items: dict[str, Item], letters: Job) -> Report:
    return Report(shop, items, letters, DAY)


@pytest.fixture(scope="module")
def both(report: Report) -> Pages:
    return report_pages(report)


@pytest.fixture(scope="module")
def pdf(shop: Shop, both: Pages, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("summary") / "summary.pdf"
    path.write_bytes(to_pdf(shop, "summary.typ", both.fields, "a4"))
    return path


def flat(text: str) -> str:
    """Words without their gaps: a line may break anywhere."""
    return "".join(text.split())


def cards(report: Report) -> dict[str, Any]:
    return {card.question: card for card in answers(report)}


def test_a_partners_questions_are_answered_in_order(report: Report) -> None:
    questions = [card.question for card in answers(report)]
    asked = ("hour", "charge", "second colour", "break even", "runs out", "sure", "last time")
    assert len(questions) == len(asked)
    for word, question in zip(asked, questions, strict=True):
        assert word in question


def test_answers_are_the_librarys_figures(shop: Shop, report: Report, letters: Job) -> None:
    words, told = Words(shop), cards(report)
    one, two = cost(shop, letters, finish="single"), cost(shop, letters)
    price, plain = quote(shop, letters).net, quote(shop, letters, finish="single").net
    rates = shop.hour_rates
    assert told["What must an hour bring?"].figure == words.money(rates["owner"] + rates["overhead"])
    assert told["What do we charge?"].figure == words.money(price, cents=False)
    assert told["What does the second colour add, and why?"].figure == f"+ {words.money(price - plain, cents=False)}"
    assert told["Where do we break even?"].figure == words.money(float(two.total), cents=False)
    assert (
        words.money(float(two.total) - float(one.total)) in told["What does the second colour add, and why?"].lines[0]
    )
    assert "owner" in told["What runs out first?"].figure


def test_every_form_shows_the_same_answers(report: Report, both: Pages, pdf: Path) -> None:
    first = flat(page_texts(pdf)[0])
    page = flat(unescape(re.sub(r"<[^>]+>", " ", both[0].split('<div class="cards">')[1].split("<nav")[0])))
    for card in answers(report):
        for text in (card.question, card.figure, *card.lines):
            assert flat(text) in first, text  # all of it on the first page
            assert flat(text) in page, text


def test_every_assumption_stands_in_it_with_source_and_kind(report: Report, shop: Shop, both: Pages) -> None:
    rows = dict(assumption_rows(report))
    assert sum(map(len, rows.values())) == len(shop.uncertain)
    assert len(rows["guess"]) == sum(row.kind == "guess" for row in shop.uncertain.values())
    for row in shop.uncertain.values():
        assert any(row.source.title in told.source and row.read_on in told.source for told in rows[row.kind])
    swings = [report.sides.fancy.swings()[n] for n in range(3)]
    biggest = max(swings, key=lambda one: abs(one[2] - one[1]))
    assert rows["guess"][0].moves == Words(shop).money(abs(biggest[2] - biggest[1]))
    page = unescape(both.html)
    for source in {fact.source.title for fact in facts().values() if not fact.name.startswith(("drawing.", "ledger."))}:
        assert source in page
    own = dict(own_numbers(report))
    assert set(own) == {"Owner", "Helper", "Bills", "Energy", "Prices", "Machines", "Powders"}
    assert ("Rent", "€13,800/year") in own["Bills"]


def test_the_page_holds_all_it_needs_and_little_more(both: Pages) -> None:
    page = both[0]
    assert len(page.encode()) < 3_000_000
    assert "default-src 'none'" in unescape(page)
    outside = re.sub(r"<script.*?</script>|<style>.*?</style>", "", page, flags=re.DOTALL)
    assert not re.search(r"(?:src|href)=[\"'](?!data:|#)", outside)
    styles = "".join(re.findall(r"<style>(.*?)</style>", page, flags=re.DOTALL))
    assert "url(" not in styles
    assert "@import" not in styles


def test_charts_hold_their_rows_and_the_two_parameters(report: Report, both: Pages) -> None:
    specs = {
        key: json.loads(text)
        for key, text in re.findall(
            r'<script type="application/json" id="spec-(\w+)">(.*?)</script>', both[0], flags=re.DOTALL
        )
    }
    assert set(specs) == {one.key for one in figures_of(report)} | {"live"}
    for key, spec in specs.items():
        assert any(spec["datasets"].values()), key
        assert "http" not in re.sub(r'"\$schema": "[^"]+"', "", json.dumps(spec)), key
    params = {one["name"]: one for one in specs["live"]["params"]}
    assert params["asked"]["bind"]["input"] == "range"
    assert params["finish"]["bind"]["input"] == "radio"


def test_the_live_chart_has_every_finish_with_its_cost(report: Report, shop: Shop, letters: Job) -> None:
    data = live_price(report).spec["datasets"]
    told = {row["finish"]: row for row in data["facts"]}
    for choice in choices_of(shop, letters):
        sheet = cost(shop, letters.model_copy(update={"powders": choice.powders}), finish=choice.key)
        row = told[sheet.finish.title]
        assert row["cost"] == pytest.approx(float(sheet.total), abs=1e-3)
        asked = letters.model_copy(update={"powders": choice.powders})
        assert row["printed"] == quote(shop, asked, finish=choice.key).net
        assert sum(row[kind] for kind in ("cash", "labour", "machines", "overhead")) == pytest.approx(
            row["cost"], abs=3e-3
        )
    assert [row["finish"] for row in data["facts"] if row["chosen"]] == [shop.finishes[letters.finish].title]
    mine = [row for row in data["curve"] if row["finish"] == shop.finishes[letters.finish].title]
    chances = np.array([row["chance"] for row in mine])
    assert (np.diff(chances) <= 0).all()
    assert chances[0] > 0.99
    assert chances[-1] < 0.01


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_answers_fit_one_page_and_nothing_is_cut(
    shop: Shop, both: Pages, paper: pages.Paper, tmp_path: Path
) -> None:
    path = tmp_path / "s.pdf"
    path.write_bytes(to_pdf(shop, "summary.typ", both.fields, paper))
    texts = page_texts(path)
    assert "What changed since last time?" in texts[0]
    assert "In pictures" in texts[1]
    assert "What one piece costs, by batch" in texts[1]  # four rows of charts
    assert "Usual cautions of these steps" in texts[2]
    assert all(f"Page {n} of {len(texts)}" in text for n, text in enumerate(texts, 1))
    for page in texts:
        if "lowest – likely – highest" not in page and re.search(r"\d+ – \d+ – \d+", page):
            raise AssertionError("a table goes on without its head")
    for x, y, width, height in text_places(path):
        assert 30 <= x <= width - 30, (x, y)
        assert 15 <= y <= height - 15, (x, y)


def alternatives(node: Any) -> list[str]:
    """Words that stand for pictures, in reading order."""
    node = node.get_object()
    if isinstance(node, list):
        return [text for child in node for text in alternatives(child)]
    if not isinstance(node, dict):
        return []
    here = [str(node["/Alt"])] if "/Alt" in node else []
    return here + (alternatives(node["/K"]) if "/K" in node else [])


@pytest.mark.slow
def test_charts_are_vectors_and_the_file_is_tagged_and_archivable(report: Report, pdf: Path) -> None:
    reader = PdfReader(pdf)
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "<pdfaid:part>3" in metadata(pdf)
    assert "<pdfuaid:part>1" in metadata(pdf)
    pictures = [image for page in reader.pages for image in page.images]
    assert not pictures  # no bitmap anywhere
    alts = alternatives(root["/StructTreeRoot"])
    assert pdf.stat().st_size < 1_000_000
    assert alts == [f"{one.title}. {one.spec['description']}" for one in figures_of(report)]
    assert "owner'shour" in flat(page_texts(pdf)[1])  # words of a chart are text


@pytest.mark.slow
def test_names_are_escaped(shop: Shop, items: dict[str, Item], letters: Job) -> None:
    nasty = letters.model_copy(update={"title": "</script><script>alert(1)</script>"})
    renamed = replace(shop, front=shop.front.model_copy(update={"name": "<img src=x onerror=alert(2)>"}))
    page, fields = report_pages(Report(renamed, items, nasty, DAY))
    assert "<script>alert(1)" not in page
    assert "<img src=x" not in page
    assert "alert(1)" in fields["intro"]  # in a PDF it is text
    assert page.count("<script") == 1 + page.count('<script type="application/json"') + _in_bundle(page)


def _in_bundle(page: str) -> int:
    """Opening tags that the chart library writes of as text."""
    return page.rsplit("<script>", 1)[-1].count("<script")


def test_what_changed_is_told_the_largest_first(
    shop: Shop, items: dict[str, Item], letters: Job, report: Report
) -> None:
    rates = dict(shop.rates)
    for key, by in (("wipe.line_m.hands", 1.5), ("blast.m2.hands", 1.1)):
        row = rates[key]
        rates[key] = replace(row, low=row.low * by, likely=row.likely * by, high=row.high * by)
    dearer = Report(with_policy(replace(shop, rates=rates), minimum_charge=70.0), items, letters, DAY, report.snapshot)
    told = list(changes(dearer.shop, report.snapshot, dearer.snapshot))
    assert told[0].startswith("The full cost of this job")
    wipe = next(n for n, line in enumerate(told) if line.startswith("Wipe the line clean"))
    blast = next(n for n, line in enumerate(told) if line.startswith("Blast: minutes per m²"))
    assert wipe < blast
    assert "2.5 min/m → 3.75 min/m" in told[wipe]
    assert any(line.startswith("Prices of the list") and " up" in line for line in told)
    assert not list(changes(shop, report.snapshot, report.snapshot))
    other = report.snapshot.model_copy(update={"currency": "USD"})
    assert list(changes(shop, other, report.snapshot)) == ["The shop counts in EUR now; before it was USD."]


def test_kept_figures_are_read_back_and_bad_ones_refused(report: Report, tmp_path: Path) -> None:
    path = tmp_path / "f.json"
    path.write_text(snapshot_text(report.snapshot), "utf-8")
    assert read_snapshot(path) == report.snapshot
    for text in ("{}", "[1]", "not json", '{"day": 1, "numbers": {"a": "x"}}'):
        path.write_text(text, "utf-8")
        with pytest.raises(BadInput, match="figures of a summary"):
            read_snapshot(path)


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.slow
def test_two_summaries_stand_side_by_side_and_the_second_knows_the_first(own: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    words = ("report", "--shop", str(own), "--out", str(out), "--format", "html", "--day", "2026-11-25")
    run(*words)
    assert {path.name for path in out.iterdir()} == {
        "partner summary 2026-11-25.html",
        "partner summary 2026-11-25.json",
    }
    assert "first summary" in (out / "partner summary 2026-11-25.html").read_text("utf-8")
    text = (own / "rates.csv").read_text("utf-8")
    line = next(line for line in text.splitlines() if line.startswith("wipe,line_m,hands"))
    (own / "rates.csv").write_text(text.replace(line, line.replace(",2.2,", ",2.9,")), "utf-8")
    run(*words)
    second = (out / "partner summary 2026-11-25 (2).html").read_text("utf-8")
    assert "Since 25 November 2026:" in second
    assert "2.5 min/m → 2.97 min/m" in second
    run(*words, "--since", str(out / "partner summary 2026-11-25 (2).json"))
    assert "All figures are as on 25 November 2026." in (out / "partner summary 2026-11-25 (3).html").read_text("utf-8")
    (out / "partner summary 2026-11-25 (3).json").write_text("spoiled", "utf-8")
    assert figures_before(out) is None
    bad = CliRunner().invoke(main, [*words, "--since", str(out / "partner summary 2026-11-25 (3).json")])
    assert bad.exit_code == 2


@pytest.mark.slow
def test_the_command_writes_both_papers_and_tells_of_each_piece_of_work(report: Report, tmp_path: Path) -> None:
    steps: list[int] = []
    done = write_report(report, tmp_path, formats=("pdf",), papers=("a4", "letter"), step=steps.append)
    assert sum(steps) == 5
    assert [path.name.split("25")[1] for path in done.paths] == ["-a4.pdf", "-letter.pdf", ".json"]
    assert {round(float(PdfReader(path).pages[0].mediabox.height)) for path in done.paths[:2]} == {842, 792}


def test_without_a_week_a_helper_or_a_list_it_still_answers(
    shop: Shop, items: dict[str, Item], letters: Job, own: Path
) -> None:
    (own / "week.csv").unlink()
    alone = replace(open_shop(own), helper=None)
    lone = Report(alone, items, letters, DAY)
    told = cards(lone)
    assert "not said yet" in told["What runs out first?"].lines[0]
    assert not any("helper" in line for line in told["What must an hour bring?"].lines)
    assert {"week", "month"}.isdisjoint(one.key for one in figures_of(lone))
    page, fields = report_pages(lone, printed=False)
    assert "What must an hour bring?" in page
    assert "What a bank asks" not in page
    assert fields == {}


@pytest.mark.slow
def test_a_us_shop_reads_feet_and_dollars(own: Path, items: dict[str, Item], letters: Job) -> None:
    for name in ("shop.toml", "rates.csv", "assumptions.csv", "powders.csv"):
        text = (
            (own / name).read_text("utf-8").replace("EUR", "USD").replace('"metric"', '"us"').replace("en_IE", "en_US")
        )
        (own / name).write_text(text, "utf-8")
    us = open_shop(own)
    page, _ = report_pages(Report(us, items, letters, DAY), printed=False)
    assert "$" in page
    assert "€" not in page
    assert "one more foot of line costs $" in page
    assert "minutes per foot of line" in page
    assert "minutes per metre" not in page
    assert "0.366 – 0.671 – 1.52 min/ft" in page  # 1.2, 2.2 and 5 min/m
    assert "min/ft" in page


def test_masked_jobs_and_prices_with_tax_are_told_too(shop: Shop, items: dict[str, Item], letters: Job) -> None:
    masked = letters.model_copy(update={"finish": "two_tone_masked"})
    taxed = with_policy(shop, prices_include_tax=True)
    told = cards(Report(taxed, items, masked, DAY))
    assert told["Where do we break even?"].lines[0].startswith("Taping")


def test_the_job_that_is_shown_is_two_tone_and_may_be_priced(
    shop: Shop, items: dict[str, Item], letters: Job, plates: Job
) -> None:
    plain = plates.model_copy(update={"finish": "single"})
    closed = with_part(plates, closed_volume=True, quantity=50)
    assert job_to_show(shop, items, [plain, closed, letters]) is letters
    from_list = job_to_show(shop, items, [plain])
    assert shop.finishes[from_list.finish].line != "none"
    only = replace(shop, finishes={"single": shop.finishes["single"]})
    with pytest.raises(BadInput, match="in two colours"):
        job_to_show(only, {}, [plain])


def test_a_failed_write_leaves_the_old_summary_whole(
    report: Report, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_all(tmp_path, "partner summary 2026-11-25", {".html": "old", ".json": "{}"})

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        write_report(report, tmp_path, formats=("html",), replace=True)
    assert (tmp_path / "partner summary 2026-11-25.html").read_text("utf-8") == "old"
    assert len(list(tmp_path.iterdir())) == 2


def test_a_formula_is_one_row_and_gives_the_figure_of_its_source() -> None:
    """EN 1993-1-2 clause 3.4.1.2 for carbon steel gives 440 J/kg/K at 20 °C and 760 at 600 °C (from memory)."""
    rows = {row.what: row for row in constants("metric")}
    told = rows["Steel, specific heat"].value
    assert told == "425 (410 to 440) + 0.773 T − 0.00169 T² + 2.22 × 10⁻⁶ T³ J/kg/K; T in °C, up to 600 °C"
    text = told.split(" J/kg/K")[0].replace(" (410 to 440)", "").replace("−", "-").replace(" × 10⁻⁶", "e-6")
    for power, by in ((3, "T³"), (2, "T²"), (1, "T")):
        text = text.replace(f" {by}", f"*T**{power}")
    terms = re.findall(r"([+-]?) ?(\d[\d.]*(?:e-\d+)?)(?:\*T\*\*(\d))?", text)
    for at, wanted in ((20.0, 440.0), (600.0, 760.0)):
        total = sum((-1 if sign == "-" else 1) * float(c) * at ** int(power or 0) for sign, c, power in terms)
        assert total == pytest.approx(wanted, rel=2e-3)


def test_every_constant_of_a_price_stands_in_it_once_in_the_shops_units() -> None:
    metric, us = ({row.what: row for row in constants(units)} for units in ("metric", "us"))
    assert metric.keys() == us.keys()
    apart = [fact for fact in facts().values() if not fact.name.startswith(("drawing.", "ledger.", "fit.", "photo."))]
    formulas = [fact.name.removesuffix("c0") for fact in apart if fact.name.endswith(".c0")]
    alone = [fact for fact in apart if not fact.name.startswith(tuple(formulas))]
    assert len(metric) == len(alone) + len(formulas)
    assert metric["Hanging, hook"].value == "100 (50 to 200) mm"
    assert us["Hanging, hook"].value == "3.937 (1.969 to 7.874) in"
    assert us["Hanging, clearance"].value.endswith(" in")
    assert us["Cure, metal"].value == "374 (320 to 392) °F"
    assert all(row.source.split(":")[0] in {"guess", "published", "measured"} for row in metric.values())


@pytest.mark.slow
def test_a_long_list_is_cut_into_charts_that_fit_a_page(
    shop: Shop, items: dict[str, Item], letters: Job, tmp_path: Path
) -> None:
    many = {
        f"{key}{n or ''}": item.model_copy(update={"key": f"{key}{n or ''}", "title": f"{n}: {item.title[:16]}"})
        for n in range(6)
        for key, item in items.items()
    }
    long = Report(shop, many, letters, DAY)
    charts = [one for one in figures_of(long) if one.title.startswith("The margin of every price")]
    shown = [dict.fromkeys(dot["title"] for dot in one.spec["datasets"]["dots"]) for one in charts]
    assert [title for part in shown for title in part] == [item.title for item in many.values()]
    assert len({one.key for one in figures_of(long)}) == len(figures_of(long))
    path = tmp_path / "long.pdf"
    path.write_bytes(to_pdf(shop, "summary.typ", report_pages(long).fields, "letter"))
    texts = [flat(text) for text in page_texts(path)]
    for part in shown:
        assert any(all(flat(title) in text for title in part) for text in texts)  # each chart whole on one page


def test_the_advice_and_the_banks_table_stand_in_every_form(report: Report, both: Pages, pdf: Path) -> None:
    first, page = flat(page_texts(pdf)[0]), flat(unescape(re.sub(r"<[^>]+>", " ", both.html)))
    rows = bank_rows(report)
    assert len(rows) == 8
    for text in (should(report), *(text for row in rows for text in row)):
        assert flat(text) in first, text
        assert flat(text) in page, text
    third = flat(page_texts(pdf)[2])
    for text in (*(text for row in choice_rows(report) for text in row), *both.fields["advice"]):
        assert flat(text) in third, text
        assert flat(text) in page, text
    assert any("Raise the list by" in text or "Keep the list" in text for text in both.fields["advice"])
    words, bank = Words(report.shop), report.bank
    assert bank is not None
    told = {row.what: row.figure for row in rows}
    assert told["With 20% less work: a month leaves"] == words.money(bank.left_less, cents=False)
    assert told["Payback of the machines"] == f"{bank.payback_y(bank.left):.1f} years"
    assert told["Cash tied up besides the machines"] == words.money(bank.tied_up, cents=False)


def test_a_shop_that_does_not_pay_says_so(own: Path, items: dict[str, Item], letters: Job) -> None:
    (own / "week.csv").write_text(
        "item,column,orders_per_week,units_per_order,note\ngate_single,single,0.1,1,\n", "utf-8"
    )
    poor = Report(open_shop(own), items, letters, DAY)
    told = {row.what: row for row in bank_rows(poor)}
    assert told["Payback of the machines"].figure == "never"
    assert told["Work that may fall away"].figure == "none"
    assert "find more work or spend less" in should(poor)


def test_the_advice_is_one_sentence_that_follows_from_the_figures(
    shop: Shop, items: dict[str, Item], letters: Job, own: Path, report: Report
) -> None:
    told = should(report)
    assert told.startswith("So we should charge ")
    assert told.count(". ") == 0
    assert Words(shop).money(report.sides.price, cents=False) in told
    assert "hours of the owner run out" in told
    assert "raise" not in told
    low = OwnPrice(60.0, 50.0, 50.0)
    save_own_prices(own, {("bench_end", "single"): low, ("wheel_set", "two_tone"): low}, Tongue("EUR"))
    cheap = Report(open_shop(own), items, letters, DAY)
    assert "raise the 2 prices of the list that leave less than 25%" in should(cheap)


def test_every_chart_is_drawn_on_paper_with_all_its_words(report: Report, pdf: Path) -> None:
    text = flat("".join(page_texts(pdf)))
    for one in figures_of(report):
        for layer in one.spec.get("layer", [one.spec]):
            rows, how = one.spec["datasets"][layer["data"]["name"]], layer["encoding"]
            kind = layer["mark"] if isinstance(layer["mark"], str) else layer["mark"]["type"]
            wanted = [row[how["text"]["field"]] for row in rows] if kind == "text" else []
            wanted += [how[axis]["title"] for axis in ("x", "y") if how.get(axis, {}).get("title")]
            for word in wanted:
                assert flat(word) in text, (one.key, word)


def test_a_chart_that_paper_cannot_draw_is_not_passed_over(shop: Shop, both: Pages) -> None:
    fields: dict[str, Any] = json.loads(json.dumps(plain(both.fields)))
    one = fields["figures"][0]["spec"]
    one["layer"][0]["mark"] = {"type": "arc"}
    with pytest.raises(BadInput, match="a mark that paper does not know"):
        to_pdf(shop, "summary.typ", fields, "a4")


def test_kept_descriptions_are_what_altair_makes(
    report: Report, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    fresh = described("show.charts_job", "cost_of_two_sides", "EUR")
    again = described("show.charts_job", "cost_of_two_sides", "EUR")
    assert fresh == again == json.loads(json.dumps(cost_of_two_sides("EUR")))
    assert described("show.charts_job", "cost_of_two_sides", "USD") != fresh
    for file in tmp_path.rglob("*.json"):
        file.write_text("spoiled", "utf-8")
    assert described("show.charts_job", "cost_of_two_sides", "EUR") == fresh


@pytest.mark.slow
def test_a_summary_starts_without_the_notebooks_widgets_and_a_second_time_without_altair(
    own: Path, tmp_path: Path
) -> None:
    """Modules are counted, not seconds: what takes long to load must not be loaded."""
    script = (
        "import sys\nfrom pricing.commands.main import main\n"
        f"main(['report', 'sign_letters', '--shop', {str(own)!r}, '--out', {str(tmp_path / 'out')!r}],"
        " standalone_mode=False)\n"
        "print(sorted({'altair', 'anywidget', 'IPython', 'vl_convert', 'pandas'} & set(sys.modules)))"
    )
    env = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "cache")}
    for wanted in (None, "[]"):
        done = subprocess.run([sys.executable, "-c", script], env=env, capture_output=True, text=True, check=True)
        assert wanted in {None, done.stdout.splitlines()[-1]}


def test_a_summary_of_a_comma_country_has_commas_all_through(
    own: Path, items: dict[str, Item], letters: Job, tmp_path: Path
) -> None:
    text = (own / "shop.toml").read_text("utf-8")
    (own / "shop.toml").write_text(text.replace("en_IE", "de_DE"), "utf-8")
    shop = open_shop(own)
    found = report_pages(Report(shop, items, letters, DAY))
    (tmp_path / "s.pdf").write_bytes(to_pdf(shop, "summary.typ", found.fields, "a4"))
    pages_told = [" ".join(page.split()) for page in page_texts(tmp_path / "s.pdf")]
    for whole in pages_told[:3]:  # answers, bank and pictures; later pages name editions and clauses such as 3.4.1
        page = whole
        for item in items.values():
            page = page.replace(item.title, "")  # the owner's own words
        money = re.sub(r"\d{1,3}(\.\d{3})+(,\d+)?", "", page)
        assert not re.search(r"\d\.\d", money), re.findall(r".{20}\d\.\d.{10}", money)
        assert "25 November 2026" in page
    assert "6,64 min/m" in pages_told[0]
    assert '[",", "."]' in found.html  # the signs that live charts are drawn with
