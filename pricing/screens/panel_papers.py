"""Words of papers, a view of page 1: the templates that quotes, price lists and summaries are printed from."""

from pricing.basis.errors import BadInput
from pricing.papers.own_words import TEMPLATES, demo_template, save_template, template_text
from pricing.screens.form import Form, Plain, first_words
from pricing.screens.panel import Panel
from pricing.show.fields import ChoiceField, Field, LinesField

_FIRST = "Papers print these words. What stands in {{ }} is filled in; “# ” begins a heading, “- ” a point."


class PapersPanel(Panel):
    """The view of the papers' words."""

    about = "Words of papers"
    chosen = next(iter(TEMPLATES))

    def _join(self) -> None:
        self._say(_FIRST)

    def _laid_out(self) -> Form:
        self.form.add_class("pp-text")
        return self.form

    def _entries(self) -> list[Field | Plain]:
        return [
            ChoiceField("which", "Which", self.chosen, TEMPLATES),
            LinesField("text", "Its text", template_text(self.desk.shop, self.chosen)),
            Plain("button", "Save this text", "save"),
            Plain("button", "As in the demo", "demo"),
            Plain("note", "", "said"),
        ]

    def _take(self, key: str) -> None:
        try:
            if key == "which":
                self.chosen = self.form["which"].value
                self._put(template_text(self.desk.shop, self.chosen), _FIRST)
            elif key == "demo":
                self._put(demo_template(self.chosen).read_text("utf-8"), "As in the demo; it counts once it is saved.")
            elif key == "save":
                self._save()
        except BadInput as why:
            self._say(first_words(why))

    def _put(self, text: str, said: str) -> None:
        self.form["text"].value = text
        self._say(said)

    def _save(self) -> None:
        if self.desk.read_only:
            self._say("Only shown: nothing is kept.")
            return
        save_template(self.desk.folder, self.chosen, self.form["text"].text)
        self._say("Saved: the next paper prints it. How it was this morning is kept with the copies of the folder.")
