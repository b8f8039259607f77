"""``python -m pricing``."""

from pricing.show.commands import main

main(prog_name="python -m pricing")
