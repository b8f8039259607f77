"""Commands that live in modules of their own and load when they are called.

Room     show. Imports nothing of ours until a command is asked for.
"""

from importlib import import_module

import click

COMMANDS = {
    "break-even": "pricing.show.decision_commands:break_even_command",
    "two-tone": "pricing.show.decision_commands:two_tone_command",
    "risk": "pricing.show.decision_commands:risk_command",
    "capacity": "pricing.show.decision_commands:capacity_command",
    "oven": "pricing.show.oven_commands:oven_command",
    "fit-oven": "pricing.show.oven_commands:fit_oven_command",
    "print-list": "pricing.show.report_commands:print_list",
    "log": "pricing.show.log_commands:log_commands",
    "part": "pricing.show.part_command:part_command",
    "app": "pricing.show.serve_command:app_command",
    "lab": "pricing.show.serve_command:lab_command",
    "customer-quote": "pricing.show.report_commands:customer_quote",
    "report": "pricing.show.report_commands:report_command",
    "spreadsheet": "pricing.show.report_commands:spreadsheet_command",
}
"""Command to module and name; a new command is a line here."""


class LateGroup(click.Group):
    """A group that finds some of its commands in other modules."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Give all names, sorted."""
        return sorted({*super().list_commands(ctx), *COMMANDS})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Give a command, loading its module when it is asked for."""
        if cmd_name not in COMMANDS:
            return super().get_command(ctx, cmd_name)
        module, name = COMMANDS[cmd_name].split(":")
        found: click.Command = getattr(import_module(module), name)
        return found
