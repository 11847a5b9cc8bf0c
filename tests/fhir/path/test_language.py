"""Expressions as guides write them, on small data; what each must say is read from the page named beside it.

N1: https://hl7.org/fhirpath/N1, FHIR: https://hl7.org/fhir/R4/fhirpath.html.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.fhir import tables
from bridge.fhir.path import Env, invariant, selected
from tests.work import work

UCUM = "http://unitsofmeasure.org"
PATIENT: dict[str, Any] = {
    "resourceType": "Patient",
    "id": "p",
    "active": True,
    "identifier": [
        {"system": "http://example.org/a", "value": "123"},
        {"system": "http://example.org/b", "value": "9"},
    ],
    "name": [{"use": "official", "family": "Ear", "given": ["Ann", "Bo"]}, {"use": "nickname", "given": ["Ann"]}],
    "gender": "female",
    "_gender": {"extension": [{"url": "http://example.org/g", "valueCode": "x"}]},
    "_birthDate": {"extension": [{"url": "http://example.org/d", "valueCode": "unknown"}]},
    "deceasedDateTime": "2020-03",
    "multipleBirthInteger": 2,
    "contact": [{"telecom": [{"system": "phone"}]}, {"name": {"text": "c"}}],
    "contained": [{"resourceType": "Organization", "id": "o", "name": "Clinic"}],
    "managingOrganization": {"reference": "#o"},
    "generalPractitioner": [{"reference": "Practitioner/1"}, {"reference": "urn:uuid:1", "type": "Organization"}],
    "extension": [
        {"url": "http://example.org/n", "valueDecimal": Decimal("1.50")},
        {"url": "http://example.org/q", "valueQuantity": {"value": 3, "system": UCUM, "code": "mm"}},
        {"url": "http://example.org/c", "extension": [{"url": "part", "valueString": "x"}]},
    ],
}  # fmt: skip

HOLDS = {
    "N1 6.5 boolean logic": (
        "true and true",
        "(true and {}) or true",
        "(false and {}) = false",
        "({} and true).empty()",
        "({} or false).empty()",
        "{} or true",
        "({} xor true).empty()",
        "true xor false",
        "({} implies false).empty()",
        "{} implies true",
        "false implies {}",
        "(true implies {}).empty()",
        "false.not()",
        "{}.not().empty()",
    ),
    "N1 6.5: precedence": (
        "true or false and false",
        "false implies false or false",
        "1 + 2 * 3 = 7",
        "(1 | 2).count() = 2",
    ),
    "N1 4.5 a single item is true": ("name.first() and true", "gender and true"),
    "N1 6.1 equality": (
        "name.given = ('Ann' | 'Bo').combine('Ann')",
        "({} = 1).empty()",
        "1 = 1.0",
        "extension('http://example.org/n').value = 1.5",
        "gender != 'male'",
        "'Ann' ~ 'ANN '",
        "1.55 ~ 1.5501",
        "(1 | 2) ~ (2 | 1)",
        "((1 | 2) = (2 | 1)) = false",
        "active = true",
        "({} ~ {}) = true",
    ),
    "N1 6.1, 6.2 dates": (
        "@2020-01 < @2020-02-01",
        "(@2020-01 < @2020-01-15).empty()",
        "(@2020 = @2020-01).empty()",
        "@2020-01-01T10:00:00+01:00 = @2020-01-01T09:00:00Z",
        "@2020-01-01T10:00:00.0Z = @2020-01-01T10:00:00Z",
        "@T10:00 < @T11:00",
        "deceased > @2020-01-01",
        "(deceased = @2020-03-01).empty()",
        "deceased >= @2019-12-31T23:00:00",
    ),
    "N1 6.2 comparison": (
        "'a' < 'b'",
        "1 < 1.5",
        "multipleBirth >= 2",
        "({} > 1).empty()",
        "extension.value.ofType(Quantity) > 2 'mm'",
    ),
    "N1 6.4 membership": (
        "'Ann' in name.given",
        "name.given contains 'Bo'",
        "({} in name.given).empty()",
        "('x' in {}) = false",
    ),
    "N1 6.6 math": (
        "7 div 2 = 3",
        "7 mod 2 = 1",
        "7 / 2 = 3.5",
        "(1 / 0).empty()",
        "'a' + 'b' = 'ab'",
        "'a' & {} = 'a'",
        "-1 < 0",
    ),
    "N1 5.1 existence": (
        "name.exists(use = 'official')",
        "name.all(given.exists())",
        "(name.all(family.exists())) = false",
        "telecom.all(system.exists())",
        "telecom.empty()",
        "name.given.isDistinct() = false",
        "name.given.distinct().count() = 2",
        "('Ann' | 'Bo').subsetOf(name.given)",
        "name.given.supersetOf('Bo')",
        "(true | false).anyTrue()",
        "{}.allTrue()",
    ),
    "N1 5.2 filtering": (
        "identifier.where(system = 'http://example.org/a').value = '123'",
        "identifier.where(system = 'http://example.org/c').empty()",
        "name.select(given).count() = 3",
        "name.select(given.first()).count() = 2",
        "contact.repeat(telecom | name).count() = 2",
        "deceased.ofType(dateTime).exists()",
        "deceased.ofType(boolean).empty()",
    ),
    "N1 5.3 subsetting": (
        "name[0].use = 'official'",
        "name[5].empty()",
        "name.given.first() = 'Ann'",
        "name.given.last() = 'Ann'",
        "name.given.tail().count() = 2",
        "name.given.skip(1).take(1) = 'Bo'",
        "name.given.take(-1).empty()",
        "identifier.system.intersect('http://example.org/a') = 'http://example.org/a'",
        "name.given.exclude('Ann') = 'Bo'",
        "identifier.where(system.endsWith('a')).single().value = '123'",
    ),
    "N1 5.4 combining: the argument is about $this": (
        "name.select(use.union(given)).count() = 5",
        "name.given.combine(name.given).count() = 6",
        "(name.given | name.given).count() = 2",
    ),
    "N1 5.5 conversion": (
        "iif(active, 'a', 'b') = 'a'",
        "iif({}, 'a').empty()",
        "'12'.toInteger() = 12",
        "'x'.toInteger().empty()",
        "'1.5'.toDecimal() = 1.5",
        "multipleBirth.toString() = '2'",
        "'true'.toBoolean()",
        "'2020-01'.convertsToDate()",
    ),
    "N1 5.6 texts": (
        "identifier.first().value.matches('^[0-9]{3}$')",
        "identifier.first().value.matches('^\\\\d+$')",
        "identifier.first().value.matches('^\\d+$')",
        "identifier.first().value.length() = 3",
        "'abc'.substring(1) = 'bc'",
        "'abc'.substring(1, 1) = 'b'",
        "'abc'.substring(9).empty()",
        "'abc'.indexOf('c') = 2",
        "name.given.join(',') = 'Ann,Bo,Ann'",
        "'a b'.split(' ').last() = 'b'",
        "'abc'.replace('b', 'x') = 'axc'",
        "'a.b'.replaceMatches('\\\\..*', '') = 'a'",
        "'Abc'.lower() = 'abc' and 'a'.upper() = 'A'",
        "'abc'.contains('b') and 'abc'.startsWith('a') and 'abc'.endsWith('c')",
        "'it\\'s'.length() = 4",
        "'\\u0041' = 'A'",
    ),
    "N1 7 aggregates": (
        "(1 | 2 | 3).aggregate($total + $this, 0) = 6",
        "(3 | 1 | 2).aggregate(iif($total.empty() or $this < $total, $this, $total)) = 1",
    ),
    "by the careful engine": (
        "@2000-02-29 + 1 year = @2001-02-28",
        "deceased + 1 month > @2020-03",
        "3.14.round(1) = 3.1",
        "(-5).abs() = 5",
    ),
    "N1 5.7 tree": (
        "descendants().where(reference.exists()).count() = 3",
        "children().count() > 10",
        "descendants().where($this is Coding).empty()",
        "descendants().ofType(Organization).name = 'Clinic'",
    ),
    "N1 6.3 types": (
        "deceased is dateTime",
        "(deceased is boolean) = false",
        "deceased is FHIR.dateTime",
        "(deceased as boolean).empty()",
        "gender is string",
        "$this is Patient and $this is DomainResource and $this is Resource",
        "%resource.is(Patient)",
        "active is Boolean",
        "'x' is System.String",
        "({} is Patient).empty()",
    ),
    "FHIR: simple values with extensions": (
        "birthDate.exists()",
        "birthDate.hasValue().not()",
        "gender.hasValue()",
        "birthDate.extension('http://example.org/d').value = 'unknown'",
        "gender.extension.where(url = 'http://example.org/g').value.exists()",
        "extension('http://example.org/c').extension('part').value = 'x'",
        "extension('http://example.org/none').empty()",
        "extension.where(url = 'http://example.org/n').exists()",
    ),
    "FHIR: references": (
        "managingOrganization.resolve().name = 'Clinic'",
        "managingOrganization.resolve() is Organization",
        "generalPractitioner.all(resolve() is Practitioner or resolve() is Organization)",
        "generalPractitioner.where(resolve() is Practitioner).count() = 1",
        "managingOrganization.reference.startsWith('#').not() or "
        "(managingOrganization.reference.substring(1) in %resource.contained.id)",
    ),
    "FHIR: constants": (
        "%ucum = 'http://unitsofmeasure.org' and %sct = 'http://snomed.info/sct' and %loinc = 'http://loinc.org'",
        "%`vs-a` = 'http://hl7.org/fhir/ValueSet/a'",
        "%\"ext-a\" = 'http://hl7.org/fhir/StructureDefinition/a'",
        "%resource.ofType(Patient).exists()",
        "%rootResource.id = 'p'",
        "%context.id = 'p'",
    ),
    "as guides write them": (
        "Patient.name.exists()",
        "name.where(use = 'official').given.exists() or name.where(use = 'old').exists()",
        "name.all(family.exists() or given.exists())",
        "contact.all(name.exists() or telecom.exists() or address.exists())",
        "identifier.where(system = 'http://example.org/a').all(value.matches('^[0-9]{3}$'))",
        "(gender.exists() and gender != 'unknown') implies gender.extension.exists()",
        "name.given.trace('given').exists() // as a note\n and /* another */ true",
        "identifier.select(system & '|' & value).isDistinct()",
        "name.select($index) = (0 | 1)",
        "`name`.exists()",
        "multipleBirthInteger = 2",
    ),
}
VIOLATED = (
    "gender = 'male'",
    "name.count() > 2",
    "name.all(family.exists())",
    "identifier.value.all(matches('^[0-9]{3}$'))",
    "deceased < @2019",
    "managingOrganization.resolve() is Practitioner",
    "generalPractitioner.all(resolve() is Practitioner)",
    "birthDate.hasValue()",
    "extension('http://example.org/q').value.code = 'cm'",
    "name.family.matches('^X')",
    "active.not()",
    "contained.exists() and contained.where(id = 'x').exists()",
    "gender.memberOf('http://example.org/v') and false",
)
OPEN = (
    "gender.memberOf('http://example.org/v')",
    "text.div.htmlChecks()",
    "conformsTo('http://example.org/p')",
    "generalPractitioner.first().resolve().name.exists()",
    "name and true",
    "name.given.matches('a')",
    "'a' < 1",
    "name.single()",
    "extension.value.ofType(Quantity) > 2 'cm'",
    "gender.matches('(')",
    "name.where(",
    "",
    "%unknown.exists()",
    "nosuch(1)",
    "(" * 500 + "true" + ")" * 500,
    "name" + ".first()" * 3000,
    "true" + " and true" * 1200,
)


def resolve(reference: str, resource: Any) -> Any:
    return next((c for c in resource.get("contained", ()) if reference == f"#{c['id']}"), None)


def says(expression: str, value: Any = PATIENT, type: str = "Patient") -> bool | None:
    return invariant(expression)(value, type, Env(PATIENT, PATIENT, resolve))


@pytest.mark.parametrize("expression", [e for rows in HOLDS.values() for e in rows])
def test_holds(expression: str) -> None:
    assert says(expression) is True
    negated = says(f"({expression}\n).not()")
    assert negated is False, "it held only for want of an answer"


@pytest.mark.parametrize("expression", VIOLATED)
def test_violated(expression: str) -> None:
    assert says(expression) is False


@pytest.mark.parametrize("expression", OPEN, ids=lambda e: e[:40])
def test_not_decided(expression: str) -> None:
    assert says(expression) in ({None} if len(expression) < 5000 else {None, True})


@pytest.mark.parametrize("expression", ["memberOf('v')", "timeOfDay() = @T12", "%resource.name.single().exists()"])
def test_what_cannot_be_said_does_not_matter_where_the_other_side_decides(expression: str) -> None:
    assert says(f"{expression} or true") is True
    assert says(f"true or {expression}") is True
    assert says(f"{expression} and false") is False
    assert says(f"false implies {expression}") is True
    assert says(f"{expression} implies true") is True
    assert says(f"{expression} or false") is None
    assert says(f"identifier.exists({expression})") is None


@pytest.mark.parametrize("clock", ["today()", "now()"])
def test_the_clock_tells_what_is_past_and_what_is_to_come(clock: str) -> None:
    assert says(f"@1990-01-01 < {clock} and @2990-01-01 > {clock}") is True
    assert says(f"birthDate <= {clock}", {"birthDate": "2990-01-01"}) is False
    assert says(f"$this <= {clock}", "2990-01-01", "date") is False


def test_simple_values_are_a_focus_too() -> None:
    assert says("$this.matches('^a+$')", "aaa", "string") is True
    assert says("length() < 3", "aaa", "code") is False
    assert says("$this > 2", 3, "positiveInt") is True
    assert says("toString().length() = 4", "2020", "date") is True
    assert says("hasValue()", None, "string") is False


def test_the_parts_of_nested_types_are_known() -> None:
    item = {"linkId": "1", "item": [{"linkId": "1.1", "answer": [{"valueCoding": {"code": "x"}}]}]}
    assert says("item.answer.value.ofType(Coding).code = 'x'", item, "QuestionnaireResponse.item") is True
    assert says("descendants().linkId = '1.1'", item, "QuestionnaireResponse.item") is True


def test_the_extension_of_a_context_is_a_constant() -> None:
    env = Env(PATIENT, PATIENT, resolve, {"url": "u", "valueInteger": 0})
    assert invariant("%extension.value = 0")(PATIENT, "Patient", env) is True
    assert invariant("%extension.valueInteger = 1")(PATIENT, "Patient", env) is False


def test_selected_gives_the_objects_themselves() -> None:
    found = selected("Patient.name.where(use = 'official')")(PATIENT, "Patient", Env(PATIENT, PATIENT, resolve))
    assert found is not None
    assert found[0][0] is PATIENT["name"][0]
    assert selected("(")(PATIENT, "Patient", Env(PATIENT, PATIENT, resolve)) is None


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("matches('^(a+)+$')", "a" * 60 + "!"),
        ("matches('(a|a)*b')", "a" * 60),
        ("matches('(.*)(.*)(.*)(.*)(.*)x')", "a" * 5000),
        ("'x' & $this" + ".select($this & $this)" * 60, "a" * 100),
        ("repeat($this & 'a').exists()", "a"),
        ("$this" + ".select($this.combine($this))" * 60, "a"),
        ("1" + ".select($this * 999999999)" * 300 + " > 1", "a"),
    ],
)
def test_what_would_never_end_is_not_decided(expression: str, value: str) -> None:
    assert says(expression, value, "string") is None


@pytest.mark.parametrize(("pattern", "text", "met"), [
    ("^([a-z]+[.])+$", "ab." * 100, True),
    ("^([a-z]+\\\\.)+$", "ab." * 100 + "!", False),
    ("^[0-9]+(-[0-9]+)*$", "-".join(["12"] * 100), True),
    ("^(?:[^,]+,)+x$", "ab," * 100, False),
    ("^[0-9]{10}$", "9" * 10_000, False),
    ("^([A-Z]{2})+$", "AB" * 2000, True),
])  # fmt: skip
def test_patterns_whose_work_is_bounded_are_tried_on_long_texts(pattern: str, text: str, met: bool) -> None:
    assert says(f"matches('{pattern}')", text, "string") is met


@pytest.mark.parametrize(
    "pattern", ["^(.+,)*$", "(,a*,)*x", "(a?a?)*x", "((a)+)+x", "(a*a)*x", "(\\\\w+_)*x", "(a|aa)+x"]
)
def test_patterns_whose_work_may_double_are_tried_on_short_texts_alone(pattern: str) -> None:
    assert says(f"matches('{pattern}')", "a" * 100, "string") is None
    assert says(f"matches('{pattern}')", "a", "string") in {True, False}


KEYS = sorted(
    {*tables.elements("Patient"), *tables.elements("HumanName"), "_birthDate", "_given", "resourceType", "url"}
)
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6) | st.decimals(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner),
    max_leaves=12,
)
EXPRESSIONS = sorted({e for rows in HOLDS.values() for e in rows} | set(VIOLATED) | set(OPEN[:14]))


@settings(max_examples=300, deadline=None)
@given(PLAIN, st.sampled_from(EXPRESSIONS), st.sampled_from(["Patient", "HumanName", "string", "Quantity", "Nothing"]))
def test_no_data_raises(value: Any, expression: str, type: str) -> None:
    found = invariant(expression)(value, type, Env(value, value, lambda reference, within: None))
    assert found in {True, False, None}


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="abname.()[]{}'\"`%$@0129-+*/|&<>=!~, \\", max_size=30) | st.text(max_size=20))
def test_no_expression_raises(expression: str) -> None:
    assert says(expression) in {True, False, None}


def test_a_typical_constraint_takes_few_steps() -> None:
    """Counted in lines of Python, since clocks differ."""
    holds = invariant("name.exists() or telecom.exists()")
    env = Env(PATIENT, PATIENT, resolve)
    holds(PATIENT, "Patient", env)
    assert work(lambda: holds(PATIENT, "Patient", env)) < 80
