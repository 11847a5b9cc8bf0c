"""Makes a practice folder: what its files say, and writing them whole or not at all."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

from bridge.practice.doctors import COLUMNS
from bridge.practice.practice_yaml import without_empty
from bridge.safe_write import write_bytes

_HEAD = """\
# The settings of your practice, read by visit-bridge. Change them in any plain text editor.
# What stands after a # is a note. Text with a colon or a # in it goes in "quotation marks".
"""

_NOTES = {
    "clinic": """\
# The clinic, as it stands at the head of every letter, and how a doctor who has a question reaches it.
""",
    "practitioners": """\
# Who sees clients. `key` is what your records write, most often the initials.
# Each has either `registrations` (register and number) or, honestly, `no_register: true`.
# Keep people who have left in the list, with `valid_until: 2026-03-31`.
""",
    "time_zone": """\
# The time zone of the times in your records.
""",
    "region": """\
# Whose rules letters follow: uk, us or international.
""",
    "language": """\
# In which language letters are written; the region's own where this line is not there. A language that nobody
# has reviewed makes drafts only (`visit-bridge explain D174`).
""",
    "nhs_numbers": """\
# `as recorded`: sent with their trace status. `traced only`: left out unless the status is 01.
""",
    "codes": """\
# Which SNOMED CT codes your words get. `free`: those that anybody may send. `licensed`: finer ones,
# for which you need a SNOMED CT licence of your own (`visit-bridge explain M130`).
""",
    "snomed_version": """\
# The edition that you are licensed for, by its address; it goes out beside each code.
""",
    "packages": """\
# Profiles of your receivers, beside those that come with visit-bridge: FHIR packages (.tgz) or folders.
""",
    "terminology_server": """\
# A FHIR server that is asked about codes that no table here can decide. It gets codes, never a client's data.
""",
    "endpoints": """\
# FHIR servers that `visit-bridge send` sends to. Their tokens and keys never stand here (see the README).
""",
    "audit": """\
# Rates in percent at which `visit-bridge audit run` fails: floors and ceilings.
""",
    "layouts": """\
# Which layout reads which of your files; the first pattern that fits.
""",
    "namespace": """\
# Made once, at random. The identifiers of all your letters are made from it: NEVER change it.
# Keep a copy; without it, a corrected letter cannot replace the one that was sent.
""",
}

_LAYOUTS_NOTE = """\
# Which layout reads which of your files; the first pattern that fits. Take the # away to use it.
# layouts:
#   "visits-*.csv": one-row-per-visit
"""

_LEFT_OUT = {
    "language": f"{_NOTES['language']}# language: en\n",
    "codes": f"{_NOTES['codes']}# codes: free\n",
    "packages": f"{_NOTES['packages']}# packages: [their-package.tgz]\n",
    "terminology_server": f"""{_NOTES["terminology_server"]}# terminology_server: {{address: "https://...", seconds: 5}}
""",
    "endpoints": f"""{_NOTES["endpoints"]}# endpoints: [{{name: brook-lane, address: "https://..."}}]
""",
    "audit": f"""{_NOTES["audit"]}# audit: {{floors: {{coded: 90}}, ceilings: {{text-only: 10}}}}
""",
    "layouts": _LAYOUTS_NOTE,
}
"""What is said of settings that are not asked for."""

_DOCTORS = f"""\
{",".join(COLUMNS)}
# Rows that start with # are notes. One row for each family doctors' practice: key and practice are needed.
# A hospital service that you send clients to has a row too, with service under kind.
# route is one of: post, secure mail, by hand, portal; endpoint: a server of practice.yaml that documents are sent to.
# Take the first two characters away to use these examples.
# example,Example Surgery,Z99999,Dr Example,1 Example Street,,Exampleton,ZX9 9ZZ,01632 960999,,post,,
# ENT-E,Example Hospital ENT clinic,,,2 Example Street,,Exampleton,ZX9 9ZZ,01632 960998,,post,service,
"""

_LAYOUTS = """\
Here go the layouts of your own sheets: which heading means what.
Copy one that came with visit-bridge, give it a name of your own, and change the headings on its left.
A layout here is found before one of the same name that came with visit-bridge.
"""

_TERMS = """\
Here go the words of your own practice: tables that say which word means which finding.
Their columns: kind,concept,label,words,codes,evidence,edition,note
A table here is read besides those that came with visit-bridge; where both have a word, yours wins.
"""

_CLINICAL = """\
Here go clinical rules of your own, and what you change of those that came with visit-bridge: files that end in .yaml.
A rule can be switched off or made graver, never milder, and never without a reason. Each run says what is changed.
Take the first two characters away to use this example. `visit-bridge rules` shows what holds then.
# changes:
#   - code: C241
#     switch: off
#     reason: We have no irrigator.
#     by: Ada Field
#     until: 2030-12-31
"""


def practice_yaml(settings: dict[str, Any]) -> str:
    """The text of practice.yaml for settings as plain data, with its notes for people."""
    import yaml

    parts = [_HEAD]
    told = without_empty(settings)
    for key, note in _NOTES.items():
        if key in told:
            block = yaml.safe_dump({key: told[key]}, allow_unicode=True, sort_keys=False, width=10_000)
            parts.append(f"{note}{block}")
        elif key in _LEFT_OUT:
            parts.append(_LEFT_OUT[key])
    return "\n".join(parts)


def folder_files(settings: dict[str, Any]) -> dict[str, str]:
    """Every file of a new practice folder by its name; practice.yaml, which makes it one, comes last."""
    return {
        "clinical/README.txt": _CLINICAL,
        "layouts/README.txt": _LAYOUTS,
        "terms/README.txt": _TERMS,
        "doctors.csv": _DOCTORS,
        "practice.yaml": practice_yaml(settings),
    }


def in_the_way(folder: Path, files: dict[str, str]) -> list[str]:
    """Names of files that are there already."""
    return [name for name in files if (folder / name).exists()]


def write_folder(folder: Path, files: dict[str, str]) -> None:
    """Writes the files, for their owner's eyes only; what was written goes away again if the rest fails."""
    made: list[Path] = []
    try:
        for name, text in files.items():
            path = folder / name
            made += _make_folders(path.parent)
            made.append(path)
            write_bytes(path, text.encode("utf-8"), private=True)
    except BaseException:
        for path in reversed(made):
            with contextlib.suppress(OSError):
                path.rmdir() if path.is_dir() else path.unlink()
        raise


def _make_folders(folder: Path) -> list[Path]:
    missing = [f for f in (folder, *folder.parents) if not f.exists()]
    for new in reversed(missing):
        new.mkdir(mode=0o700)
    return missing[::-1]
