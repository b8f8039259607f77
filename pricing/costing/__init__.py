"""From a job to its cost sheet: hour rates, money of four kinds, rework loops, heat cycles."""
