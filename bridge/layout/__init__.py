"""How a practice's own sheet lines up with the visit: which column is which field, in which words.

A layout is a YAML file (schema: `mappings/schemas/layout.schema.json`); nothing about a sheet needs Python.
"""

from bridge.layout.choose import choose_layout, extra_headings, missing_headings, told_apart
from bridge.layout.fields import Field, all_paths, find_field, nearest_paths
from bridge.layout.load import LayoutError, check_layout, load_layout, load_layouts, load_usable
from bridge.layout.model import Column, Layout, Target

__all__ = [
    "Column", "Field", "Layout", "LayoutError", "Target", "all_paths", "check_layout", "choose_layout",
    "extra_headings", "find_field", "load_layout", "load_layouts", "load_usable", "missing_headings", "nearest_paths",
    "told_apart",
]  # fmt: skip
