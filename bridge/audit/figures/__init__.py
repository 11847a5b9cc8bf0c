"""One clinic's numbers without client data: made from an audit, and read again where many come together."""

from bridge.audit.figures.cells import Cell
from bridge.audit.figures.make import About, figures, refused
from bridge.audit.figures.read import Figures, read_figures

__all__ = ["About", "Cell", "Figures", "figures", "read_figures", "refused"]
