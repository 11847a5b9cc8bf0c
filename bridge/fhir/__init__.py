"""The FHIR R4 cupboard: tables, identifiers, moments, and how the visit's shapes are spelt in FHIR."""
