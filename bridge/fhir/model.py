"""The one door to the typed FHIR models of fhir.resources, for library users and as a second opinion.

That package has no R4 (4.0.1) module; its R4B (4.3.0) module is the nearest and differs in little for
what we write. It is costly to import and holds no bindings, invariants or links: never in the usual way.
"""

from __future__ import annotations

from typing import Any

from bridge.fhir.write_json import dumps
from bridge.issues import Issue, Where, issue


def typed(resource: dict[str, Any]) -> Any:
    """The resource as an object of fhir.resources' R4B models. Raises pydantic's ValidationError."""
    from fhir.resources.R4B import get_fhir_model_class

    return get_fhir_model_class(resource["resourceType"]).model_validate_json(dumps(resource))


def second_opinion(resource: dict[str, Any]) -> list[Issue]:
    """What fhir.resources has against a resource or bundle, as S180 each; values are not quoted."""
    from pydantic import ValidationError

    try:
        typed(resource)
    except ValidationError as problem:
        return [
            issue("S180", f"A second checker says: {error['msg']}.", Where(path=_path(resource, error["loc"])))
            for error in problem.errors(include_url=False, include_input=False, include_context=False)
        ]
    except (KeyError, TypeError, ValueError):
        return [issue("S180", "A second checker does not know this type of resource.", Where(path="resourceType"))]
    return []


def _path(resource: dict[str, Any], place: tuple[int | str, ...]) -> str:
    parts = [f"[{p}]" if isinstance(p, int) else f".{p}" for p in place]
    return str(resource.get("resourceType", "")) + "".join(parts)
