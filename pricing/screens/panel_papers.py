"""Words of papers, a view of page 1: the templates that quotes, price lists and summaries are printed from."""

import ipywidgets as widgets

from pricing.basis.errors import BadInput
from pricing.papers.own_words import TEMPLATES, demo_template, save_template, template_text
from pricing.screens.form import Form, Plain
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field, LinesField

_FIRST = "Papers print these words. What stands in {{ }} is filled in; “# ” begins a heading, “- ” a point."


class PapersPanel:
    """The view of the papers' words.

    Parameters
    ----------
    desk : Desk
        The shop.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk, self.name = desk, next(iter(TEMPLATES))
        self.form = Form(self._entries(template_text(desk.shop, self.name)), about="Words of papers")
        self.form.add_class("pp-text")
        self.form.on_change(self._changed)
        self._say(_FIRST)
        self.widget: widgets.Widget = self.form

    def _entries(self, text: str) -> list[Field | Plain]:
        return [
            ChoiceField("which", "Which", self.name, TEMPLATES),
            LinesField("text", "Its text", text),
            Plain("button", "Save this text", "save"),
            Plain("button", "As in the demo", "demo"),
            Plain("note", "", "said"),
        ]

    def _say(self, text: str) -> None:
        self.form.tell("said", text=text)

    def _changed(self, key: str) -> None:
        try:
            if key == "which":
                self.name = self.form["which"].value
                self._put(template_text(self.desk.shop, self.name), _FIRST)
            elif key == "demo":
                self._put(demo_template(self.name).read_text("utf-8"), "As in the demo; it counts once it is saved.")
            elif key == "save":
                self._save()
        except BadInput as why:
            told = why.problems[0]
            self._say(f"{told.field} is {told.value}; it must be {told.accepts}. {told.mend}".rstrip())

    def _put(self, text: str, said: str) -> None:
        self.form["text"].value = text
        self._say(said)

    def _save(self) -> None:
        if self.desk.read_only:
            self._say("Only shown: nothing is kept.")
            return
        save_template(self.desk.folder, self.name, self.form["text"].text)
        self._say("Saved: the next paper prints it. How it was this morning is kept with the copies of the folder.")
