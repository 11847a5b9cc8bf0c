"""How sure a resource of another system is of what it says, and whether its words say the same."""

from __future__ import annotations

from bridge.phrases import parse_phrase, qualifier
from bridge.receive.foreign.nodes import MOST_CODINGS, Node, Taking
from bridge.receive.foreign.tables import becomes, degrees, denying_mark, state_elements, warning_words

_ORDER = ("stated", "past", "stopped", "suspected", "absent", "kept")
_MAY_BE_SILENT = ("Condition", "AllergyIntolerance")


def standing(node: Node, take: Taking) -> str:
    """What the states of a resource make of it (see `mappings/receive/statuses.csv`); `kept` for what nobody can read.

    Empty where it may leave its state out and does: then nobody said how sure it is.
    """
    type = node.source.type
    if node.source.modified or node.at("doNotPerform").data not in (None, False):
        return "kept"
    found = []
    for element in state_elements().get(type, ()):
        if node.has(f"_{element}"):
            return "kept"
        if not node.has(element):
            if type in _MAY_BE_SILENT:
                continue
            return "kept"
        state = _state(node.at(element))
        found.append(becomes().get((type, element, state), "kept"))
        if found[-1] == "stated":
            _mean(node.at(element), take)
    if type in _MAY_BE_SILENT and not node.has("verificationStatus") and set(found) <= {"stated"}:
        return ""
    if "past" in found and {"suspected", "absent"} & set(found):
        return "kept"  # what was suspected once is no statement that a visit has a word for
    return max(found, key=_ORDER.index) if found else "kept"


def ended(node: Node) -> bool:
    """Whether a condition says that it is over, in an element of its own."""
    return any(key.startswith("abatement") for key in node.data) if isinstance(node.data, dict) else False


def _state(element: Node) -> str:
    """The code of a state; codings of HL7's own systems count, and two that differ are none."""
    if isinstance(element.data, str):
        return element.data
    own = {code for system, code in element.codes() if system.startswith("http://terminology.hl7.org/CodeSystem/")}
    return own.pop() if len(own) == 1 else ""


def _mean(element: Node, take: Taking) -> None:
    if isinstance(element.data, str):
        take.mean(element)
    for coding in element.each("coding"):
        take.mean(coding, "system", "code", "display")


def doubt(concept: Node, kind: str = "") -> bool:
    """Whether the words of a concept deny, doubt, date or give to somebody else what codes or state may state."""
    if len(concept.each("coding")) > MOST_CODINGS:
        return True
    texts = [concept.text("text"), *(coding.text("display") for coding in concept.each("coding"))]
    return any(_doubted(text, kind) for text in texts if text)


def doubt_around(node: Node) -> bool:
    """Whether a category of the resource does so ("past medical history"), or its degree or a stage ("none")."""
    one = node.at("category")
    if any(doubt(category) for category in ([one] if isinstance(one.data, dict) else node.each("category"))):
        return True
    stages = [stage.at("summary") for stage in node.each("stage")]
    return _degree_in_doubt(node.at("severity"), alone=True) or any(_degree_in_doubt(one) for one in stages)


def _degree_in_doubt(degree: Node, *, alone: bool = False) -> bool:
    """Whether a degree says that there is nothing of it. `alone`: one in codes that nobody knows may say so too."""
    codes = list(degree.codes())
    known = {degrees()[code] for code in codes if code in degrees()}
    if "denied" in known or doubt(degree):
        return True
    return alone and bool(codes) and not known and not degree.words().strip()


def _doubted(text: str, kind: str) -> bool:
    text = text[:1000]
    phrase = parse_phrase(text, kind)
    said = phrase.assertion if phrase else qualifier(text, kind)
    if said not in (None, "present") or "?" in text or denying_mark().search(text):
        return True
    return bool(warning_words().search(text))
