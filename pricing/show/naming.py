"""Names in words for the numbers of the book."""

from dataclasses import dataclass

from pricing.costing.job_cost import AMOUNT, REDO_LUCK, RESPRAY_LUCK
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.steps.uneven import DOUBT, SHARED_JOB, SHARED_OWNER, VARY

_GIVES = {"hands": "minutes", "machine": "machine minutes", "supplies": "supplies"}
_DRIVERS = {
    "m2": "m²",
    "edge_m": "metre of edge",
    "line_m": "metre of line",
    "tape_m": "metre of tape",
    "repair_m": "metre of old weld",
}
_US_DRIVERS = {
    "m2": "ft²",
    "edge_m": "foot of edge",
    "line_m": "foot of line",
    "tape_m": "foot of tape",
    "repair_m": "foot of old weld",
    "kg": "lb",
}
_WORDS = {
    "outgas.second": "chance of a second bake",
    "plan.booked_share": "booked share of the hours, over plan",
    "plan.weeks": "weeks at work, over plan",
    "plan.hours": "hours a week, over plan",
    "own_powder.rejects": "rejects in a powder the customer brings, over usual",
}
_AMOUNTS = {
    "quantity": "how many",
    "area_m2": "area, each",
    "mass_kg": "mass, each",
    "edge_m": "edges to sand, each",
    "line_m": "line, each",
    "repair_m": "old welds to dress, each",
    "spots": "nooks to swab, each",
    "plugs": "plugs, each",
    "scars": "scars to grind out, each",
}
_SHARED = {
    SHARED_JOB: "how easy or hard a whole job turns out",
    SHARED_OWNER: "how fast you really are, over all steps",
    "spread.job": "how easy or hard whole jobs turn out",
    "spread.owner": "how far your speed may be off your rates",
}
_LUCK = {REDO_LUCK: "luck: parts found bad after cure", RESPRAY_LUCK: "luck: lines spoiled before cure"}
_FACTORS = {VARY: "how one job differs from the next", DOUBT: "what the log leaves open"}


@dataclass(frozen=True, slots=True)
class Names:
    """How a shop calls the numbers of its book."""

    shop: Shop

    def of(self, key: str) -> str:
        """Name a number of the book by its key, as ``wipe.line_m.hands``."""
        for fixed in (_LUCK, _WORDS, _SHARED):
            if key in fixed:
                return fixed[key]
        if key.startswith(AMOUNT):
            _, lot, name = key.rsplit(".", 2)
            return _AMOUNTS[name] + (f", part {lot}" if lot != "1" else "")
        words = key.split(".")
        if len(words) == 3 and words[2] in _GIVES and words[0] in known_steps():
            drivers = _US_DRIVERS if self.shop.front.units == "us" else _DRIVERS
            per = drivers.get(words[1], words[1])
            return f"{known_steps()[words[0]].title}: {_GIVES[words[2]]} per {per}"
        if f"{words[0]}." in _FACTORS and words[-1] in known_steps():
            return f"{known_steps()[words[-1]].title}: {_FACTORS[f'{words[0]}.']}"
        if words[0] == "film":
            return f"film of {'.'.join(words[1:])}"
        if words[0] == "reject" and len(words) == 3:
            return f"reject rate, {words[1]} finish, {words[2]}"
        if words[0] == "warranty":
            return f"claims within a year, {words[1]} finish"
        return key.replace(".", ", ").replace("_", " ")
