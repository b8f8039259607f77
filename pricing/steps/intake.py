"""Before the part is touched: enquiry, intake, taking apart, degreasing."""

from pricing.parts.work import Work
from pricing.steps.step import Amounts, Setting, Step


def _enquiry(work: Work, setting: Setting) -> Amounts:
    # lost enquiries are paid by the jobs that come
    return {"enquiry": work.asked * work.jobs * setting.book["enquiries.per_job"], "part": work.asked * work.parts}


def _intake(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "part": work.parts}


def _disassemble(work: Work, setting: Setting) -> Amounts:
    return {"part": work.apart}


def _degrease(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "part": work.parts, "m2": work.m2}


ENQUIRY = Step("enquiry", _enquiry)
INTAKE = Step("intake", _intake)
DISASSEMBLE = Step("disassemble", _disassemble, "bench")
DEGREASE = Step("degrease", _degrease, "bench")
