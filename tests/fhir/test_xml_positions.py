"""Every path of an issue is found at its start tag: the line and column that an editor shows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lxml import etree

from bridge.check.structure import Walk
from bridge.fhir.positions_xml import locate_xml
from bridge.fhir.read_json import read_json
from bridge.fhir.write_xml import write_xml

CONTENT = """\
<?xml version="1.0" encoding="UTF-8"?>
<!-- é -->
<Patient xmlns="http://hl7.org/fhir">
  <text><status value="generated"/><div xmlns="http://www.w3.org/1999/xhtml">
    <p>𝄞é</p></div></text><contained><Organization><name value="A"/></Organization></contained>
  <name><given value="𝄞"/><given value="é"><extension url="u"><valueCode value="a"/></extension></given></name><foo/>
  <birthDate id="b" value="1950"/>
\t<communication>
  </communication></Patient>
"""


def test_paths_are_found_where_they_stand() -> None:
    wanted = {
        "Patient": (3, 1),
        "Patient.text": (4, 3),
        "Patient.text.div": (4, 36),
        "Patient.contained[0]": (5, 27),
        "Patient.contained[0].name": (5, 52),
        "Patient.name": (6, 3),
        "Patient.name[0]": (6, 3),
        "Patient.name[0].given[1]": (6, 27),
        "Patient.name[0]._given[1]": (6, 27),
        "Patient.name[0]._given[1].extension[0].valueCode": (6, 63),
        "Patient.foo": (6, 112),
        "Patient._birthDate": (7, 3),
        "Patient.communication": (8, 2),
    }
    found = locate_xml(CONTENT.encode(), set(wanted))
    assert found == wanted
    lines = CONTENT.split("\n")
    for path, (row, column) in found.items():
        name = path.rpartition(".")[2].partition("[")[0].lstrip("_")
        assert lines[row - 1][column - 1 :].startswith(f"<{name}"), path


def test_what_is_not_there_is_where_its_parent_is() -> None:
    found = locate_xml(CONTENT.encode(), {"Patient.name[0].family", "Patient.name[7]", "Patient.gender", "Bundle.x"})
    assert found == {"Patient.name[0].family": (6, 3), "Patient.name[7]": (6, 3), "Patient.gender": (3, 1)}


def test_nothing_is_found_in_what_is_no_xml() -> None:
    assert locate_xml(b"", {"Patient"}) == {}
    assert locate_xml(b"\xff\xfe", {"Patient"}) == {}
    assert locate_xml(b'<Patient xmlns="http://hl7.org/fhir"><a', {"Patient"}) == {"Patient": (1, 1)}


def test_every_object_of_our_documents_is_found_at_its_line() -> None:
    """Oracle: the lines that libxml2 gives the elements, in the order of the file."""
    path = next(iter(sorted((Path(__file__).parents[2] / "demo_bundles").glob("*.json"))))
    data: Any = read_json(path.read_bytes())[0]
    content = write_xml(data)
    paths = {node.path for node in Walk(data).nodes}
    found = locate_xml(content, paths)
    assert set(found) == paths
    assert len(paths) > 500
    root = etree.fromstring(content)
    for at, (row, column) in found.items():
        name = at.rpartition(".")[2].split("[")[0].lstrip("_")
        line = content.decode().split("\n")[row - 1]
        assert line[column - 1 :].startswith(f"<{name}") or at == "Bundle", at
    fhir = "{http://hl7.org/fhir}"
    rows = [e.sourceline for e in root.iter(f"{fhir}coding")]
    assert rows == sorted(row for at, (row, _) in found.items() if ".coding[" in at and at.endswith("]"))
