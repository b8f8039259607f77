"""Page 2 from a phone's picture and from a drawing, in a real browser: outlines clicked, edges marked, corners dragged."""

from pathlib import Path

from playwright.sync_api import expect

from tests.browser.conftest import Opener
from tests.browser.driven import Visit, says


def number(visit: Visit, key: str) -> float:
    return float(visit.field(key).input_value().split()[0])


def tool(visit: Visit, name: str) -> None:
    visit.page.locator(f'.pp-drawn [data-tool="{name}"]').click()


def changed(visit: Visit, key: str, before: str) -> None:
    visit.page.wait_for_function(
        '([key, before]) => document.querySelector(`.pp-form [data-key="${key}"]`).value !== before', arg=[key, before]
    )


def click_edge(visit: Visit, outline: int, at: int) -> None:
    """Click the middle of an edge, as the owner's hand does."""
    edge = visit.page.locator(f'.pp-drawn .hit[data-outline="{outline}"][data-at="{at}"]')
    x, y = edge.evaluate(
        """path => {
            const middle = path.getPointAtLength(path.getTotalLength() / 2).matrixTransform(path.getScreenCTM());
            return [middle.x, middle.y];
        }"""
    )
    visit.page.mouse.click(x, y)


def drag_first_corner(visit: Visit, right: float, down: float) -> None:
    at = visit.page.locator(".pp-drawn .knob").first.bounding_box()
    assert at
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    visit.page.mouse.move(x, y)
    visit.page.mouse.down()
    visit.page.mouse.move(x + right, y + down, steps=4)
    visit.page.mouse.up()


def test_a_part_comes_from_its_picture_and_is_marked(in_lab: Opener, pictures: Path) -> None:
    visit = in_lab("2_one_job")
    visit.field("begun").select_option("photo:shelf_bracket.jpg")
    visit.page.wait_for_selector(".pp-drawn image")
    says(visit.page.locator('[data-note="drawn.said"]'), "Nine in ten")
    says(visit.block("answers"), "Price")
    visit.heard()
    assert abs(number(visit, "edge_m") / 2.337 - 1) < 0.02
    visit.keep(pictures, "2_one_job-picture")

    tool(visit, "size")
    visit.keep(pictures, "2_one_job-picture-large")
    before = visit.field("edge_m").input_value()
    visit.page.locator('.pp-drawn .hit[data-outline="5"]').first.click(force=True)
    changed(visit, "edge_m", before)
    less = visit.field("edge_m").input_value()
    assert number(visit, "edge_m") < float(before.split()[0])

    tool(visit, "seen")
    expect(visit.page.locator(".pp-drawn .line.unseen")).to_have_count(0)
    click_edge(visit, 1, 0)
    changed(visit, "edge_m", less)
    expect(visit.page.locator(".pp-drawn .line.unseen")).to_have_count(1)

    spots = visit.page.locator(".pp-drawn .spot").count()
    tool(visit, "nook")
    box = visit.page.locator(".pp-drawn svg").bounding_box()
    assert box
    visit.page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    expect(visit.page.locator(".pp-drawn .spot")).to_have_count(spots + 1)

    tool(visit, "corner")
    area = visit.field("area_m2").input_value()
    drag_first_corner(visit, -25, -25)
    changed(visit, "area_m2", area)
    visit.keep(pictures, "2_one_job-picture-marked")

    tool(visit, "nook")  # and all of it without a pointer
    keys = visit.page.keyboard
    for _ in range(9):
        if visit.page.evaluate("document.activeElement.dataset.tool") == "svg":
            break
        keys.press("Tab")
    keys.press("Shift+ArrowLeft")
    keys.press("Enter")
    expect(visit.page.locator(".pp-drawn .spot")).to_have_count(spots + 2)
    assert visit.page.evaluate("document.activeElement.dataset.tool") == "svg"
    visit.page.keyboard.press("Escape")
    expect(visit.page.locator(".pp-drawn.large")).to_have_count(0)
    assert not visit.errors
    assert not visit.asked


def test_edges_of_a_drawing_are_marked_and_a_corner_of_it_is_dragged(in_lab: Opener, pictures: Path) -> None:
    visit = in_lab("2_one_job")
    visit.field("begun").select_option("drawing:sign_letter_p.dxf")
    visit.heard()
    expect(visit.page.locator(".pp-drawn image")).to_have_count(0)
    expect(visit.page.locator('.pp-drawn [data-tool="corner"]')).to_be_visible()
    tool(visit, "size")
    before = visit.field("line_m").input_value()
    tool(visit, "seen")
    click_edge(visit, 1, 0)
    changed(visit, "line_m", before)
    assert number(visit, "line_m") < float(before.split()[0])
    expect(visit.page.locator(".pp-drawn .line.unseen")).to_have_count(1)
    visit.keep(pictures, "2_one_job-drawing-marked")
    click_edge(visit, 1, 0)
    expect(visit.field("line_m")).to_have_value(before)
    tool(visit, "corner")
    area = visit.field("area_m2").input_value()
    drag_first_corner(visit, -20, 20)
    changed(visit, "area_m2", area)
    visit.keep(pictures, "2_one_job-drawing-corner")
    visit.page.keyboard.press("Escape")
    assert not visit.errors
    assert not visit.asked
