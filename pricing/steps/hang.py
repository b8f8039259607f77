"""Plugging, hanging, and the test panel for a pair of powders not tried before."""

from pricing.parts.work import Work
from pricing.steps.step import Amounts, Setting, Step


def _plug(work: Work, setting: Setting) -> Amounts:
    return {"plug": work.plugs}


def _hang(work: Work, setting: Setting) -> Amounts:
    return {"job": work.jobs, "part": work.parts}


def _panel(work: Work, setting: Setting) -> Amounts:
    return {"panel": work.panels}


PLUG = Step("plug", _plug, "bench")
HANG = Step("hang", _hang, "bench")
TEST_PANEL = Step("test_panel", _panel, "booth")
