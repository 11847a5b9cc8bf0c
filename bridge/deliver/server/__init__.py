"""Sends a bundle to a FHIR server: asks first, sends once, judges every entry, and keeps a receipt.

`Delivery` brings one bundle; what may go where is decided before, by `gate`. A queue of what is still to be sent would
call the same `Delivery` with the receipt of the time before.
"""

from bridge.deliver.server.delivery import Clock, Delivered, Delivery
from bridge.deliver.server.gate import Outgoing, held_up
from bridge.deliver.server.receipt import Receipt, read_receipt, receipt_name, write_receipt
from bridge.deliver.server.sign_in import SignIn
from bridge.deliver.server.wire import Way, Wire

__all__ = [
    "Clock", "Delivered", "Delivery", "Outgoing", "Receipt", "SignIn", "Way", "Wire", "held_up", "read_receipt",
    "receipt_name", "write_receipt",
]  # fmt: skip
