"""Commands that live in modules of their own and load when they are called."""

from importlib import import_module

import click

COMMANDS = {
    "break-even": "pricing.commands.decision_commands:break_even_command",
    "two-tone": "pricing.commands.decision_commands:two_tone_command",
    "risk": "pricing.commands.decision_commands:risk_command",
    "advise": "pricing.commands.advice_commands:advise_command",
    "hire-buy-drop": "pricing.commands.advice_commands:hire_buy_drop_command",
    "capacity": "pricing.commands.decision_commands:capacity_command",
    "powders": "pricing.commands.advice_commands:powders_command",
    "oven": "pricing.commands.oven_commands:oven_command",
    "fit-oven": "pricing.commands.oven_commands:fit_oven_command",
    "print-list": "pricing.commands.report_commands:print_list",
    "log": "pricing.commands.log_commands:log_commands",
    "start": "pricing.commands.start_command:start_command",
    "part": "pricing.commands.part_command:part_command",
    "shape": "pricing.commands.shape_command:shape_command",
    "photo": "pricing.commands.photo_command:photo_commands",
    "app": "pricing.commands.serve_command:app_command",
    "lab": "pricing.commands.serve_command:lab_command",
    "customer-quote": "pricing.commands.report_commands:customer_quote",
    "report": "pricing.commands.report_commands:report_command",
    "spreadsheet": "pricing.commands.report_commands:spreadsheet_command",
}
"""Command to module and name; a new command is a line here."""


class LateGroup(click.Group):
    """A group that finds some of its commands in other modules."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Write all names, sorted."""
        return sorted({*super().list_commands(ctx), *COMMANDS})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, loading its module when it is asked for."""
        if cmd_name not in COMMANDS:
            return super().get_command(ctx, cmd_name)
        module, name = COMMANDS[cmd_name].split(":")
        found: click.Command = getattr(import_module(module), name)
        return found
