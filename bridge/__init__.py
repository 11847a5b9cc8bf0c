"""visit-bridge: an ear-care practice's records to HL7 FHIR R4 documents, and back."""

__version__ = "0.1.0"
