"""After the oven: inspect, unmask, put together, pack, hand over."""

from pricing.parts.work import Work
from pricing.steps.step import Amounts, Setting, Step


def _inspect(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "part": work.parts}


def _unmask(work: Work, setting: Setting) -> Amounts:
    tape = work.line_m * float(len(setting.finish.lines("masked")))
    return {"plug": work.plugs, "tape_m": tape}


def _reassemble(work: Work, setting: Setting) -> Amounts:
    return {"part": work.apart}


def _pack(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "part": work.parts}


def _hand_over(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs}


INSPECT = Step("inspect", _inspect, "bench")
UNMASK = Step("unmask", _unmask, "bench")
REASSEMBLE = Step("reassemble", _reassemble, "bench")
PACK = Step("pack", _pack, "bench")
HAND_OVER = Step("hand_over", _hand_over)
