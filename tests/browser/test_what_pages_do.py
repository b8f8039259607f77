"""What an owner does on each page, in JupyterLab: move, mistype, edit, save, ask why."""

from pathlib import Path

from playwright.sync_api import expect

from pricing.screens import on_bench
from pricing.shop.folder import open_shop
from tests.browser.conftest import Opener
from tests.browser.driven import Visit, says

WIPE = "wipe.line_m.hands"


def _with_a_bare_bench(in_lab: Opener, name: str, shop_folder: Path) -> Visit:
    """Open a page anew on the job that a fresh folder has, whatever other pages have put on the bench."""
    (shop_folder / on_bench.BENCH_FILE).unlink(missing_ok=True)
    return in_lab(name, again=True)


def test_a_rate_is_refused_then_changed_undone_saved_and_read_back(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("1_my_shop")
    cell = visit.cell(WIPE, "high")
    message = visit.page.locator(f'tr[data-row="{WIPE}"] td[data-column="high"] .pp-msg')
    cell.fill("fast")
    cell.press("Tab")
    says(message, "'fast' is no number. Write it like 5 min/m.")
    assert cell.get_attribute("aria-invalid") == "true"
    cell.fill("7")
    cell.press("Tab")
    says(visit.page.locator(".pp-bar .state"), "kept until you save: 1 rate")
    visit.press("undo")
    expect(cell).to_have_value("5")
    cell.fill("7.5 min/m")
    cell.press("Enter")
    says(visit.page.locator(".pp-bar .state"), "1 rate")
    visit.press("save")
    says(visit.page.locator(".pp-bar .state"), "Saved: rates.csv")
    assert open_shop(shop_folder).rates[WIPE].high == 7.5
    cell.fill("5")
    cell.press("Tab")
    visit.page.wait_for_function("() => !document.querySelector('.pp-bar [data-key=save]').disabled")
    visit.press("save")
    says(visit.page.locator(".pp-bar .state"), "Saved: rates.csv")
    assert visit.errors == []


def test_the_owners_pay_moves_the_hour_and_its_chart(in_lab: Opener) -> None:
    visit = in_lab("1_my_shop")
    before = visit.marks("hours")
    field = visit.field("owner.draw_per_y")
    field.fill("48000 km")
    field.press("Tab")
    says(visit.message("owner.draw_per_y"), "Write it like 36000 EUR/year.")
    field.fill("€4,000 a month")
    field.press("Tab")
    expect(field).to_have_value("48000 EUR/year")
    visit.until_changed("hours", before)
    visit.press("undo")
    expect(field).to_have_value("36000 EUR/year")


def test_what_can_be_meant_in_two_ways_is_asked_and_a_click_answers(in_lab: Opener, pictures: Path) -> None:
    """``10.800`` in a field and in a cell, a share of ``0.5``, and a rent ten times off."""
    visit = in_lab("1_my_shop")
    field, message = visit.field("owner.draw_per_y"), visit.message("owner.draw_per_y")
    answers = visit.page.locator('[data-field="owner.draw_per_y"] .pp-ask button')
    field.fill("30.500")
    says(message, "'30.500' can be read in two ways.")
    expect(answers).to_have_text(["30.5 EUR/year", "30,500 EUR/year"])
    visit.keep(pictures, "1_my_shop-asked")
    answers.nth(1).click()
    expect(field).to_have_value("30500 EUR/year")
    expect(answers).to_have_count(0)
    expect(message).to_have_text("")
    expect(field).to_be_focused()
    interest = visit.field("policy.interest")
    interest.fill("0.5")
    interest.press("Tab")
    visit.page.locator('[data-field="policy.interest"] .pp-ask button', has_text="0.5 %").last.click()
    expect(interest).to_have_value("0.5 %")
    visit.page.locator('[data-tab="bills"]').click()
    row = visit.page.locator('tr[data-row="rent"]')
    cell = row.locator('td[data-column="cost_per_y"]')
    cell.locator("input").fill("1150")
    cell.locator("input").press("Enter")
    says(cell.locator(".pp-msg"), "That is 1/12 of what stood there, 13,800 EUR/year.")
    visit.keep(pictures, "1_my_shop-asked-in-a-cell")
    cell.locator(".pp-ask button", has_text="EUR/month").click()
    expect(cell.locator("input")).to_have_value("13800")
    expect(cell.locator(".pp-ask")).to_have_count(0)
    visit.page.locator('[data-tab="rates"]').click()
    for _ in range(2):
        visit.press("undo")
    expect(field).to_have_value("36000 EUR/year")
    assert visit.errors == []


def test_tabs_turn_by_the_arrow_keys(in_lab: Opener) -> None:
    page = in_lab("1_my_shop").page
    page.locator('[data-tab="rates"]').focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator('[data-tab="assumptions"]')).to_have_attribute("aria-selected", "true")
    expect(page.locator('tr[data-row="oven.fill"]')).to_be_visible()
    page.locator('[data-tab="rates"]').click()
    expect(page.locator(f'tr[data-row="{WIPE}"]')).to_have_count(1)


def test_a_job_is_moved_mistyped_and_saved(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("2_one_job")
    price = visit.block("answers").locator(".pp-tile.main .big")
    old, before = price.inner_text(), visit.marks("margin")
    visit.slide(WIPE, 30)
    visit.until_changed("margin", before)
    expect(price).not_to_have_text(old)
    area = visit.field("area_m2")
    area.fill("-2 m2")
    says(visit.message("area_m2"), "Must be above 0 m².")
    area.fill("0.2 m2")
    area.press("Tab")
    expect(visit.message("area_m2")).to_have_text("")
    visit.heard()
    expect(area).to_have_value("0.2 m²")
    visit.press("save")
    says(visit.page.locator('[data-note="said"]'), "Saved as jobs/")
    saved = list((shop_folder / "jobs").glob("bakery*.toml"))
    assert len(saved) == 1
    assert 'area = "0.2 m**2"' in saved[0].read_text("utf-8")
    saved[0].unlink()
    assert visit.errors == []


def test_by_keys_alone_a_job_is_made_priced_and_saved_and_a_number_asked_why(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("2_one_job")
    page, keys = visit.page, visit.page.keyboard

    def reach(attribute: str, wanted: str) -> None:
        for _ in range(200):
            if page.evaluate("name => document.activeElement.dataset[name]", attribute) == wanted:
                return
            keys.press("Tab")
        raise AssertionError(wanted)

    def write(key: str, text: str) -> None:
        reach("key", key)
        keys.press("Control+a")
        keys.type(text)
        keys.press("Tab")

    page.locator(".pp-bar a").first.focus()
    reach("key", "begun")
    keys.type("Alloy")  # a list is chosen from by the first letters
    says(visit.block("answers"), "Price")
    expect(visit.field("begun")).to_have_value("item:wheel_set")
    write("quantity", "3")
    write("asked", "900 EUR")
    visit.heard()
    expect(visit.field("asked")).to_have_value("900 EUR")
    reach("key", "save")
    keys.press("Enter")
    says(page.locator('[data-note="said"]'), "Saved as jobs/alloy")  # not what was saved before
    (saved,) = (shop_folder / "jobs").glob("alloy*.toml")
    assert "quantity = 3" in saved.read_text("utf-8")
    saved.unlink()
    page.locator(".pp-bar a").first.focus()
    reach("why", "hour")
    keys.press("Enter")
    for told in ("costs €", "must bring €", "brings €"):  # the hours of the page, each by its one name
        says(page.locator(".pp-why"), told)
    keys.press("Escape")
    expect(page.locator(".pp-why")).to_have_count(0)
    assert visit.errors == []


def test_what_is_typed_while_another_job_is_laid_is_heard(in_lab: Opener, shop_folder: Path) -> None:
    """The kernel lays other fields while the owner already types: neither the text nor its place is lost."""
    visit = _with_a_bare_bench(in_lab, "2_one_job", shop_folder)
    many = visit.field("quantity").get_attribute("id")
    typed = visit.page.evaluate("""() => {
        const at = (key) => document.querySelector(`.pp-form [data-key="${key}"]`);
        const write = (key, text, done) => {
            at(key).focus();
            at(key).value = text;
            at(key).dispatchEvent(new Event("input"));
            if (done) at(key).dispatchEvent(new Event("change"));
        };
        at("begun").value = "item:wheel_set";
        at("begun").dispatchEvent(new Event("change"));
        write("quantity", "3", false);
        write("asked", "900", false);
        return at("asked").id;
    }""")
    expect(visit.field("area_m2")).not_to_have_value("0.126 m²")
    expect(visit.field("begun")).to_have_value("item:wheel_set")
    expect(visit.field("asked")).to_have_value("900")
    expect(visit.field("asked")).to_be_focused()
    visit.page.keyboard.type(" EUR")
    visit.page.keyboard.press("Tab")
    expect(visit.field("asked")).to_have_value("900 EUR")
    expect(visit.field("quantity")).to_have_value("3")
    expect(visit.page.locator('[data-field="quantity"] label')).to_have_text("How many sets of 4")
    assert visit.field("quantity").get_attribute("id") == many  # the field is the same by another name
    says(visit.block("answers"), "loses money")  # at 900; at the list's price it does not
    assert visit.field("asked").get_attribute("id") == typed
    assert visit.errors == []


def test_a_bar_tells_its_sum_and_its_caution(in_lab: Opener) -> None:
    visit = in_lab("2_one_job")
    bar = visit.block("steps").locator(".mark-rect path").first
    bar.hover()
    says(visit.page.locator("#vg-tooltip-element"), "min attended")
    bar.click()
    why = visit.page.locator(".pp-why")
    says(why, "together")
    says(why.locator(".caution"), "Ask for alloy")
    visit.page.keyboard.press("Escape")
    expect(why).to_have_count(0)
    chart = visit.block("steps").locator(".pp-chart")
    chart.focus()  # and by keys, from bar to bar
    visit.page.keyboard.press("ArrowDown")
    visit.page.keyboard.press("ArrowDown")
    says(visit.block("steps").locator(".heard"), "Intake and inspection: €")
    visit.page.keyboard.press("Enter")
    says(why, "Intake and inspection: €")
    visit.page.keyboard.press("Escape")
    expect(chart).to_be_focused()
    number = visit.block("answers").locator("[data-why]").first
    number.focus()
    visit.page.keyboard.press("Enter")
    says(why, "your margin would be full cost")
    visit.page.keyboard.press("Escape")
    expect(number).to_be_focused()


def test_wheels_get_no_price(in_lab: Opener, pictures: Path) -> None:
    visit = in_lab("2_one_job")
    visit.field("begun").select_option("job:wheels_three_coats")
    says(visit.block("answers"), "Do not quote")
    assert "€" not in visit.block("answers").inner_text()
    visit.keep(pictures, "2_one_job-do-not-quote")
    visit.field("begun").select_option("item:gate_single")
    says(visit.block("answers"), "Price")


def test_a_part_comes_from_its_drawing_and_an_outline_is_switched_off(in_lab: Opener, pictures: Path) -> None:
    visit = in_lab("2_one_job")
    visit.field("begun").select_option("drawing:sign_letter_p.dxf")
    visit.page.wait_for_selector(".pp-drawn svg")
    visit.heard()  # the form comes after the sketch
    expect(visit.field("drawn.sheet")).to_be_visible()
    edges = visit.field("edge_m").input_value()
    visit.page.get_by_text("Outlines that count").click()
    hole = visit.page.get_by_label("hole", exact=False).first
    visit.keep(pictures, "2_one_job-drawing")
    hole.uncheck()
    visit.page.wait_for_function(
        "before => document.querySelector('.pp-form [data-key=\"edge_m\"]').value !== before", arg=edges
    )
    assert float(visit.field("edge_m").input_value().split()[0]) < float(edges.split()[0])
    says(visit.block("answers"), "Price")
    visit.field("begun").select_option("item:gate_single")
    visit.page.wait_for_selector(".pp-drawn svg", state="detached")


def test_the_list_flags_a_price_that_loses_money_and_is_saved(
    in_lab: Opener, shop_folder: Path, pictures: Path
) -> None:
    visit = in_lab("3_price_list")
    cell = visit.cell("bench_end", "two_tone.first")
    cell.fill("cheap")
    cell.press("Tab")
    says(
        visit.page.locator('tr[data-row="bench_end"] td[data-column="two_tone.first"] .pp-msg'), "'cheap' is no number"
    )
    cell.fill("150")
    cell.press("Tab")
    visit.heard()
    row = visit.page.locator('tr[data-row="bench_end"]')
    says(row, "LOSES MONEY")
    expect(row).to_have_class("bad")
    visit.keep(pictures, "3_price_list-loses-money")
    before = visit.marks("margins")
    visit.slide("hour.owner", 12)
    visit.until_changed("margins", before)
    visit.press("save")
    says(visit.page.locator('[data-note="said"]'), "Saved: 34 rows")
    assert "bench_end,two_tone,150," in (shop_folder / "prices.csv").read_text("utf-8")
    (shop_folder / "prices.csv").unlink()
    assert visit.errors == []


def test_two_tone_answers_slower_and_dragged(in_lab: Opener, shop_folder: Path) -> None:
    visit = _with_a_bare_bench(in_lab, "4_two_tone", shop_folder)
    advice = visit.block("answers").locator(".pp-tile.main .big")
    old, before = advice.inner_text(), visit.marks("map")
    visit.slide(WIPE, 25)
    visit.until_changed("map", before)
    expect(advice).not_to_have_text(old)
    line = visit.field("line_m")
    line.fill("long")
    says(visit.message("line_m"), "'long' is no number. Write it like 2.7 m.")
    line.fill("12 ft")
    line.press("Tab")
    expect(line).to_have_value("3.658 m")
    box = visit.block("map").locator(".pp-chart").bounding_box()
    assert box
    extra = visit.field("extra")
    held = extra.input_value()
    x, y = box["x"] + 0.4 * box["width"], box["y"] + 0.3 * box["height"]
    visit.page.mouse.move(x, y)
    visit.page.mouse.down()
    visit.page.mouse.move(x + 30, y + 20, steps=6)
    visit.page.mouse.up()
    expect(extra).not_to_have_value(held)
    visit.press("advised")
    says(visit.block("sure"), "chance of loss")
    assert visit.errors == []


def test_another_page_opens_beside_this_one(in_lab: Opener) -> None:
    visit = in_lab("4_two_tone")
    visit.page.locator(".pp-bar a", has_text="1 My shop").click()
    expect(visit.page.locator(".pp-shop")).to_be_visible()


def test_break_even_moves_with_price_and_speed(in_lab: Opener, shop_folder: Path) -> None:
    visit = in_lab("5_break_even")  # beside the others, on the job that they have left on the bench
    visit.field("begun").select_option("item:bench_end")
    visit.heard()
    expect(visit.field("quantity")).to_have_value("1")
    tile = visit.block("answers").locator(".pp-tile.main .big")
    old, before = tile.inner_text(), visit.marks("batch")
    visit.slide(WIPE, 20)
    visit.until_changed("batch", before)
    expect(tile).not_to_have_text(old)
    asked = visit.field("asked")
    asked.fill("cheap")
    says(visit.message("asked"), "'cheap' is no number")
    asked.fill("1700 EUR")  # far beyond the slider's end, which follows
    asked.press("Tab")
    says(visit.block("told"), "at €1,700.00")
    expect(asked).to_have_value("1700 EUR")
    says(visit.block("batch"), "No batch size loses money")
    asked.fill("60 EUR")
    asked.press("Tab")
    says(visit.block("batch"), "Batches that lose money: 1")
    visit.field("over").select_option("powder")
    says(visit.block("gain").locator("svg"), "powder price [EUR/kg]")
    assert visit.errors == []


def test_a_partner_sees_what_a_slower_hand_does(in_lab: Opener, shop_folder: Path) -> None:
    visit = _with_a_bare_bench(in_lab, "6_for_a_partner", shop_folder)
    price = visit.block("answers").locator(".pp-tile.main .big")
    old, before = price.inner_text(), visit.marks("build")
    visit.slide(WIPE, 25)
    visit.until_changed("build", before)
    expect(price).not_to_have_text(old)
    pieces = visit.field("quantity")
    pieces.fill("none")
    says(visit.message("quantity"), "'none' is no number")
    pieces.fill("9")
    pieces.press("Tab")
    expect(visit.message("quantity")).to_have_text("")
    visit.heard()
    visit.press("back")
    expect(price).to_have_text(old)
    assert visit.errors == []
