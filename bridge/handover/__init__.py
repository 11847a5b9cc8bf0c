"""The corridor to one client's whole record, for the next clinic or for the client: chosen, made, packed.

conversions --record--> ClientRecord --contents--> pieces --packed--> folder or sealed file
"""

from bridge.handover.contents import Around, Made, contents
from bridge.handover.handed_out import FILES, HandedOut, hand_out
from bridge.handover.packed import Seal, deliver, names_of_parcel
from bridge.handover.record import ClientRecord, OneClient, Reader, VisitRecord

__all__ = [
    "FILES",
    "Around",
    "ClientRecord",
    "HandedOut",
    "Made",
    "OneClient",
    "Reader",
    "Seal",
    "VisitRecord",
    "contents",
    "deliver",
    "hand_out",
    "names_of_parcel",
]
