"""Before the part is touched: enquiry, intake, taking apart, degreasing."""

from pricing.parts.work import Work
from pricing.steps.step import Amounts, Setting, Step, straight


def _enquiry(work: Work, setting: Setting) -> Amounts:
    # lost enquiries are paid by the jobs that come
    return {"enquiry": work.asked * work.jobs * setting.book["enquiries.per_job"], "part": work.asked * work.parts}


ENQUIRY = Step("enquiry", _enquiry)
INTAKE = Step("intake", straight(job="jobs", part="parts"))
DISASSEMBLE = Step("disassemble", straight(part="apart"), "bench")
DEGREASE = Step("degrease", straight(job="jobs", part="parts", m2="m2"), "bench")
