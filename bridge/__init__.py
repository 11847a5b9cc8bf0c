"""visit-bridge: an ear-care practice's records to HL7 FHIR R4 documents, and back.

For programs: `Converter` turns records into bundles, `check_resource` checks any R4 resource
against the standard and `check_bundle` against the trade's own sense too,
`bundle_to_visits` reads our own documents back, `Visit` is the model in between. They are imported when
they are first used, because the command line starts from here too.
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

_PUBLIC = {
    "Converter": "bridge.pipeline",
    "Issue": "bridge.issues",
    "Report": "bridge.issues",
    "Severity": "bridge.issues",
    "Visit": "bridge.visit",
    "bundle_to_visits": "bridge.receive",
    "check_bundle": "bridge.check",
    "check_resource": "bridge.check.resource",
    "load_practice": "bridge.practice",
}

__all__ = ["__version__", *_PUBLIC]


def __getattr__(name: str) -> Any:
    if name not in _PUBLIC:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_PUBLIC[name]), name)
