"""The questions of `visit-bridge setup`, in plain words. The answers are settings as plain data."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from bridge.regions import Region

Answers = dict[str, Any]
Check = Callable[[str], str]
HEAD = "It stands at the head of every letter."
REPLY = "A doctor who has a question about a letter has no other way to reply."
WROTE = "A letter says who wrote it, and in which role."
REGISTER = "A letter says on which register its author is; choose “none” where it is none."
ELSEWHERE = "international"
"""The region pack for readers anywhere else; it is named last."""


def ask_all() -> Answers:
    """Asks for everything a practice folder needs, apart from the namespace, which is made."""
    click.echo("A few questions about your clinic. An empty answer leaves out what is optional.")
    click.echo("Stop at any time with Ctrl-C: nothing is written before the end.\n")
    region = _region()
    answers: Answers = {"clinic": _clinic(region), "practitioners": _practitioners(region), "region": region.name}
    answers["time_zone"] = _time_zone(region)
    if region.asks_nhs_numbers:
        question = "Send NHS numbers as recorded (with their trace status), or traced ones only?"
        answers["nhs_numbers"] = _choice(question, ["as recorded", "traced only"], "as recorded")
    return answers


def _region() -> Region:
    """Whose rules letters follow: where the doctors are that they go to."""
    from bridge.regions import region, region_names

    names = sorted(region_names(), key=lambda name: name == ELSEWHERE)
    for name in names:
        click.echo(f"  {name}: {region(name).title}")
    return region(_choice("Where are the doctors that you write to?", names, "uk" if "uk" in names else None))


def _clinic(region: Region) -> Answers:
    return {
        "name": _needed("Name of the clinic", HEAD),
        "organisation_code": _optional("Organisation code, if it has one"),
        "address": {
            "lines": _parts(_needed("Street address (a comma between lines)", HEAD)),
            "city": _needed("Town", HEAD),
            **({"district": _optional(region.asks["district"])} if "district" in region.asks else {}),
            "postcode": _optional(region.asks["postcode"]),
        },
        "phone": _needed("Phone number for doctors' questions", REPLY, _shaped("phone")),
        "hours": _needed("When that phone is answered, such as Mon-Fri 9:00-17:00", REPLY, _shaped("hours")),
        "email": _optional("E-mail", _shaped("email")),
    }


def _practitioners(region: Region) -> list[Answers]:
    people: list[Answers] = []
    while not people or click.confirm("Is there another practitioner?", default=False):
        click.echo(f"\nPractitioner {len(people) + 1}")
        people.append(_practitioner(region, [str(p["key"]) for p in people]))
    return people


def _practitioner(region: Region, taken: list[str]) -> Answers:
    def free(key: str) -> str:
        if key.casefold() in [t.casefold() for t in taken]:
            raise click.UsageError("Somebody has these initials already; add a letter or a digit.")
        return key

    person: Answers = {
        "key": _needed("Initials, as your records write them", "Records name a practitioner by them.", free),
        "name": {
            "prefix": _optional("Title, such as Ms or Dr"),
            "given": _needed("First names", WROTE).split(),
            "family": _needed("Surname", WROTE),
        },
        "role": _needed("Role, such as Ear-care practitioner", WROTE),
    }
    return person | _registration(region)


def _registration(region: Region) -> Answers:
    from bridge.practice.registers import load_registers

    registers = {key: one for key, one in load_registers().items() if region.name in one.regions}
    for register in registers.values():
        click.echo(f"  {register.key}: {register.name}")
    click.echo("  other: another register\n  none: on no statutory register")
    key = _choice("Which professional register are they on?", [*registers, "other", "none"], None)
    if key == "none":
        return {"no_register": True}
    if key == "other":
        key = _needed("Name of that register", REGISTER)
        return {"registrations": [{"register": key, "number": _needed("Registration number", REGISTER)}]}
    while True:
        number = _needed("Registration number", REGISTER)
        if registers[key].usual(number):
            break
        click.echo(f"Numbers of {key} are usually {registers[key].in_words}.")
        if click.confirm("Keep it as it is?", default=False):
            break
    return {"registrations": [{"register": key, "number": number}]}


def _time_zone(region: Region) -> str:
    from bridge.practice.zones import check_zone, system_zone

    def known(name: str) -> str:
        try:
            return check_zone(name)
        except ValueError as error:
            raise click.UsageError(f"That {error}.") from None

    default = system_zone() or region.time_zone or None
    return str(click.prompt("Time zone of the clinic", default=default, value_proc=known))


def _needed(question: str, why: str, check: Check = str) -> str:
    """An answer that is not empty; `why` it is needed is told where it is."""

    def filled(answer: str) -> str:
        if not answer.strip():
            raise click.UsageError(f"This one is needed. {why}")
        return check(answer.strip())

    # the empty default lets an empty answer come here, instead of being asked again without a word
    return str(click.prompt(question, default="", show_default=False, value_proc=filled))


def _optional(question: str, check: Check = str) -> str | None:
    def either(answer: str) -> str:
        return check(answer.strip()) if answer.strip() else ""

    return str(click.prompt(f"{question} (optional)", default="", show_default=False, value_proc=either)) or None


def _shaped(setting: str) -> Check:
    """A check that asks again for what does not look like this setting."""

    def checked(answer: str) -> str:
        from bridge.practice.reached import PROBLEMS

        if why := PROBLEMS[setting](answer):
            raise click.UsageError(f"That is of an unusual shape: it {why}.")
        return answer

    return checked


def _choice(question: str, among: list[str], default: str | None) -> str:
    return str(click.prompt(question, type=click.Choice(among, case_sensitive=False), default=default))


def _parts(line: str) -> list[str]:
    return [part.strip() for part in line.split(",") if part.strip()]
