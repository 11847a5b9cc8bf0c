"""Clinical resources as entries of CDA R2, and back.

    element = entry_of(resource, context)
    resource = resource_of(element, context)

Which act stands for a type, and where each of its elements is in there, say the tables `mappings/cda/entries*.csv`;
each place is one module's matter both ways (`places.py` lists them). `claims.py` keeps what is suspected, denied or
past from being read as a finding.
"""

from bridge.cda.entries.read import resource_of
from bridge.cda.entries.write import entry_of

__all__ = ["entry_of", "resource_of"]
