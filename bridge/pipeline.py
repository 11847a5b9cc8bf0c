"""The corridor: the only file that calls several rooms in order.

records --read--> visit --complete, coding--> visit --check--> --build--> bundle --check, read back--> document
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from bridge.asked import asked_of_practice
from bridge.build import Options, build_collection, build_document, build_transaction
from bridge.check import check_bundle
from bridge.check.across import AcrossVisits
from bridge.check.clinical import load_rules
from bridge.check.clinical.flags import look, switched_off
from bridge.check.demands import check_demands
from bridge.check.referral import check_referral
from bridge.check.visit import check_visit
from bridge.coding import TermMaps, code_visit, load_term_maps, regional
from bridge.cut import as_shown, cut
from bridge.data import table_path
from bridge.due import LETTERS, letter_due, letters_due, referral_due, withheld
from bridge.earlier import EarlierVersions
from bridge.errors import BridgeError, InputError, MappingError
from bridge.fhir.ndjson import NDJSON_TYPE, dump_lines
from bridge.fhir.written import Form, as_document
from bridge.issues import Issue, Severity, Where, issue
from bridge.layout import Layout, load_layout, load_layouts, load_usable
from bridge.practice import Practice, complete
from bridge.read.find import unread
from bridge.read.ledger import Ledger
from bridge.read.visits import is_sheet, read_visits
from bridge.receive import bundle_to_visits
from bridge.regions import region
from bridge.same_clinic import of_another
from bridge.shapes import Alert, Document, Json, Reading
from bridge.telling_words import telling_in, unquoted
from bridge.visit import Visit
from bridge.wording import for_tag

Kind = Literal["document", "client", "transaction", "collection", "ndjson"]
"""document: the letters that are due. client: the client's own copy, which is due to nobody else."""
State = Literal["ready", "need you", "no letter due", "left alone", "not asked for"]
Wanted = Callable[[Visit], bool]
LETTER_KINDS = frozenset({"document", "client"})


@dataclass(slots=True)
class Conversion:
    """What became of one record."""

    state: State
    where: Where
    visit: Visit | None = None
    bundles: dict[str, Json] = field(default_factory=dict)
    """By the kind of letter (`summary`, `referral`), or under the kind that was asked for."""
    issues: list[Issue] = field(default_factory=list)
    left_alone: str = ""
    """Why the record was left alone."""
    alerts: tuple[Alert, ...] = ()
    """Red flags that the record shows and no referral answers."""
    held_back: bool = False
    """Whether the record is approved and its documents are drafts all the same, because a red flag is open."""
    earlier: Visit | None = None
    """The version that this record corrects, prepared; None for no correction, or where it was not in the sources."""
    says: Mapping[str, Any] = field(default_factory=dict)
    """Of a record that is no visit: its number, version and client, as far as they were read."""


def bundle_document(bundle: Json, stem: str, name: str, form: Form = "json") -> Document:
    """The bundle as bytes under its file name; `name` is its own among those of a Conversion."""
    if name == "ndjson":
        return Document(bundle_name(stem, name), NDJSON_TYPE, dump_lines(bundle))
    return as_document(bundle, bundle_name(stem, name, form), form)


def bundle_name(stem: str, name: str, form: Form = "json") -> str:
    """`M26-0110.bundle.json` for the visit summary, `M26-0110.referral.bundle.json` and the like for the rest."""
    if name == "ndjson":
        return f"{stem}.ndjson"
    return f"{stem}.bundle.{form}" if name == "summary" else f"{stem}.{name}.bundle.{form}"


def names_of(kind: Kind) -> tuple[str, ...]:
    """Every bundle that a visit may give."""
    return LETTERS if kind == "document" else (kind,)


def placed(found: Issue, conversion: Conversion) -> Issue:
    """An issue about a finished document at the place of its record."""
    where = conversion.where
    record = conversion.visit.number if conversion.visit else ""
    return found.at(file=where.file, sheet=where.sheet, row=where.row, record=record, unseen=where.unseen)


class Converter:
    """Converts the records of one practice. Tables are loaded once; each record stands alone.

    Raises MappingError for tables and rules of the practice with faults.
    """

    def __init__(self, practice: Practice, folder: Path, issues: Sequence[Issue] = ()) -> None:
        self.practice = practice
        self.folder = folder
        self.zone = practice.zone
        self._asked = asked_of_practice(practice, folder)
        self.rules = load_rules(practice.region, folder)
        told = self._asked.library.issues if self._asked else ()
        self.issues = [*issues, *told, *self.rules.told()]
        """What was found in the practice's own settings, in the packages that they name, and in its clinical rules."""
        self.ledger = Ledger()
        self._earlier = EarlierVersions()
        self._across = AcrossVisits()
        self.unread: dict[Path, BridgeError] = {}
        """Sources that could not be read at all, where others could."""
        self._broken: list[MappingError] = []
        licensed = practice.codes == "licensed"
        self.region = region(practice.region)
        self.options = Options(practice.region, licensed, practice.language, practice.clinic)
        self.maps: TermMaps = load_term_maps(folder, licensed=licensed, version=practice.snomed_version)

    def scan(self, sources: Sequence[Path], layout: Layout | None) -> dict[Path, int]:
        """Reads all sources once, so that of two records that clash neither is ready; says how many readings each
        gives. One of several that cannot be read is `unread`; a single one raises InputError."""
        first, counts = Ledger(), {}
        self._earlier = EarlierVersions()
        for source in sources:
            try:
                chosen = self._knowing(layout or self.layout(source))
                counts[source] = sum(1 for _ in self._scanned(read_visits(source, chosen, self.zone, first)))
            except (InputError, MappingError) as error:
                if len(sources) == 1:
                    raise self._with_broken_layouts(error) from None
                self.unread[source] = error
        self.ledger = Ledger(first)
        return counts

    def _scanned(self, readings: Iterator[Reading]) -> Iterator[Reading]:
        for reading in readings:
            if reading.visit is not None and not reading.left_alone:
                self._earlier.scan(reading.visit)
            yield reading

    def told_of_sources(self) -> list[Issue]:
        """What the reading of all sources found out about sources and layouts as a whole."""
        layouts = [issue("R218", e.message, cause=e.message) for e in self._broken]
        return [*layouts, *(unread(source, error) for source, error in self.unread.items())]

    def _with_broken_layouts(self, error: BridgeError) -> BridgeError:
        """The error, with the layouts that could not be tried."""
        if not self._broken or isinstance(error, MappingError):
            return error
        return InputError("\n".join((error.message, *(e.message for e in self._broken))), error.help)

    def convert(
        self, source: Path, layout: Layout | None, kind: Kind = "document", wanted: Wanted | None = None
    ) -> Iterator[Conversion]:
        """One Conversion for each record, in the order of the source; visits that are not `wanted` are read only.

        Visits and clients are known over all sources of one Converter. Raises InputError for the source itself.
        """
        for reading in self.readings(source, layout):
            yield self.one(reading, kind, wanted)

    def readings(self, source: Path, layout: Layout | None) -> Iterator[Reading]:
        """The records of a source as they are read, before anything is completed or coded."""
        return read_visits(source, self._knowing(layout or self.layout(source)), self.zone, self.ledger)

    def layout(self, source: Path) -> Layout | list[Layout] | None:
        """The layout that the practice names for this source, or else all of its own, of which one may fit."""
        if not source.is_file() or not is_sheet(source):
            return None
        name = self.practice.layout_for(source.name)
        if name:
            return load_layout(table_path("layouts", f"{name}.yaml", own=self.folder))
        own, broken = load_usable(self.folder / "layouts")
        self._broken += [e for e in broken if e.message not in {b.message for b in self._broken}]
        return own if own or broken else load_layouts(table_path("layouts"))

    def _knowing(self, layout: Layout | list[Layout] | None) -> Layout | list[Layout] | None:
        """Layouts that know the practice's own words too."""
        if isinstance(layout, list):
            return [replace(one, known=self.maps.words) for one in layout]
        return layout and replace(layout, known=self.maps.words)

    def one(self, reading: Reading, kind: Kind = "document", wanted: Wanted | None = None) -> Conversion:
        """What becomes of one record: checked and built, or told why not."""
        if reading.left_alone:
            return Conversion("left alone", reading.where, issues=reading.issues, left_alone=reading.left_alone)
        issues = list(reading.issues)
        visit = reading.visit
        if visit is None:
            return Conversion("need you", reading.where, issues=issues, says=reading.says)
        self._earlier.meet(visit)
        earlier = self._earlier.of(visit)
        visit, found = self.prepare(visit)
        if wanted is not None and not wanted(visit):
            self._across.enter(visit, reading.where)
            return Conversion("not asked for", reading.where, visit)
        looked = look(visit, self.rules.on(visit.start))
        found += [*self.rules.ended(visit.start), *switched_off(visit, self.rules)]
        found += looked.issues
        theirs = of_another(visit.clinic, self.practice.clinic)
        found = [_not_ours_to_mend(i) for i in found] if theirs else found
        found += self._across.enter(visit, reading.where)
        why = [*_held_back(looked.open_now and not theirs), *_not_reviewed(self.options)]
        held_back = bool(why) and visit.approved is not None
        if held_back:
            visit = visit.model_copy(update={"approved": None})
            found += why
        alerts = tuple(looked.alerts)
        earlier = self.prepare(earlier)[0] if earlier else None
        names, more = _letters(visit, theirs=theirs) if kind == "document" else ((kind,), [])
        found += [*more, *(check_demands(visit, self.region) if names and kind == "document" else ())]
        bundles: dict[str, Json] = {}
        if not any(i.severity >= Severity.error for i in (*issues, *found)):
            for name in names:
                bundles[name], more = self.build(visit, kind, name, alerts, earlier)
                found += [i for i in more if i not in found]
        issues += [_placed(i, reading, visit) for i in found]
        failed = any(i.severity >= Severity.error for i in issues)
        state: State = "need you" if failed else "ready" if names else "no letter due"
        made = {} if failed else bundles
        return Conversion(state, reading.where, visit, made, issues, "", alerts, held_back, earlier)

    def prepare(self, visit: Visit) -> tuple[Visit, list[Issue]]:
        """Completed from the practice settings, coded, and checked as a record."""
        visit, issues = complete(visit, self.practice)
        visit, more = code_visit(visit, self.maps)
        issues += _without_names(more, visit, self.maps)
        visit, more = regional(visit, self.region)
        issues += [*more, *check_visit(visit)]
        return visit, issues

    def build(
        self,
        visit: Visit,
        kind: Kind,
        letter: str = "summary",
        alerts: Sequence[Alert] = (),
        earlier: Visit | None = None,
    ) -> tuple[Json, list[Issue]]:
        """The bundle of a prepared visit, checked and read back; `letter` is which kind a document is to be, which
        holds no more than its reader is to have.

        `alerts`: the red flags that stand, which its letter tells first. `earlier`: the version that it corrects.
        """
        if kind in LETTER_KINDS:
            earlier = as_shown(earlier, visit, letter) if earlier else None
            shown = cut(visit, letter)
            visit = shown.visit
        given = visit, self.practice.namespace, self.zone
        if kind in LETTER_KINDS:
            bundle = build_document(*given, letter, self.options, alerts, shown.left, earlier)
        elif kind == "transaction":
            bundle = build_transaction(*given, options=self.options, alerts=alerts, earlier=earlier)
        else:
            bundle = build_collection(*given, options=self.options)
        told = _corrected(visit) if kind == "transaction" else reads_back(bundle, visit)
        return bundle, [*self.checked(bundle), *told]

    def checked(self, bundle: Json) -> list[Issue]:
        """What is wrong with a bundle of ours, held against all that it claims too.

        Of profiles only errors are told: which codes stand where a profile leaves them open is our choice, and nothing
        that a person who keeps records could change.
        """
        found = check_bundle(bundle, self._asked)
        return [i for i in found if i.rule[0] != "P" or i.severity >= Severity.error]


def _not_ours_to_mend(found: Issue) -> Issue:
    """What is wrong in another clinic's record is told; only they can correct it, and it is kept as it is."""
    return replace(found, severity=min(found.severity, Severity.warning))


def _without_names(issues: list[Issue], visit: Visit, maps: TermMaps) -> list[Issue]:
    """What is told of words without a code, without quoting a name that slipped in among them."""
    if not any("“" in found.message for found in issues):
        return issues
    names = telling_in(visit)
    return [unquoted(found, names, maps.of_the_trade) for found in issues]


def _held_back(open_now: bool) -> list[Issue]:
    if not open_now:
        return []
    message = "A red flag to be seen at once has no answer, so what is made of this record is a draft."
    return [replace(issue("D170", message, Where(path="approved"), cause="D170"), attention=True)]


def _not_reviewed(options: Options) -> list[Issue]:
    words = for_tag(options.tag)
    if words.reviewed:
        return []
    message = f"Nobody has reviewed the {words.name} wording, so what is made of this record is a draft."
    return [issue("D174", message, Where(path="approved"), cause="D174")]


def _letters(visit: Visit, *, theirs: bool) -> tuple[tuple[str, ...], list[Issue]]:
    """The letters to make of a visit, with why another is not, and what they lack; none of another clinic's visit."""
    if theirs:
        return (), []
    found = [letter_due(visit)]
    lacking: list[Issue] = []
    if visit.referral is not None:
        found.append(referral_due(visit))
        lacking = [] if withheld(found[-1]) else check_referral(visit)
    names = letters_due(visit)
    if "referral" in names and visit.replaces is not None:
        message = f"This referral replaces what was sent for version {visit.replaces} of the record, if anything was."
        lacking.append(issue("D139", message, Where(path="replaces"), cause="D139"))
    if names and visit.family_doctor is None:
        message = "The record does not say who the family doctor is."
        lacking.append(issue("D114", message, Where(path="family_doctor"), cause="D114"))
    return names, [*dict.fromkeys(i for i in found if i), *lacking]


def _corrected(visit: Visit) -> list[Issue]:
    """D117 for a correction, whose transaction cannot take back what the earlier version said."""
    if visit.replaces is None:
        return []
    return [issue("D117", "This transaction corrects an earlier version.", Where(path="replaces"), cause="D117")]


def letter_of(bundle: Json) -> Document:
    """The letter as one HTML page, made from the bundle alone."""
    from bridge.render.as_html import render

    return render(bundle)


def letter_page(bundle: Json, stem: str, name: str) -> Document:
    """The same page under the file name of its bundle."""
    page = letter_of(bundle)
    return Document(f"{bundle_name(stem, name).removesuffix('.bundle.json')}.html", page.media_type, page.content)


def reads_back(bundle: Json, visit: Visit) -> list[Issue]:
    """Nothing where the document gives the visit again; otherwise D112 for each field that differs."""
    visits, issues = bundle_to_visits(bundle)
    if issues or not visits:
        return [issue("D112", "The finished document cannot be read back as a visit.", cause="D112")]
    if visits[0] == visit:
        return []
    sent, got = visit.model_dump(exclude_defaults=True), visits[0].model_dump(exclude_defaults=True)
    return [
        issue("D112", f"The field {path} does not come back from the finished document.", Where(path=path))
        for path in _differences(sent, got, "")
    ]


def _differences(sent: Any, got: Any, path: str) -> Iterator[str]:
    if isinstance(sent, dict) and isinstance(got, dict):
        for key in [*sent, *(k for k in got if k not in sent)]:
            yield from _differences(sent.get(key), got.get(key), f"{path}.{key}" if path else key)
    elif isinstance(sent, tuple) and isinstance(got, tuple) and len(sent) == len(got):
        for index, (one, other) in enumerate(zip(sent, got, strict=True)):
            yield from _differences(one, other, f"{path}[{index}]")
    elif sent != got:
        yield path


def _placed(found: Issue, reading: Reading, visit: Visit) -> Issue:
    """The issue with the cell that its field came from, or the record's own place."""
    cell = reading.where_of(found.where.path) if found.where.path else reading.where
    return found.at(
        file=cell.file,
        sheet=cell.sheet,
        row=cell.row,
        column=cell.column,
        heading=cell.heading,
        record=visit.number,
        unseen=cell.unseen,
    )
