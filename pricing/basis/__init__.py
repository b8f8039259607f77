"""Errors, units and money, facts with their sources: what every other room stands on."""
