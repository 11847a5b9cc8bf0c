"""The last room: finished documents to where they are wanted."""

from bridge.deliver.file import FileNames, Shelf, write_document
from bridge.deliver.letters import Keeper, State, letter_name

__all__ = ["FileNames", "Keeper", "Shelf", "State", "letter_name", "write_document"]
