"""Steps gathered into the stages of a job, so that two finishes fit on one chart."""

from typing import Final

from pricing.costing.sheet import CostSheet
from pricing.costing.walk import LEFTOVER, REDO, RESPRAY, WARRANTY

STAGES: Final = {
    "Customer, paper, packing": ("enquiry", "intake", "inspect", "pack", "hand_over", "reassemble", "disassemble"),
    "Clean, strip, blast": (
        "degrease",
        "strip_chemical",
        "strip_blast",
        "strip_burn_off",
        "strip_bought_in",
        "dress",
        "blast",
        "outgas",
        "reblast",
        "pretreat",
    ),
    "Sand the edges": ("sand_edges",),
    "Plug and hang": ("plug", "hang", "unmask"),
    "First coat": ("colour_change.1", "coat.1"),
    "Second coat": ("colour_change", "coat", "test_panel"),
    "Tape the line": ("tape",),
    "Wipe the line": ("wipe",),
    "Oven and cooling": ("partial_cure", "full_cure", "cool"),
    "Done again": (RESPRAY, REDO, WARRANTY),
    "Powder left over": (LEFTOVER,),
}
"""Lines of a cost sheet by stage; ``coat.1`` is the first coat, ``coat`` every later one."""


def stage_of(line_id: str) -> str:
    """Write the stage of a line.

    >>> stage_of("coat.1"), stage_of("coat.2"), stage_of("full_cure.2")
    ('First coat', 'Second coat', 'Oven and cooling')
    """
    for stage, members in STAGES.items():
        if line_id in members:
            return stage
    step = line_id.rsplit(".", 1)[0] if line_id[-1:].isdigit() else line_id
    return next((stage for stage, members in STAGES.items() if step in members), next(iter(STAGES)))


def by_stage(sheet: CostSheet) -> dict[str, float]:
    """Add a sheet up by stage; stages that cost nothing are left out. [money]"""
    found = dict.fromkeys(STAGES, 0.0)
    for line in sheet.lines:
        found[stage_of(line.id)] += float(line.total)
    return {stage: cost for stage, cost in found.items() if abs(cost) > 5e-3}
