"""Another currency for the shop, on a page: chosen, asked back with its rate, and then turned as one step."""

from pricing.basis.errors import BadInput
from pricing.basis.tongue import Wrong
from pricing.screens.form import Form, Plain
from pricing.shop.first_settings import currencies, rate_of
from pricing.show.desk import Desk
from pricing.show.fields import ChoiceField, Field, QuantityField
from pricing.show.recount import recount, why_not

KEY = "money."
"""What the keys of its fields and buttons begin with."""
_CODE, _RATE, _TURN, _KEEP, _SAID = (f"{KEY}{name}" for name in ("code", "rate", "turn", "keep", "said"))


class OtherMoney:
    """Fields of a form that change the currency of a shop."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.chosen = ""
        self._said = ""

    def entries(self) -> list[Field | Plain]:
        """Lay the choice, and, where another currency is chosen, the question back."""
        desk = self.desk
        old, new = desk.shop.currency, self.chosen or desk.shop.currency
        codes = dict.fromkeys((old, *currencies()))
        entries: list[Field | Plain] = [ChoiceField(_CODE, "Counts in", new, {code: code for code in codes})]
        if new == old:
            return [*entries, Plain("note", "", _SAID)]
        rate, source = self._rate()
        self._said = why_not(desk) or (
            f"Every amount is turned at this rate ({source}) and then counts as a guess; Undo takes it back."
        )
        entries.append(QuantityField(_RATE, f"One {old} is worth, in {new}", rate, "number", desk.tongue, above=0.0))
        entries += [Plain("button", f"Turn all into {new}", _TURN), Plain("button", f"Stay with {old}", _KEEP)]
        return [*entries, Plain("note", "", _SAID)]

    def _rate(self) -> tuple[float, str]:
        try:
            return rate_of(self.desk.shop.currency, self.chosen)
        except BadInput:
            return 1.0, "no rate is known: say it"

    def tell(self, form: Form) -> None:
        """Say beside the fields what is asked."""
        form.tell(_SAID, text=self._said)
        form.tell(_TURN, off=bool(self.chosen and why_not(self.desk)))

    def take(self, form: Form, key: str) -> bool:
        """Take what was chosen or pressed; True where the fields are to be laid anew."""
        if key == _CODE:
            code = form[_CODE].value
            self.chosen, self._said = "" if code == self.desk.shop.currency else code, ""
        elif key == _KEEP:
            self.chosen, self._said = "", ""
        elif key == _TURN and not form[_RATE].message:
            code, rate = self.chosen, float(form[_RATE].value)
            self.chosen, self._said = "", ""
            try:
                recount(self.desk, code, rate)
            except Wrong as why:
                self.chosen, self._said = code, str(why)
        return key != _RATE
