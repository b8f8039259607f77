"""The line between two colours: wiped by hand in powder that is not cured yet, or taped before it is sprayed."""

from pricing.parts.work import Work
from pricing.steps.coat import booth_air
from pricing.steps.step import Amounts, Setting, Step


def _tape(work: Work, setting: Setting) -> Amounts:
    return {"tape_m": work.line_m, "spot": work.spots, "part": work.parts}


def _wipe(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "line_m": work.line_m, "spot": work.spots, "part": work.parts}


TAPE = Step("tape", _tape, "bench")
WIPE = Step("wipe", _wipe, "booth", booth_air)
