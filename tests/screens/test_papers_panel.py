"""Words of papers on page 1: read, changed, refused where they could not be filled in, printed."""

from datetime import date
from pathlib import Path

from pricing.papers.own_words import TEMPLATES, demo_template
from pricing.screens.panel_papers import PapersPanel
from pricing.shop.folder import demo_folder
from pricing.show.desk import Desk


def test_every_template_has_its_words() -> None:
    assert set(TEMPLATES) == {path.name for path in (demo_folder() / "templates").iterdir()}


def test_words_are_saved_and_what_cannot_be_filled_in_is_not(own: Path) -> None:
    panel = PapersPanel(Desk(own, read_only=False))
    at = own / "templates" / "quote_terms.txt"
    before = at.read_text("utf-8")
    for text, why in (("{% if deposit %} open", "endif"), ("Valid {{ valid_till }}", "valid_until")):
        panel.form.put("text", text)
        panel.form.put("save", True)
        assert why in panel.form.state["said"]["text"]
        assert at.read_text("utf-8") == before
    panel.form.put("text", "# Terms\n\nPay when you fetch it. Valid until {{ valid_until }}.")
    panel.form.put("save", True)
    assert at.read_text("utf-8").startswith("# Terms\n\nPay when you fetch it.")
    assert (own / ".copies" / date.today().isoformat() / "templates" / at.name).read_text("utf-8") == before  # noqa: DTZ011
    panel.form.put("demo", True)
    panel.form.put("save", True)
    assert at.read_text("utf-8") == demo_template(at.name).read_text("utf-8")


def test_the_demo_is_only_shown() -> None:
    panel = PapersPanel(Desk(demo_folder()))
    panel.form.put("which", "terms.txt")
    before = demo_template("terms.txt").read_text("utf-8")
    panel.form.put("text", "Nothing.")
    panel.form.put("save", True)
    assert "nothing is kept" in panel.form.state["said"]["text"]
    assert demo_template("terms.txt").read_text("utf-8") == before
