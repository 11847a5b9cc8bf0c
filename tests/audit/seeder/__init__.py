"""Records with inconsistencies put in on purpose, and a list of what was put where.

Shares nothing with what is tested: nothing here imports `bridge` or reads `mappings`. Codes and names are written out,
from the published FHIR R4 and SNOMED CT examples that everybody has; ranges and words are those of common practice.
"""
