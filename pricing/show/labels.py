"""Short names for the numbers of the book: what fits beside a bar or a slider."""

from pricing.basis.units import readable, shown
from pricing.costing.job_cost import AMOUNT, AMOUNT_UNITS
from pricing.shop.folder import known_steps
from pricing.shop.shop import Shop
from pricing.show.naming import Names

_PLAIN = {
    "spoil.wiped": "Lines spoiled before cure",
    "rest.allowance": "Rest and small delays",
    "enquiries.per_job": "Enquiries for one job",
    "powder.utilisation": "Powder that stays on",
    "powder.purge": "Powder left in the hose",
    "second.sprayed_over": "Overspray of the second colour",
    "oven.bring_up_factor": "Time until metal is hot",
    "oven.energy_factor": "Energy metered over computed",
    "oven.jobs_per_load": "Jobs that share a load",
    "oven.fill": "How full loads are",
    "oven.air_above_metal": "Air above the metal",
    "powder.hopper": "Least that feeds the gun",
    "helper.share": "Minutes the helper does",
    "oven.cold_starts": "Loads that find the oven cold",
    "oven.idle": "Oven standing warm between loads",
    "blast.media_per_m2": "Blasting media",
    "reblast.share": "Area blasted again",
    "edge.cut": "Cut edges, times sound ones",
    "edge.rough": "Rough edges, times sound ones",
    "blast.scale": "Rust or scale, times clean",
}
_SUPPLIES = "supplies"


def short(shop: Shop, key: str) -> str:
    """Name a number of the book in few words.

    Examples
    --------
    >>> from pricing.shop.folder import open_shop
    >>> short(open_shop(), "wipe.line_m.hands"), short(open_shop(), "reject.wiped.wrought")
    ('Wipe the line clean', 'Rejects after cure')
    """
    words = key.split(".")
    if key in _PLAIN:
        return _PLAIN[key]
    if words[0] == "uses":
        return f"Uses a year of {key.partition('.')[2]}"
    if words[0] == "reject":
        return "Rejects after cure" + (", castings" if words[-1] == "casting" else "")
    if len(words) == 3 and words[0] in known_steps():
        title = known_steps()[words[0]].title
        return f"{title}, {_SUPPLIES}" if words[2] == _SUPPLIES else title
    name = Names(shop).of(key)
    return name[:1].upper() + name[1:]


def short_with_unit(shop: Shop, key: str) -> str:
    """Name a number with its unit, as the label of a bar.

    >>> from pricing.shop.folder import open_shop
    >>> short_with_unit(open_shop(), "wipe.line_m.hands"), short_with_unit(open_shop(), "rest.allowance")
    ('Wipe the line clean [min/m]', 'Rest and small delays [%]')
    """
    row = shop.uncertain.get(key)
    unit = row.unit if row else AMOUNT_UNITS.get(key.rpartition(".")[2], "") if key.startswith(AMOUNT) else ""
    if unit in {"", "number"}:
        return short(shop, key)
    if unit == "share":
        return f"{short(shop, key)} [%]"
    at = shown(1.0, unit, shop.front.units)
    return f"{short(shop, key)} [{readable(at.unit, shop.currency)}]"
