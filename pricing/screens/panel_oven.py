"""My oven, a view of page 1: its size and heater to scale, an hour at temperature, a job's visits, its own tests."""

from typing import Any

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Wrong
from pricing.physics.fit_oven import OvenFit, Readings
from pricing.screens import job_file
from pricing.screens.form import Plain
from pricing.screens.on_bench import OnBench
from pricing.screens.panel_settings import ThingPanel, thing_entries
from pricing.show import charts_job, oven_view, settings
from pricing.show.blocks import Block
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field, LinesField, QuantityField
from pricing.show.settings import Thing
from pricing.show.tiles import stopped
from pricing.steps.fit import fit_shop_oven, with_fit

_READINGS = ("held", "took", "at", "air", "log")
_TOLD = {"times_min": "The log's time", "oven_degC": "The temperature", "heater_kWh": "What the meter counted"}
_HOW = (
    "Hold the empty oven at its set point for an hour and read the meter; then switch heat and exhaust off, leave the"
    " door shut, and write down time and temperature as it cools. Where the oven's code asks for exhaust, keep to it."
)
_MONEY = ("price", "salvage", "life_y", "upkeep_per_y", "practical_hours_h")


class OvenPanel(ThingPanel):
    """The view of the shop's ovens, and of the visits of the job on the bench."""

    about = "My oven"
    areas = ("hour hour", "plan heat", "visits visits")
    columns = "minmax(0, 1fr) minmax(0, 1.1fr)"
    lines = "106px minmax(0, 1.35fr) minmax(0, 1fr)"

    fit: OvenFit | None = None

    def __init__(self, desk: Desk, on_bench: OnBench) -> None:
        self.on_bench = on_bench
        super().__init__(desk)
        on_bench.on_change(self.show)

    def _begin(self) -> None:
        self.thing = settings.things(self.desk, "oven")[0]
        self.at_degC = round(oven_view.usual_degC(self.desk.shop))

    def _blocks(self) -> list[Block]:
        return [
            Block("hour"),
            Block("plan", style="card"),
            Block("heat", "Where the heat goes", charts_job.heat_by_visit()),
            Block("visits", style="card rolls"),
        ]

    def _entries(self) -> list[Field | Plain]:
        desk, tongue = self.desk, self.desk.tongue
        ovens = {oven.name: oven.name for oven in desk.shop.machines.oven}
        if self.thing.name not in ovens:
            self.thing = Thing("oven", next(iter(ovens)))
        fields = thing_entries(desk, self.thing, settings.record_of(desk, self.thing))
        money = [one for one in fields if isinstance(one, Field) and one.key.rpartition(".")[2] in _MONEY]
        begun = self.on_bench.begun
        return [
            ChoiceField("oven", "Oven", self.thing.name, ovens),
            Plain("button", "One more oven", "add"),
            Plain("button", "Do without it", "drop"),
            Plain("note", "", "said"),
            *(one for one in fields if one not in money),
            Plain("more", "What it costs to own"),
            *money,
            Plain("end"),
            Plain("heading", "Look at"),
            QuantityField("at_degC", "An hour at", self.at_degC, "degC", tongue, most=400),
            ChoiceField("begun", "The visits of", begun, job_file.begin_options(desk, begun)),
            Plain("more", "Fit it to its own tests"),
            Plain("note", "", "how"),
            QuantityField("held", "Held empty for", 60.0, "min", tongue, least=1.0, most=1440),
            QuantityField("took", "Its meter counted", 0.0, "kWh", tongue, most=1000),
            QuantityField("at", "Oven air meanwhile", 200.0, "degC", tongue, most=400),
            QuantityField(
                "air", "Shop air meanwhile", desk.shop.front.air_degC, "degC", tongue, least=-30.0, most=50.0
            ),
            LinesField("log", "Then it cooled, time and temperature", ""),
            Plain("button", "Work it out", "fit"),
            Plain("button", "Take it", "take"),
            Plain("note", "", "fitted"),
            Plain("end"),
        ]

    def _changed(self, key: str) -> None:
        try:
            self._take(key)
        except Wrong as why:
            self._refuse(key if key in self.form and not self.form[key].message else "", str(why))
        except BadInput as why:
            told = why.problems[0]
            field = _TOLD.get(told.field, told.field)
            self.form.tell("fitted", text=f"{field} is {told.value}; it must be {told.accepts}. {told.mend}".strip())

    def _take(self, key: str) -> None:
        self._say("")
        if key == "oven":
            self.thing = Thing("oven", self.form["oven"].value)
            self.fit = None
            self.show()
        elif key == "add":
            self._add()
        elif key == "drop":
            self._drop()
        elif key == "at_degC":
            self.at_degC = self.form["at_degC"].value
            self.show()
        elif key == "begun":
            begun = self.form["begun"].value
            self.on_bench.put(job_file.begin(self.desk, begun), begun)
            self.show()
        elif key == "fit":
            self.fit = fit_shop_oven(self.desk.shop, self.thing.name, self._readings())
            self.form.tell("fitted", text=oven_view.fit_words(self.fit))
            self.form.tell("take", off=False)
        elif key == "take" and self.fit:
            self.desk.change({"machines": with_fit(self.desk.shop, self.thing.name, self.fit).machines})
            self.fit = None
            self.form.tell("fitted", text="Taken: walls and shell are those of your tests.")
        elif key not in _READINGS and key != "take":
            self._set(key)

    def _readings(self) -> Readings:
        values: dict[str, Any] = {key: self.form[key].value for key in _READINGS}
        try:
            times, degrees = oven_view.cooling_of(values["log"], self.desk.tongue)
        except Wrong as why:
            self.form.wrong("log", str(why))
            raise
        return Readings(
            held_min=values["held"],
            took_kwh=values["took"],
            oven_degC=values["at"],
            shop_degC=values["air"],
            times_min=times,
            cooling_degC=degrees,
        )

    def show(self) -> None:
        """Send everything that changed."""
        desk = self.desk
        self.form.renew(self._entries(), keep=_READINGS)
        self.form.tell("how", text=_HOW)
        self.form.tell("take", off=self.fit is None)
        oven = settings.record_of(desk, self.thing)
        words = {
            "hour": oven_view.hour_tiles(desk.shop, oven, self.at_degC),
            "plan": f'<div class="pp-plan">{oven_view.oven_plan(oven, desk.tongue)}</div>',
        }
        job = self.on_bench.job
        try:
            visits = oven_view.visits_of(desk.shop, job)
        except BadInput as why:
            words |= {"visits": stopped([str(problem) for problem in why.problems], title="No visit"), "heat": ""}
            self.board.show({"heat": {"heat": ()}}, words)
            return
        words["visits"] = oven_view.visit_words(desk.shop, job, visits)
        words["heat"] = f"{job.title}: what this job pays of each load, by its share."
        self.board.show({"heat": oven_view.visit_rows(desk.shop, visits)}, words)
