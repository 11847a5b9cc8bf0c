"""The last room: finished documents to where they are wanted."""

from bridge.deliver.file import FileNames, write_document

__all__ = ["FileNames", "write_document"]
