"""Reads the sheets of a workbook (XLSX, XLSM) row by row, in memory that does not grow with the rows."""

from bridge.read.xlsx.book import open_workbook

__all__ = ["open_workbook"]
