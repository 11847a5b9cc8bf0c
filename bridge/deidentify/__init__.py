"""Takes out of visits who they are about: identifiers, dates as they were, free text, images.

What becomes of each field says mappings/deidentify/fields.csv. What is left is still about persons: pseudonyms, and
rare things that somebody who knows the client would know again (`small_cells` counts those).
"""

from bridge.deidentify.cells import Cells, small_cells
from bridge.deidentify.client import client_key, over_89
from bridge.deidentify.keyed import Keyed
from bridge.deidentify.redaction import GONE, Redaction, people
from bridge.deidentify.visits import Deidentifier, UnfitError
from bridge.deidentify.wishes import Dates, Purpose, Wishes

__all__ = [
    "GONE",
    "Cells",
    "Dates",
    "Deidentifier",
    "Keyed",
    "Purpose",
    "Redaction",
    "UnfitError",
    "Wishes",
    "client_key",
    "over_89",
    "people",
    "small_cells",
]
