"""From a document bundle, and from nothing else, to a page that people read."""
