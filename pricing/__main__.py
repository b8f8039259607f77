"""``python -m pricing``."""

from pricing.commands.main import main

main(prog_name="python -m pricing")
