"""Opens a parcel: the manifest is believed for its signature, the files for the manifest, and nothing before that."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from bridge.errors import InputError
from bridge.issues import Issue, Where, issue
from bridge.parcel.folder import file_content, folder_files
from bridge.parcel.keys import spoken
from bridge.parcel.known import KnownKey, same_name
from bridge.parcel.limits import LIMITS, Limits
from bridge.parcel.manifest import NotUnderstoodError, counted, read
from bridge.parcel.names import fault_of_name
from bridge.parcel.seal import (
    BrokenSealError,
    NotForUsError,
    PassphraseError,
    TooMuchWorkError,
    is_sealed,
    unsealed,
)
from bridge.parcel.shapes import MANIFEST, SIGNATURE, Manifest, Opened, Piece, Signer
from bridge.parcel.signature import UnacceptableError, WrongError, verify
from bridge.parcel.unzip import DamagedError, TooMuchError, TrickError, unzipped

_ZIP = (b"PK\3\4", b"PK\5\6")
_TOLD = 20
"""Files of one parcel that are named one by one, of each kind of fault."""


def looks_like_parcel(path: Path) -> bool:
    """Whether `opened` would try it: a folder with a manifest or its signature, a zip, or a sealed file.

    A folder laid out as a parcel is one without its manifest: whoever took that away wants it to be read unproved.
    """
    if path.is_dir():
        return (path / MANIFEST).exists() or (path / SIGNATURE).exists() or _laid_out(path)
    try:
        if not path.is_file():
            return False
        with path.open("rb") as stream:
            start = stream.read(64)
    except OSError:
        return False
    return start.startswith(_ZIP) or is_sealed(start)


def _laid_out(folder: Path) -> bool:
    visits, around = ("visits", "visits.ndjson"), ("record", "words.csv")
    return any((folder / name).exists() for name in visits) and any((folder / name).exists() for name in around)


def opened(
    path: Path,
    *,
    identities: Sequence[str] = (),
    passphrase: str = "",
    known: Sequence[KnownKey] = (),
    unsigned: bool = False,
    limits: Limits = LIMITS,
) -> Opened:
    """The pieces of a folder, a zip or a sealed file (`.age`, armoured too), or why it was refused.

    `identities` (AGE-SECRET-KEY-1...) and `passphrase` open a seal; `known` are the keys that the practice trusts;
    `unsigned` opens what nobody signed, with a warning. With an error among the issues (X130 to X149) no piece is
    handed out. Raises InputError for what is no parcel at all or cannot be read, SettingsError for an identity that is
    none.
    """
    if not path.exists():
        raise InputError("There is no file or folder of that name.", "Check the name.")
    if not looks_like_parcel(path):
        raise InputError(
            "This is no parcel: neither a folder with a manifest.json, nor a zip, nor a file sealed with age.",
            "Check the name; single documents are read without a parcel.",
        )
    try:
        if path.is_dir():
            files = folder_files(path, limits)
        else:
            content = file_content(path.resolve(), limits.whole)
            if is_sealed(content[:64]):
                content = unsealed(content, identities, passphrase, limits)
            files = unzipped(content, limits)
    except OSError as error:
        raise InputError(f"The parcel cannot be read: {error.strerror}.") from None
    except tuple(_REASONS) as error:
        return Opened(issues=[_refused(error)])
    result = _examined(files, known, unsigned, limits)
    if not result.ok:
        result.pieces = {}
    return result


_REASONS: Mapping[type[Exception], tuple[str, str]] = {
    NotForUsError: ("X138", ""),
    PassphraseError: ("X139", ""),
    BrokenSealError: ("X140", "The seal cannot be opened: "),
    TooMuchWorkError: ("X141", ""),
    TrickError: ("X142", "The parcel was refused: "),
    TooMuchError: ("X143", "The parcel was refused: "),
    DamagedError: ("X144", "The archive was refused: "),
}


def _refused(error: Exception) -> Issue:
    code, before = _REASONS[type(error)]
    return issue(code, f"{before}{error}".rstrip(".") + ".", cause=code)


def _examined(files: dict[str, bytes], known: Sequence[KnownKey], unsigned: bool, limits: Limits) -> Opened:
    signature = files.pop(SIGNATURE, None)
    content = files.pop(MANIFEST, None)
    if content is None:
        return Opened(issues=[issue("X131", "The manifest is missing, so nothing in the parcel can be vouched for.")])
    if len(content) > limits.manifest:
        return Opened(issues=[issue("X143", f"The manifest is larger than {limits.manifest >> 20} MiB.")])
    signer, issues = _signed(content, signature, unsigned)
    if any(found.rule in ("X133", "X147") for found in issues):
        return Opened(issues=issues)
    try:
        manifest = read(content)
    except NotUnderstoodError as error:
        return Opened(signer=signer, issues=[*issues, issue("X145", f"The manifest is not understood: {error}.")])
    signer, more = _whose(manifest, signer, known)
    issues += [*more, *_compared(manifest, files)]
    pieces = {
        row.name: Piece(row.name, row.media_type, files[row.name], row.what)
        for row in manifest.files
        if row.name in files
    }
    return Opened(pieces, manifest, signer, issues)


def _signed(content: bytes, signature: bytes | None, unsigned: bool) -> tuple[Signer | None, list[Issue]]:
    if signature is None:
        if unsigned:
            return None, [issue("X135", "Nobody signed this parcel; you asked to open it all the same.")]
        return None, [issue("X134", "The parcel carries no signature.")]
    try:
        return verify(content, signature), []
    except UnacceptableError as error:
        return None, [issue("X147", f"The signature proves nothing: {error}.")]
    except WrongError:
        return None, [issue("X133", "The signature does not belong to this manifest: one of the two was changed.")]


def _whose(manifest: Manifest, signer: Signer | None, known: Sequence[KnownKey]) -> tuple[Signer | None, list[Issue]]:
    named = [key for key in known if same_name(key.name, manifest.about.clinic)]
    if signer is None:
        if named:
            return None, [issue("X137", "It says that it comes from a clinic that you know, and that clinic signs.")]
        return None, []
    mine = [key for key in known if key.fingerprint == signer.fingerprint]
    if named and not any(key.fingerprint == signer.fingerprint for key in named):
        return signer, [issue("X137", "It names a clinic that you know, and was signed with another key than theirs.")]
    if not mine:
        return signer, [
            issue("X136", f"The key that signed is not known here. Its fingerprint: {spoken(signer.fingerprint)}.")
        ]
    owner = (named or mine)[0].name
    found = Signer(signer.fingerprint, signer.alg, signer.public, owner)
    if named:
        return found, []
    return found, [issue("X148", "It was signed by a clinic that you know, under another name than you have for it.")]


def _compared(manifest: Manifest, files: Mapping[str, bytes]) -> Iterator[Issue]:
    """What differs between the manifest and the files."""
    listed = {row.name: row for row in manifest.files}
    if len(listed) < len(manifest.files):
        yield issue("X145", "The manifest names a file twice.")
    if any(fault_of_name(name) or name in (MANIFEST, SIGNATURE) for name in listed):
        yield issue("X145", "The manifest names a file that no parcel can hold.")
        return
    changed = [
        row.name
        for row in listed.values()
        if row.name in files
        and (len(files[row.name]) != row.size or hashlib.sha256(files[row.name]).hexdigest() != row.sha256)
    ]
    yield from _each("X130", "A file is not the one that was packed: it was changed or swapped.", changed)
    yield from _each("X131", "A file that the manifest names is missing.", sorted(set(listed) - set(files)))
    yield from _each("X132", "A file was added that the manifest does not name.", sorted(set(files) - set(listed)))
    seen = counted({row.name: row.size for row in listed.values()})
    wrong = [what for what, count in seen.items() if manifest.counts.get(what) != count]
    if wrong:
        yield issue("X146", f"The manifest counts otherwise than it lists: {', '.join(wrong)}.")


def _each(code: str, message: str, names: Iterable[str]) -> Iterator[Issue]:
    """One issue for each file, up to a number: a hostile parcel may differ in thousands."""
    for count, name in enumerate(names):
        if count == _TOLD:
            yield issue(code, f"{message} More files than these are meant.", cause=code)
            return
        yield issue(code, message, Where(file=name), cause=code)
