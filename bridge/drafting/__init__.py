"""Proposes a layout for a sheet from its headings and its cells.

What the sheet proves is written down with the reason; what it does not prove stays a question (`ask`). A side, a
consent and "normal" come from exact words of the tables or from twin columns only.
"""

from bridge.drafting.decide import draft_layout
from bridge.drafting.gaps import BY, letter_gaps, missing, needs_somebody
from bridge.drafting.headings import known_columns
from bridge.drafting.named import fields_like
from bridge.drafting.page import layout_page
from bridge.drafting.plain_names import field_name
from bridge.drafting.questions import Question, answer, clash, open_questions
from bridge.drafting.shapes import ASK, Draft, Guess, Sheet, Terms
from bridge.drafting.taken_over import ENOUGH, all_kept, fits, take_over
from bridge.drafting.told import as_data, as_lines

__all__ = [
    "ASK", "BY", "ENOUGH", "Draft", "Guess", "Question", "Sheet", "Terms", "all_kept", "answer", "as_data", "as_lines",
    "clash", "draft_layout", "field_name", "fields_like", "fits", "known_columns", "layout_page", "letter_gaps",
    "missing", "needs_somebody", "open_questions", "take_over",
]  # fmt: skip
