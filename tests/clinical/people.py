"""Who comes to a clean visit, who sees them, and who may know: invented, all of them."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import Day, maybe, some

FAMILIES = ("Marlow-Finch", "Thistlewood", "Quayle-Bright", "Pennywell", "Oakenshaw", "Larkfield", "Wetherby-Stone")
GIVEN = ("Perpetua", "Ambrose", "Cordelia", "Lysander", "Marigold", "Tobias", "Zinnia", "Barnaby")
KEYS = ("PS", "AV")
RISKS = (
    "incomplete removal", "discomfort", "dizziness", "cough", "noise", "new or worse tinnitus", "grazing and bleeding",
    "infection", "perforation", "hearing change", "alternative: no treatment", "alternative: softener only",
    "alternative: irrigation", "alternative: microsuction", "alternative: referral",
)  # fmt: skip
ACCESS = ("interpreter", "lip reading", "BSL", "wheelchair", "chaperone", "large print")


def nhs_number(rng: random.Random) -> str:
    """A number of the range that is never given out, with its check digit (NHS Data Dictionary, NHS NUMBER)."""
    while True:
        digits = [9, 9, 9, *(rng.randrange(10) for _ in range(6))]
        check = (11 - sum(d * w for d, w in zip(digits, range(10, 1, -1), strict=True)) % 11) % 11
        if check < 10:
            return "".join(map(str, [*digits, check]))


def years(rng: random.Random, child: bool) -> int:
    if child:
        return rng.randrange(5, 16)
    return rng.choice((rng.randrange(18, 40), rng.randrange(40, 65), rng.randrange(60, 98)))


def client(rng: random.Random, day: Day, age: int) -> dict[str, Any]:
    family = rng.choice(FAMILIES)
    number = rng.randrange(1000, 9999)
    person: dict[str, Any] = {
        "number": f"C-{number}",
        "legal_name": {"given": [rng.choice(GIVEN)], "family": family},
        "birth_date": day.born(age, rng.randrange(40, 320)),
        "sex": rng.choice(("female", "male", "female", "male", "other")),
        "nhs_number": nhs_number(rng),
        "nhs_number_status": "01",
        "address": {"lines": [f"{number % 90 + 1} Weirside"], "city": "Aldersby", "postcode": "ZX9 1JR"},
        "phones": [f"07700 900{number % 1000:03d}"],
        **maybe(rng, 0.4, emails=[f"c{number}@example.org"]),
    }
    if age < 18:
        person["guardians"] = [guardian(rng, family)]
    return person


def guardian(rng: random.Random, family: str) -> dict[str, Any]:
    return {
        "name": {"given": [rng.choice(GIVEN)], "family": family},
        "relationship": rng.choice(("mother", "father")),
        "parental_responsibility": True,
        "phone": f"07700 900{rng.randrange(1000):03d}",
        "accompanied": True,
    }


def treatment_consent(rng: random.Random, day: Day, age: int, who: str, capable: bool = True) -> dict[str, Any]:
    """How it was agreed to what was done, three minutes into the visit."""
    consent: dict[str, Any] = {
        "status": "given",
        "form": rng.choice(("verbal, recorded", "written", "electronic signature")),
        "at": day.at(3),
        "taken_by": who,
        "explained": some(rng, RISKS[:10], 4, 10) + some(rng, RISKS[10:], 1, 4),
    }
    if age < 16:
        return consent | {"status": "given by guardian", "given_by": "parent", "capacity": "under 16; agreed as well"}
    if not capable:
        return consent | {
            "status": "best interests",
            "form": "written",
            "given_by": "practitioner with the daughter, who holds the power of attorney",
            "capacity": "assessed today: lacks capacity for this decision",
            "note": "Decided together with the daughter; wax stops the hearing aids from being worn.",
        }
    return consent | {"given_by": "client", "capacity": rng.choice(("assumed", "assessed, has capacity"))}


def sharing(rng: random.Random, day: Day, referred_to: str | None, images: bool) -> dict[str, Any]:
    if referred_to is None and rng.random() < 0.1:
        if rng.random() < 0.5:
            return {"status": "refused", "at": day.at(4), "reason": "would rather tell the doctor in person"}
        return {"status": "not asked", "reason": "nothing was found that the doctor needs to know"}
    recipients = ["family doctor", *([referred_to] if referred_to else [])]
    scope = ["visit summary", *(["referral"] if referred_to else []), *(["images"] if images else [])]
    return {"status": "given", "recipients": recipients, "scope": scope, "form": "verbal, recorded", "at": day.at(4)}


def allergies(rng: random.Random) -> Any:
    """None of them is against anything that the generator lets a practice use."""
    if rng.random() < 0.75:
        return "none known"
    return [
        rng.choice((
            {"term": "penicillin", "reaction": "rash"},
            {"term": "hay fever", "reaction": "sneezing"},
            {"term": "latex", "reaction": "itching", "note": "Gloves without latex were used."},
        ))
    ]  # fmt: skip


def medicines(rng: random.Random) -> Any:
    if rng.random() < 0.5:
        return "none"
    return [{"name": name} for name in some(rng, ("amlodipine", "atorvastatin", "levothyroxine", "lansoprazole"), 1, 3)]
