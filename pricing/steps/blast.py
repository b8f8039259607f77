"""Blasting, sanding edges and pretreatment: what makes the metal ready."""

from functools import lru_cache

from pricing.basis.checks import most, plus
from pricing.basis.facts import numbers
from pricing.parts.work import EDGES, Work
from pricing.physics.air import air_of
from pricing.physics.blasting import BlastRate, BlastSetup, blast_rate
from pricing.shop.machines import Cabinet, Compressor
from pricing.steps.step import Amounts, MaterialUse, Setting, Step, Use, some, straight
from pricing.steps.uneven import by_step, for_all


def _blast(work: Work, setting: Setting) -> Amounts:
    # mill scale and rust take longer than clean metal; only the extra is added
    more = setting.book["blast.scale"] - 1.0
    return {
        "job": work.jobs * some(work.blast_parts),
        "part": work.blast_parts,
        "m2": work.blast_m2 + more * work.scale_m2,
    }


def blast_rate_of(cabinet: Cabinet, compressor: Compressor, shop_degC: float) -> BlastRate:
    """Return what a nozzle, as it is worn now, and the compressor do together in air of the shop."""
    return _rate(cabinet.nozzle_bore_mm, cabinet.pressure_bar, compressor, shop_degC)


@lru_cache(maxsize=16)
def _rate(bore_mm: float, gauge_bar: float, compressor: Compressor, shop_degC: float) -> BlastRate:
    n = numbers()
    return blast_rate(
        BlastSetup(
            air=air_of(n),
            bore_mm=bore_mm,
            gauge_bar=gauge_bar,
            discharge=n["nozzle.discharge"],
            heat_ratio=n["air.heat_ratio"],
            supply_degC=shop_degC,
            compressor_m3_per_min=compressor.free_air_m3_per_min,
            shaft_kW_per_m3_per_min=compressor.motor_kw / compressor.free_air_m3_per_min,
            motor_efficiency=n["motor.efficiency"],
            thrown_kg_per_m3=n["blasting.thrown_per_air"],
        )
    )


def blast_air(work: Work, setting: Setting, use: Use) -> None:
    """Add what blasting draws: the dust collector, the compressor while the nozzle is open, media lost.

    Where the air throws less than the hands could use, the hands wait: the compressor is the limit.
    """
    machines, book = setting.shop.machines, setting.book
    cabinet, compressor = machines.cabinet, machines.compressor
    rate = blast_rate_of(cabinet, compressor, setting.shop.front.air_degC)
    area = next((term.amount for term in use.terms if term.driver == "m2"), 0.0)
    worked = by_step(use.step, area, book) * for_all(1.0, book)  # who blasts longer throws more
    thrown = worked * book["blast.media_per_m2"]
    waiting = most(thrown * (60.0 / float(rate.thrown_kg_per_h) / cabinet.air_on) - use.minutes, 0.0)
    use.hold(cabinet.name, waiting)
    use.minutes = plus(use.minutes, waiting)
    open_min = use.minutes * cabinet.air_on
    use.hold(compressor.name, open_min)
    drawn = (cabinet.fan_kw * use.minutes + float(rate.electric_kW) * open_min) / 60.0
    use.electricity_kwh = plus(use.electricity_kwh, drawn)
    use.detail |= {"thrown_kg": thrown, "waiting_min": waiting, "nozzle_bar": float(rate.gauge_bar)}
    bought = thrown / book["blast.media_cycles"]
    keys = ("blast.media_per_m2", "blast.media_cycles", "blast.media_price")
    use.materials.append(MaterialUse("blasting media", bought, book["blast.media_price"], keys))


def _reblast(work: Work, setting: Setting) -> Amounts:
    share = setting.book["reblast.share"]
    return {"m2": work.cast_m2 * share, "part": work.baked_parts}


def _edges(work: Work, setting: Setting) -> Amounts:
    total = sum(work.edge_m.get(q, 0.0) * setting.book[f"edge.{q}"] for q in EDGES)
    return {"edge_m": total, "part": work.edged_parts}


BLAST = Step("blast", _blast, "cabinet", blast_air)
REBLAST = Step("reblast", _reblast, "cabinet", blast_air)
DRESS = Step("dress", straight(scar="scars", repair_m="repair_m", part="repaired"), "bench")
SAND_EDGES = Step("sand_edges", _edges, "bench")
PRETREAT = Step("pretreat", straight(job="jobs", m2="m2"), "bench")
