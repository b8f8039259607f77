"""Costing and pricing workbook for a custom powder-coating shop."""

__version__ = "0.1.0"
