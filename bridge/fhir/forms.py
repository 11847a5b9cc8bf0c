"""Forms of simple values that are looked for in several places, as regular expressions without anchors.

Source: https://hl7.org/fhir/R4/datatypes.html#id and #uuid.
"""

from __future__ import annotations

ID = r"[A-Za-z0-9\-.]{1,64}"
UUID = r"urn:uuid:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
