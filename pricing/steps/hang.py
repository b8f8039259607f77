"""Plugging, hanging, and the test panel for a pair of powders not tried before."""

from pricing.steps.step import Step, straight

PLUG = Step("plug", straight(plug="plugs"), "bench")
HANG = Step("hang", straight(job="jobs", part="parts"), "bench")
TEST_PANEL = Step("test_panel", straight(panel="panels"), "booth")
