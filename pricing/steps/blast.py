"""Blasting, sanding edges and pretreatment: what makes the metal ready.

Room     steps. Imports parts.
"""

from pricing.basis.checks import plus
from pricing.parts.work import EDGES, Work
from pricing.steps.step import Amounts, Material, Setting, Step, Use


def _blast(work: Work, setting: Setting) -> Amounts:
    # mill scale and rust take longer than clean metal; only the extra is added
    more = setting.book["blast.scale"] - 1.0
    return {"job": work.jobs, "part": work.parts, "m2": work.m2 + more * work.scale_m2}


def blast_air(work: Work, setting: Setting, use: Use) -> None:
    """Add what blasting draws: the dust collector, the compressor while the nozzle is open, media lost."""
    machines, book = setting.shop.machines, setting.book
    cabinet, compressor = machines.cabinet, machines.compressor
    open_min = use.minutes * cabinet.air_on
    use.hold(compressor.name, open_min)
    use.electricity_kwh = plus(
        use.electricity_kwh, (cabinet.fan_kw * use.minutes + compressor.motor_kw * open_min) / 60.0
    )
    area = next((term.amount for term in use.terms if term.driver == "m2"), 0.0)
    bought = area * book["blast.media_per_m2"] / book["blast.media_cycles"]
    keys = ("blast.media_per_m2", "blast.media_cycles", "blast.media_price")
    use.materials.append(Material("blasting media", bought, book["blast.media_price"], keys))


def _reblast(work: Work, setting: Setting) -> Amounts:
    share = setting.book["reblast.share"]
    return {"m2": work.cast_m2 * share, "part": work.cast_parts}


def _edges(work: Work, setting: Setting) -> Amounts:
    total = sum(work.edge_m.get(q, 0.0) * setting.book[f"edge.{q}"] for q in EDGES)
    return {"edge_m": total, "part": work.edged_parts}


def _pretreat(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "m2": work.m2}


BLAST = Step("blast", _blast, "cabinet", blast_air)
REBLAST = Step("reblast", _reblast, "cabinet", blast_air)
SAND_EDGES = Step("sand_edges", _edges, "bench")
PRETREAT = Step("pretreat", _pretreat, "bench")
