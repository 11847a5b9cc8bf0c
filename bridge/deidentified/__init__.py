"""The corridor of de-identifying.

records, documents --read, coded--> visits --deidentify--> visits of nobody --written--> files of a new folder
"""

from bridge.deidentified.files import Form, written
from bridge.deidentified.gathering import Gathered, gathered
from bridge.deidentified.told import Deidentified
from bridge.deidentified.visits import deidentified

__all__ = ["Deidentified", "Form", "Gathered", "deidentified", "gathered", "written"]
