"""Figures as people read them: words, charts, tiles, tables, and what each page says."""
