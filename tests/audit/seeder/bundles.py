"""Bundles of another maker, one in a line, written as plain JSON; faults are put into some of them."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

from tests.audit.seeder.people import name, nhs_number, wrong_number
from tests.audit.seeder.sheets import Seeded

Resource = dict[str, Any]
SNOMED = "http://snomed.info/sct"
SITES = {"right": ("25577004", "Right ear structure"), "left": ("89644007", "Left ear structure")}
"""Codes of the published Global Patient Set, as the examples of several makers write them."""
CONDITIONS = (
    ("impacted cerumen", "18070006", "Impacted cerumen"),
    ("otitis externa", "3135009", "Otitis externa"),
)
IRRIGATION = ("irrigation", "172630005", "Syringing ear to remove wax")
NOTE = (
    "The plug came out in one piece after the second attempt, the canal behind it was pale and dry, and we spoke about "
    "drops for the weeks to come."
)


def write_bundles(path: Path, count: int, seed: int, each: int) -> Seeded:
    """`count` bundles, of which about one in `each` gets a fault of each pattern that a bundle can show."""
    random, seeded = Random(seed), Seeded()
    with path.open("w", encoding="utf-8") as file:
        for nth in range(count):
            bundle = Bundle(nth, random)
            slot = nth % (each * 2)
            if slot % 2 == 0 and slot // 2 < len(FAULTS):
                pattern, fault = FAULTS[slot // 2]
                fault(bundle, random)
                (seeded.copy if pattern == "I33" else seeded.put)(pattern, bundle.number)
                for more in ALSO.get(pattern, ()):
                    seeded.may(more, bundle.number)
            file.write(json.dumps(bundle.whole()) + "\n")
    return seeded


class Bundle:
    """One visit: a client, who saw them, a condition and an act for one ear or for each."""

    def __init__(self, nth: int, random: Random) -> None:
        self.number = f"B{nth:06d}"
        family, given = name(random)
        self.day = date(2025, 1, 6) + timedelta(days=nth % 480)
        self.patient: Resource = {
            "resourceType": "Patient", "id": f"p{nth}", "name": [{"family": family, "given": [given]}],
            "identifier": [{"system": "https://fhir.nhs.uk/Id/nhs-number", "value": nhs_number(nth + 400_000)}],
        }  # fmt: skip
        self.subject = {"reference": f"Patient/p{nth}"}
        self.visit = {"reference": f"Encounter/e{nth}"}
        self.encounter: Resource = {
            "resourceType": "Encounter", "id": f"e{nth}", "status": "finished", "subject": self.subject,
            "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "AMB"},
            "identifier": [{"system": "https://example.org/visits", "value": self.number}],
            "period": {"start": f"{self.day}T10:00:00+00:00", "end": f"{self.day}T10:30:00+00:00"},
        }  # fmt: skip
        who = random.choice(("A1", "A2", "A3"))
        self.who: Resource = {
            "resourceType": "Practitioner", "id": f"w{nth}",
            "identifier": [{"system": "https://example.org/staff", "value": who}],
        }  # fmt: skip
        self.side = random.choice(("right", "left"))
        self.condition = self.add("Condition", *random.choice(CONDITIONS), self.side)
        self.act = self.add("Procedure", *IRRIGATION, self.side)
        self.more: list[Resource] = []
        if random.random() < 0.4:
            self.more.append(self.add("Procedure", *IRRIGATION, "left" if self.side == "right" else "right"))
        self.nth = nth

    def add(self, kind: str, words: str, code: str, display: str, side: str) -> Resource:
        made: Resource = {
            "resourceType": kind, "id": f"{kind[0].lower()}{self.number}{side}", "subject": self.subject,
            "code": {"coding": [{"system": SNOMED, "code": code, "display": display}], "text": words},
            "encounter": self.visit,
        }  # fmt: skip
        if side:
            made["bodySite"] = [site(side)]
        if kind == "Condition":
            base = "http://terminology.hl7.org/CodeSystem/condition-"
            made["clinicalStatus"] = {"coding": [{"system": f"{base}clinical", "code": "active"}]}
            made["verificationStatus"] = {"coding": [{"system": f"{base}ver-status", "code": "confirmed"}]}
        else:
            made["status"] = "completed" if kind == "Procedure" else "final"
            made["performedDateTime" if kind == "Procedure" else "effectiveDateTime"] = f"{self.day}T10:10:00+00:00"
        return made

    def whole(self) -> Resource:
        resources = [self.patient, self.encounter, self.who, self.condition, self.act, *self.more]
        return {
            "resourceType": "Bundle", "type": "collection",
            "entry": [
                {"fullUrl": f"https://example.org/{r['resourceType']}/{r['id']}", "resource": r} for r in resources
            ],
        }  # fmt: skip


def site(side: str) -> Resource:
    code, display = SITES[side]
    return {"coding": [{"system": SNOMED, "code": code, "display": display}]}


def other(side: str) -> str:
    return "left" if side == "right" else "right"


def _say(bundle: Bundle, words: str, code: str = "", display: str = "") -> None:
    bundle.condition["code"] = {"text": words}
    if code:
        bundle.condition["code"]["coding"] = [{"system": SNOMED, "code": code, "display": display}]


def _side_in_words(bundle: Bundle, random: Random) -> None:
    bundle.condition.pop("bodySite")
    bundle.condition["code"]["text"] = f"{bundle.side} ear {bundle.condition['code']['text']}"


def _words_other_side(bundle: Bundle, random: Random) -> None:
    bundle.condition["code"]["text"] += f", {other(bundle.side)} ear"


def _code_other_side(bundle: Bundle, random: Random) -> None:
    code, display = SIDED[other(bundle.side)]
    _say(bundle, "deafness", code, display)


SIDED = {
    "right": ("1010236009", "Conductive hearing loss of right ear"),
    "left": ("1010238005", "Conductive hearing loss of left ear"),
}


def _both_at_once(bundle: Bundle, random: Random) -> None:
    bundle.more.clear()
    bundle.act["bodySite"] = [site("right"), site("left")]


def _both_and_one(bundle: Bundle, random: Random) -> None:
    again = bundle.add("Condition", bundle.condition["code"]["text"], "", "", "right")
    again["id"] += "again"
    again["code"] = bundle.condition["code"]
    bundle.condition["bodySite"] = [site("right"), site("left")]
    bundle.more.append(again)


def _spelling(bundle: Bundle, random: Random) -> None:
    bundle.condition["code"]["text"] = random.choice(("impacted cerumenn", "impactd cerumen"))
    bundle.condition["code"]["coding"] = [{"system": SNOMED, "code": "18070006", "display": "Impacted cerumen"}]


def _two_kinds(bundle: Bundle, random: Random) -> None:
    bundle.more.append(bundle.add("Observation", *random.choice(CONDITIONS), bundle.side))


def _general(bundle: Bundle, random: Random) -> None:
    code, name = random.choice((("25906001", "Disorder of ear"), ("64572001", "Disease")))
    _say(bundle, random.choice(("exostosis", "tympanosclerosis", "cholesteatoma")), code, name)


def _retired(bundle: Bundle, random: Random) -> None:
    if random.random() < 0.5:
        bundle.more.append(bundle.add("Observation", "discharge", "162364004", "Ear discharge present", bundle.side))
    else:
        bundle.act["bodySite"] = [{"coding": [{"system": SNOMED, "code": "34338003", "display": "Both ears"}]}]
        bundle.more.clear()


def _act_as_finding(bundle: Bundle, random: Random) -> None:
    if random.random() < 0.5:
        _say(bundle, "ear wax removed", "385904005", "Removal of ear wax")
    else:
        bundle.act["code"] = {"text": "taken out", "coding": [{"system": SNOMED, "code": "18070006"}]}
        bundle.more.clear()


def _past(bundle: Bundle, random: Random) -> None:
    when = random.choice(("old", "previous", "h/o", "history of", "past"))
    _say(bundle, f"{when} perforation", "60442001", "")


def _doubted(bundle: Bundle, random: Random) -> None:
    words = ("?cholesteatoma", "query cholesteatoma", "possible cholesteatoma", "suspected cholesteatoma",
             "probable cholesteatoma", "cholesteatoma?")  # fmt: skip
    _say(bundle, random.choice(words), "363654007", "")


def _denied(bundle: Bundle, random: Random) -> None:
    words = ("no perforation", "no sign of perforation", "without perforation", "nil perforation")
    _say(bundle, random.choice(words), "60442001", "")


def _no_code(bundle: Bundle, random: Random) -> None:
    _say(bundle, random.choice(("strange crust", "odd feeling on the rim")))


def _another_day(bundle: Bundle, random: Random) -> None:
    days = random.choice((-60, -1, 1, 365))
    bundle.act["performedDateTime"] = f"{bundle.day + timedelta(days=days)}T10:10:00+00:00"


def _no_side(bundle: Bundle, random: Random) -> None:
    random.choice((bundle.act, bundle.condition)).pop("bodySite")


def _no_method(bundle: Bundle, random: Random) -> None:
    bundle.act["code"] = {
        "text": "removal",
        "coding": [{"system": SNOMED, "code": "385904005", "display": "Removal of ear wax"}],
    }


def _harm(bundle: Bundle, random: Random) -> None:
    words = ("Small bleed as the plug came out.", "Client felt dizzy; sat for ten minutes.", "Canal skin bled.",
             "No pain. Perforation seen after the last jet.", "Fainted on getting up.")  # fmt: skip
    bundle.act["note"] = [{"text": random.choice(words)}]


def _no_system(bundle: Bundle, random: Random) -> None:
    coding = random.choice((bundle.act, bundle.condition))["code"]["coding"][0]
    coding.pop(random.choice(("system", "code")))


def _other_name(bundle: Bundle, random: Random) -> None:
    _say(bundle, "perforation", "60442001", "Impacted cerumen")


def _check_digit(bundle: Bundle, random: Random) -> None:
    if random.random() < 0.5:
        bundle.patient["identifier"][0]["value"] = wrong_number(bundle.patient["identifier"][0]["value"])
    else:
        bundle.condition["code"]["coding"][0]["code"] = "18070007"


def _other_code(bundle: Bundle, random: Random) -> None:
    _say(bundle, "impacted cerumen", "3135009", "Otitis externa")


def _with_loss(bundle: Bundle, random: Random) -> None:
    _say(bundle, "furunculosis", "3135009", "Otitis externa")


def _eyes(bundle: Bundle, random: Random) -> None:
    bundle.condition["code"]["text"] += random.choice((" OD", " OS"))


def _copied(bundle: Bundle, random: Random) -> None:
    bundle.act["note"] = [{"text": NOTE}]


FAULTS: tuple[tuple[str, Callable[[Bundle, Random], None]], ...] = (
    ("I01", _side_in_words), ("I02", _words_other_side), ("I03", _code_other_side), ("I04", _both_at_once),
    ("I05", _both_and_one), ("I07", _spelling), ("I08", _two_kinds), ("I09", _general), ("I10", _retired),
    ("I11", _act_as_finding), ("I12", _past), ("I13", _doubted), ("I14", _denied), ("I15", _no_code),
    ("I20", _another_day), ("I22", _no_side), ("I23", _no_method), ("I24", _harm), ("I25", _no_system),
    ("I26", _other_name), ("I27", _check_digit), ("I28", _other_code), ("I29", _with_loss), ("I31", _eyes),
    ("I33", _copied),
)  # fmt: skip
ALSO = {
    "I03": ("I02",), "I05": ("I04",), "I09": ("I28", "I29"), "I10": ("I04",), "I11": ("I28", "I29"),
    "I25": ("I15", "I22", "I28"), "I27": ("I28", "I29"), "I28": ("I29",), "I29": ("I28",),
}  # fmt: skip
"""Patterns that a fault shows as well, so that finding them there is no false alarm."""
