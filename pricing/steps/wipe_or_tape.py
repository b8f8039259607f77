"""The line between two colours: wiped by hand in powder that is not cured yet, or taped before it is sprayed."""

from pricing.steps.coat import booth_air
from pricing.steps.step import Step, straight

TAPE = Step("tape", straight(tape_m="line_m", spot="spots", part="parts"), "bench")
WIPE = Step("wipe", straight(job="jobs", line_m="line_m", spot="spots", part="parts"), "booth", booth_air)
