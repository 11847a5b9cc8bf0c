"""The corridor to one client's whole record, for the next clinic or for the client: chosen, made, packed.

conversions --record--> ClientRecord --contents--> pieces --packed--> folder or sealed file
"""

from bridge.handover.contents import Made, contents
from bridge.handover.packed import Seal, deliver, names_of_parcel
from bridge.handover.record import ClientRecord, OneClient, VisitRecord

__all__ = [
    "ClientRecord",
    "Made",
    "OneClient",
    "Seal",
    "VisitRecord",
    "contents",
    "deliver",
    "names_of_parcel",
]
