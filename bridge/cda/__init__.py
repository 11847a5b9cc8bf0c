"""CDA R2: a document bundle written as a ClinicalDocument, and read back."""
