"""Reads the sheets of a workbook (XLSX, XLSM) row by row, in memory that does not grow with the rows.

`book.open_workbook` is the door. Nothing is imported here: `values` serves the other sources too.
"""
