"""After the oven: inspect, unmask, put together, pack, hand over."""

from pricing.parts.work import Work
from pricing.steps.step import Amounts, Setting, Step, straight


def _unmask(work: Work, setting: Setting) -> Amounts:
    tape = work.line_m * float(len(setting.finish.lines("masked")))
    return {"plug": work.plugs, "tape_m": tape}


INSPECT = Step("inspect", straight(job="jobs", part="parts"), "bench")
UNMASK = Step("unmask", _unmask, "bench")
REASSEMBLE = Step("reassemble", straight(part="apart"), "bench")
PACK = Step("pack", straight(job="jobs", part="parts"), "bench")
HAND_OVER = Step("hand_over", straight(job="jobs"))
