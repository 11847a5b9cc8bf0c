"""The last room: finished documents to where they are wanted."""

from bridge.deliver.file import FileNames, Shelf, write_document

__all__ = ["FileNames", "Shelf", "write_document"]
