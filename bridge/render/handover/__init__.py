"""The index page of a hand-over: what a clinic that was not there must know of a client, made of their documents.

What stands in it is said by the documents' own words (bridge/fhir/tell), so that the four answers (not examined, not
seen, normal, not recorded) stay apart as they do in letters.
"""

from bridge.render.handover.page import handover_page
from bridge.render.handover.told import FileTold, PictureTold, Told, VisitTold, WordTold

__all__ = ["FileTold", "PictureTold", "Told", "VisitTold", "WordTold", "handover_page"]
