"""The page before page 1, the first visit: one question after the other, and the list getting firmer."""

from typing import Any

from pricing.basis.tongue import Wrong
from pricing.prices.firmness import firmness
from pricing.prices.remembered import FEWEST, Remembered
from pricing.screens.form import Plain
from pricing.screens.other_money import KEY as MONEY
from pricing.screens.other_money import OtherMoney
from pricing.screens.panel import Page
from pricing.screens.panel_settings import changed_thing
from pricing.shop.visit import is_sold
from pricing.show import charts_shop, visit_jobs, visit_view
from pricing.show.blocks import Block
from pricing.show.fields import (
    CheckField,
    ChoiceField,
    Field,
    QuantityField,
    ShareField,
    WantedField,
    Whole,
    WordsField,
)
from pricing.show.settings import Thing, record_of

_SOLD = "sold."
_TRIED = "job."
_ANSWER = "answer."
_SIZES = (
    ("inside_width_mm", "inside width"),
    ("inside_height_mm", "inside height"),
    ("inside_depth_mm", "inside depth"),
    ("panel_mm", "wall panels"),
)
_MACHINES = (
    ("booth", "fan_kw", "Spray booth, fans", "kW"),
    ("cabinet", "nozzle_bore_mm", "Blasting, bore of the nozzle", "mm"),
    ("cabinet", "pressure_bar", "Blasting, pressure", "bar"),
    ("compressor", "motor_kw", "Compressor, motor", "kW"),
    ("tank", "batch_kg", "Strip tank, takes at once", "kg"),
)


class VisitPanel(Page):
    """The page of the first visit."""

    here, name, about, widths = "0_first_visit", "visit", "Your answers", "320px minmax(0, 1fr)"
    areas = ("answers answers", "lines lines", "question unsure", "said unsure")
    columns = "repeat(2, minmax(0, 1fr))"
    lines = "92px 96px minmax(0, 1.1fr) minmax(0, 1fr)"

    def _begin(self) -> None:
        self.found = firmness(self.desk.shop, self.desk.items)
        self.money = OtherMoney(self.desk)
        self._laid = self._look()

    def _blocks(self) -> list[Block]:
        return [
            Block("answers"),
            Block("lines", "What to do", style="card"),
            Block("question", "The question", style="card rolls"),
            Block("unsure", "What makes your prices unsure", charts_shop.unsure()),
            Block("said", "What you said", style="card rolls"),
        ]

    def _look(self) -> tuple[Any, ...]:
        shop = self.desk.shop
        ovens = tuple(oven.name for oven in shop.machines.oven)
        named = ovens, tuple(self.desk.items), tuple(shop.powders)
        return self._keys, self.money.chosen, shop.front.units, shop.front.currency, named

    @property
    def _keys(self) -> tuple[str, ...]:
        """The questions that are asked, those of one breath; empty when none is left."""
        return self.found.breaths[0] if self.found.breaths else ()

    def _entries(self) -> list[Field | Plain]:
        shop, tongue = self.desk.shop, self.desk.tongue
        entries: list[Field | Plain] = [Plain("heading", "The question")]
        for key in self._keys:
            question = self.found.questions[key]
            words, now = visit_view.asks(shop, question), question.value(shop)
            entries.append(WantedField(f"{_ANSWER}{key}", words, now, question.unit, tongue, question.within))
        if self._keys:
            entries += [Plain("button", "Answer", "say"), Plain("button", "I don't know", "pass")]
        entries += [
            Plain("heading", "What you want"),
            ShareField("policy.target_margin", "Margin, of the price", shop.policy.target_margin, tongue, most=0.95),
            WordsField("front.name", "Name of the shop", shop.front.name),
            ShareField("policy.sales_tax", "Sales tax on your prices", shop.policy.sales_tax, tongue),
            *self.money.entries(),
            ChoiceField("front.units", "Measures", shop.front.units, {"metric": "metric", "us": "US: feet, mils, °F"}),
            Plain("more", "What stands in your shop"),
        ]
        for key, name, label, unit in self._measured():
            value = getattr(record_of(self.desk, Thing.of(key)), name)
            entries.append(QuantityField(f"{key}.{name}", label, value, unit, tongue, above=0.0))
        for oven in shop.machines.oven:
            fuel = {"electric": "electric", "gas": "gas"}
            entries.append(ChoiceField(f"oven:{oven.name}.fuel", f"{oven.name}, fuel", oven.fuel, fuel))
        ways = {"chemical": "in the strip tank", "blast": "by blasting", "bought_in": "sent out"}
        ways |= {shop.policy.strip_by: ways.get(shop.policy.strip_by, shop.policy.strip_by.replace("_", " "))}
        entries += [ChoiceField("policy.strip_by", "Old coating comes off", shop.policy.strip_by, ways), Plain("end")]
        entries.append(Plain("more", "Powders you use most"))
        for name, powder in shop.powders.items():
            entries += [
                QuantityField(
                    f"powder:{name}.uses", f"{name}, times a year", powder.uses, "number", tongue, most=10_000
                ),
                QuantityField(f"powder:{name}.price_per_kg", f"{name}, price", powder.price_per_kg, "money/kg", tongue),
            ]
        entries.append(Plain("end"))
        ticks: list[Field | Plain] = [
            CheckField(f"{_SOLD}{key}", item.title, is_sold(shop.visited, key)) for key, item in self.desk.items.items()
        ]
        ticks.append(Plain("note", "", "parts"))
        return [*entries, Plain("more", "What you sell"), *ticks, Plain("end"), *self._job_entries()]

    def _measured(self) -> list[tuple[str, str, str, str]]:
        """Collect what is measured in the shop: thing, field, words, unit."""
        ovens = self.desk.shop.machines.oven
        return [(f"oven:{o.name}", name, f"{o.name}, {told}", "mm") for o in ovens for name, told in _SIZES] + [
            *_MACHINES
        ]

    def _job_entries(self) -> list[Field | Plain]:
        tongue = self.desk.tongue
        titles = {key: item.title for key, item in self.desk.items.items()}
        return [
            Plain("more", "What did you charge last time?"),
            ChoiceField("job.item", "Part", next(iter(titles)), titles),
            ChoiceField("job.column", "Finish", "single", {"single": "single-tone", "two_tone": "two-tone"}),
            Whole("job.units", "How many", 1, tongue, least=1),
            QuantityField("job.price", "Price, without tax", 100.0, "money", tongue, above=0.0, known=False),
            QuantityField("job.hours", "Hours it took, about", 2.0, "h", tongue, above=0.0, most=2000, known=False),
            Plain("button", "Add this job", "add_job"),
            Plain("button", "Let them speak", "hear_jobs"),
            Plain("note", "", "jobs"),
            Plain("end"),
        ]

    def _changed(self, key: str) -> None:
        if not key.startswith((_ANSWER, _TRIED)):  # these count when a button is pressed
            super()._changed(key)

    def _refuse(self, key: str, text: str) -> None:
        if key in self.form:
            super()._refuse(key, text)
        else:
            self.bar.say(text)

    def _take(self, key: str) -> None:
        shop = self.desk.shop
        if key in {"say", "pass"}:
            fields = {name: self.form[f"{_ANSWER}{name}"] for name in self._keys}
            if key == "say" and any(field.message for field in fields.values()):
                return
            if key == "say" and not any(field.text for field in fields.values()):
                fields[self._keys[0]].message = "Type what you think, or press “I don't know”."
                self.form.refresh()
                return
            # "!" because the field has asked what was to be asked
            given = {name: f"{field.text}!" if key == "say" and field.text else "" for name, field in fields.items()}
            self.desk.change(visit_view.answers_given(shop, given))
        elif key == "add_job":
            job = Remembered(*(self.form[f"{_TRIED}{name}"].value for name in Remembered._fields))
            self.desk.change(visit_jobs.with_job(shop, self.desk.items, job))
        elif key == "hear_jobs":
            self.desk.change(visit_jobs.heard(shop, self.desk.items))
        elif key.startswith(MONEY):
            if self.money.take(self.form, key):
                self.show()
        elif key.startswith(_SOLD):
            ticked = [name for name in self.desk.items if self.form[f"{_SOLD}{name}"].value]
            if not ticked:
                raise Wrong("Tick one at least.")
            self.desk.change(visit_view.only_sold(shop, ticked))
        else:
            thing, _, _ = key.rpartition(".")
            changed_thing(self.desk, Thing.of(thing), key, self.form[key].value)

    def _shop_changed(self) -> None:
        """Work out anew how firm the list is, and ask the next question."""
        self.found = firmness(self.desk.shop, self.desk.items)
        self.show()

    def show(self) -> None:
        """Send what is asked and how firm the list is."""
        if self._look() != self._laid:
            self._laid = self._look()
            self.form.lay(self._entries())
        for field in self.form:
            own = field.key.startswith((_ANSWER, _TRIED, MONEY))
            value = field.value if own else self._stands(field.key)
            if field.value != value and not field.message:
                field.value = value
        self.form.refresh()
        words = visit_view.cards(self.found, self._keys)
        shop, items = self.desk.shop, self.desk.items
        words["said"] += visit_jobs.jobs_table(shop, items)
        self.money.tell(self.form)
        self.form.tell("parts", text="Parts of your own: “New part” on page 1.")
        self.form.tell("jobs", text=visit_jobs.jobs_words(shop, items))
        self.form.tell("hear_jobs", off=len(visit_jobs.waiting(shop)) < FEWEST)
        self.board.show({"unsure": visit_view.unsure_rows(self.found)}, words)

    def _stands(self, key: str) -> Any:
        shop = self.desk.shop
        if key.startswith(_SOLD):
            return is_sold(shop.visited, key.removeprefix(_SOLD))
        thing, _, name = key.rpartition(".")
        return getattr(record_of(self.desk, Thing.of(thing)), name)
