"""The pages of the workbook: panels, forms, and how they are served."""
