"""Visits as rows of a layout: which texts a cell could hold, the layout's own words first; who asks reads them back."""

from bridge.receive.rows.compare import alike, lost, said_otherwise
from bridge.receive.rows.drafts import RowDraft, row_drafts
from bridge.receive.rows.sheet import csv_bytes, xlsx_bytes
from bridge.receive.rows.tried import to_blame

__all__ = ["RowDraft", "alike", "csv_bytes", "lost", "row_drafts", "said_otherwise", "to_blame", "xlsx_bytes"]
