"""The drawing of an oven to scale: from the door, and from its side, with panels, rails and rows of parts."""

from pricing.basis.tongue import Tongue
from pricing.parts.dimensioned import DimensionPlan
from pricing.shop.machines import Oven

_MOST_RAILS = 50


def oven_plan(oven: Oven, tongue: Tongue) -> str:
    """Draw an oven as SVG, with lengths as the shop writes them."""
    wide, high, deep, panel = oven.inside_width_mm, oven.inside_height_mm, oven.inside_depth_mm, oven.panel_mm
    gap = max(0.12 * (wide + deep), 2 * panel)
    plan = DimensionPlan(wide + deep + 4 * panel + gap, lambda mm: tongue.show(mm, "mm"))
    letter, top = plan.letter_mm, oven.clearance_mm
    for left, across in ((0.0, wide), (wide + 2 * panel + gap, deep)):
        plan.rect((left, 0), across + 2 * panel, high + 2 * panel)
        plan.opening((left + panel, panel), across, high)
        plan.across(left + panel, left + panel + across, high + 2 * panel + 0.6 * letter)
        for row in range(1, oven.tiers):
            y = panel + top + row * (high - top) / oven.tiers
            plan.path([(left + panel, y), (left + panel + across, y)], closed=False, dashed=True)
    pitch = wide / oven.rails
    for rail in range(min(oven.rails, _MOST_RAILS)):
        x = panel + (rail + 0.5) * pitch
        plan.circle((x, panel + top), max(0.012 * wide, 0.25 * letter))
    side = wide + 2 * panel + gap + panel
    plan.path([(side + top, panel + top), (side + deep - top, panel + top)], closed=False)
    plan.down(panel, panel + high, -0.6 * letter)
    plan.note((panel + wide / 2, -0.5 * letter), "from the door")
    plan.note((side + deep / 2, -0.5 * letter), "from the side")
    rows = f"{oven.rails} rails, {oven.tiers} {'row' if oven.tiers == 1 else 'rows'} of parts"
    for at, words in enumerate(rows.split(", ")):
        plan.note((panel + wide / 2, panel + high - (2.0 - 1.3 * at) * letter), words)
    plan.note((side + deep / 2, panel + high - 0.7 * letter), f"panels {plan.write(panel)}")
    return plan.svg(
        f"{oven.name}: {plan.write(wide)} wide, {plan.write(high)} high, {plan.write(deep)} deep inside; {rows}"
    )
