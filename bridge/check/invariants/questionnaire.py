"""V: Constraints of questionnaires and of the answers to them.

Where no published key exists, the rule is prose of the standard and stands under the element that it is about.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, numbered, parts, text
from bridge.check.node import MAX_DEPTH, MAX_OBJECTS, Node
from bridge.shapes import Json

_FROM_A_LIST = frozenset({"choice", "open-choice"})
_WITH_OPTIONS = _FROM_A_LIST | {"decimal", "integer", "date", "dateTime", "time", "string", "quantity"}
_WITH_LENGTH = frozenset({"boolean", "decimal", "integer", "string", "text", "url", "open-choice"})
_VALUES = {
    "boolean": "Boolean",
    "decimal": "Decimal",
    "integer": "Integer",
    "date": "Date",
    "dateTime": "DateTime",
    "time": "Time",
    "string": "String",
    "text": "String",
    "url": "Uri",
    "attachment": "Attachment",
    "reference": "Reference",
    "quantity": "Quantity",
}
"""Type of an item to the type of its values, as the code system of item types names them."""


@invariant("V300", "que-1", "Questionnaire.item")
def que_1(node: Json, at: Node) -> bool:
    type = text(node, "type")
    return has(node, "item") if type == "group" else type != "display" or not has(node, "item")


@each("V301", "que-2", "Questionnaire")
def que_2(node: Json, at: Node) -> Iterator[str]:
    """The items of this questionnaire; the expression goes into contained ones as well, whose ids are their own."""
    met: set[str] = set()
    for place, item in _items(node):
        link = text(item, "linkId")
        if link in met:
            yield f"{place}.linkId"
        elif link:
            met.add(link)


@invariant("V302", "que-3", "Questionnaire.item")
def que_3(node: Json, at: Node) -> bool:
    return text(node, "type") != "display" or not has(node, "code")


@invariant("V303", "que-4", "Questionnaire.item")
def que_4(node: Json, at: Node) -> bool:
    return not (has(node, "answerOption") and has(node, "answerValueSet"))


@invariant("V304", "que-5", "Questionnaire.item")
def que_5(node: Json, at: Node) -> bool:
    """A value set holds codes, so its text and the definition of the element allow it for choices alone; options may
    also be of the simple types that the expression lists."""
    type = text(node, "type")
    if not type or type in _FROM_A_LIST:
        return True
    return not has(node, "answerValueSet") and (type in _WITH_OPTIONS or not has(node, "answerOption"))


@invariant("V305", "que-6", "Questionnaire.item")
def que_6(node: Json, at: Node) -> bool:
    return text(node, "type") != "display" or not has(node, "required", "repeats")


@invariant("V306", "que-7", "Questionnaire.item.enableWhen")
def que_7(node: Json, at: Node) -> bool:
    return text(node, "operator") != "exists" or not has(node, "answer[x]") or has(node, "answerBoolean")


@invariant("V307", "que-8", "Questionnaire.item")
def que_8(node: Json, at: Node) -> bool:
    return text(node, "type") not in ("group", "display") or not has(node, "initial")


@invariant("V308", "que-9", "Questionnaire.item")
def que_9(node: Json, at: Node) -> bool:
    return text(node, "type") != "display" or not has(node, "readOnly")


@invariant("V309", "que-10", "Questionnaire.item")
def que_10(node: Json, at: Node) -> bool:
    """The simple types are those of the expression: no dates, no times."""
    type = text(node, "type")
    return not type or type in _WITH_LENGTH or not has(node, "maxLength")


@invariant("V310", "que-11", "Questionnaire.item")
def que_11(node: Json, at: Node) -> bool:
    return not (has(node, "answerOption") and has(node, "initial"))


@invariant("V311", "que-12", "Questionnaire.item")
def que_12(node: Json, at: Node) -> bool:
    """From the second condition on, by its text and the comment on enableBehavior; the expression counts to three."""
    return len(parts(node, "enableWhen")) < 2 or has(node, "enableBehavior")


@invariant("V312", "que-13", "Questionnaire.item")
def que_13(node: Json, at: Node) -> bool:
    return node.get("repeats") is True or len(parts(node, "initial")) < 2


@each("V313", "Questionnaire.item.enableWhen.question", "Questionnaire")
def condition_can_be_met(node: Json, at: Node) -> Iterator[str]:
    """By the comment on the element the question is looked for above, before and after the item: so it is neither the
    item itself nor below it."""
    asking = [(place, item) for place, item in _items(node) if "enableWhen" in item]
    if not asking:
        return
    places = {text(item, "linkId"): place for place, item in _items(node)}
    for place, item in asking:
        conditions = item["enableWhen"]
        for index, condition in enumerate(conditions if isinstance(conditions, list) else ()):
            question = text(condition, "question")
            found = places.get(question, "")
            if question and (not found or f"{found}.".startswith(f"{place}.")):
                yield f"{place}.enableWhen[{index}].question"


@each("V314", "Questionnaire.item.initial, Questionnaire.item.answerOption", "Questionnaire.item")
def value_of_its_type(node: Json, at: Node) -> Iterator[str]:
    """Options of a choice need not be codes, by the comment on answerOption: choices take any value."""
    type = _VALUES.get(text(node, "type"))
    for key in ("initial", "answerOption") if type else ():
        for index, row in numbered(node, key):
            if has(row, "value[x]") and not has(row, f"value{type}"):
                yield f".{key}[{index}]"


@invariant("V320", "qrs-1", "QuestionnaireResponse.item")
def qrs_1(node: Json, at: Node) -> bool:
    return not (has(node, "answer") and has(node, "item"))


def _items(questionnaire: Json) -> Iterator[tuple[str, Json]]:
    """The items at every depth that is looked at, with their places, in their order."""
    above = [_rows("", questionnaire)]
    for _ in range(MAX_OBJECTS):
        if not above:
            return
        found = next(above[-1], None)
        if found is None:
            above.pop()
            continue
        yield found
        if len(above) <= MAX_DEPTH and "item" in found[1]:
            above.append(_rows(*found))


def _rows(place: str, holder: Json) -> Iterator[tuple[str, Json]]:
    return ((f"{place}.item[{index}]", row) for index, row in numbered(holder, "item"))
