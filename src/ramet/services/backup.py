"""Back a ledger up into one file with its photos and other files, while it is in use, and put it back.

The file is a zip with a manifest: the hash of every file in it. A ledger on a server goes in as its events;
either kind can be put back on either database.
"""

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.problems import Place, Problem
from ramet.formats.event_lines import event_line
from ramet.ledger import dialect
from ramet.ledger.queries import all_events
from ramet.ledger.replay import replay
from ramet.ledger.store import exists, open_ledger, version_of
from ramet.services.beside import files_beside
from ramet.services.importing.take_over import EVENTS, take_over
from ramet.services.verify import verify

FORMAT = "ramet-backup/1"
LEDGER = "ledger.db"
_MANIFEST = "manifest.json"
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds: events of the ledger, files beside it, and bytes of the whole."""

    path: str
    events: int
    files: int
    size_bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class RestoreReport:
    """What was put back, and where the ledger that stood there before was moved to."""

    ledger: str
    events: int
    files: int
    moved_aside: tuple[str, ...]


def backup(ledger: str, target: Path, now: datetime) -> BackupReport:
    """Write a backup beside its place, read it again in full, and only then give it its name.

    Raises BadInput when there is no ledger, or something stands at `target` already.
    """
    if target.exists():
        raise BadInput([Problem(Place(str(target)), "a file", "a name that is not taken yet")])
    if not target.parent.is_dir():
        raise BadInput([Problem(Place(str(target)), str(target.parent), "a folder that exists")])
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".backup-") as folder:
            source, events = _ledger_file(ledger, Path(folder))
            hashes = _write(part, source, ledger, events, now)
        _check(part)
        os.replace(part, target)
    finally:
        part.unlink(missing_ok=True)
    return BackupReport(str(target), events, len(hashes) - 1, target.stat().st_size, _sha256_of(target))


def restore(source: Path, ledger: str, *, move_aside: bool = False) -> RestoreReport:
    """Put a backup back at `ledger`, whose every file must have the hash it went in with.

    What stands there already is left alone, or with `move_aside` renamed, never removed. Raises BadInput
    when the backup is damaged or no backup; nothing was changed then.
    """
    target = dialect.file_of(dialect.database_url(ledger))
    near = Path.cwd() if target is None else target.parent
    if not near.is_dir():
        raise BadInput([Problem(Place(ledger), str(near), "a folder that exists, to hold the ledger")])
    with tempfile.TemporaryDirectory(dir=near, prefix=".restore-") as temporary:
        folder = Path(temporary)
        manifest = _extract(source, folder)
        moved = list(_clear(ledger, target, folder, move_aside))
        for path, there in _folders(ledger):
            if (folder / path).is_dir():
                os.replace(folder / path, there)
        _put_back(folder, ledger, target)
    if verify(ledger).differences:
        raise BrokenEnvironment(f"{ledger} was put back, but `ramet verify` finds differences in it")
    return RestoreReport(ledger, manifest["events"], len(manifest["files"]) - 1, tuple(moved))


def photos_folder(ledger: str) -> Path:
    """Return the folder of photos by content hash that goes with a ledger."""
    path = dialect.file_of(dialect.database_url(ledger))
    return Path("ramet-photos") if path is None else path.with_name(f"{path.stem}-photos")


def _folders(ledger: str) -> tuple[tuple[str, Path], ...]:
    return ("files", files_beside(ledger)), ("photos", photos_folder(ledger))


def _ledger_file(ledger: str, folder: Path) -> tuple[Path, int]:
    """Write the ledger as it is at one moment: a copy of its file, or the events of a server."""
    with open_ledger(ledger) as book:
        path = dialect.file_of(dialect.database_url(ledger))
        if path is None:
            with book.reading() as connection, (folder / EVENTS).open("w", encoding="utf-8") as file:
                events = version_of(connection)
                file.writelines(event_line(event) for event in all_events(connection))
            return folder / EVENTS, events
        dialect.copy_online(path, folder / LEDGER)
    with open_ledger(str(folder / LEDGER)) as copy, copy.reading() as connection:
        events = version_of(connection)
    dialect.settle(folder / LEDGER)
    return folder / LEDGER, events


def _write(part: Path, source: Path, ledger: str, events: int, now: datetime) -> dict[str, str]:
    hashes: dict[str, str] = {}
    with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as file:
        for name, path in [(source.name, source), *_files_of(ledger)]:
            with path.open("rb") as data, file.open(name, "w", force_zip64=True) as member:
                hashes[name] = _copy(data, member)
        manifest = {"format": FORMAT, "made_at": now.isoformat(), "events": events, "files": hashes}
        file.writestr(_MANIFEST, json.dumps(manifest, indent=1, ensure_ascii=False))
    return hashes


def _files_of(ledger: str) -> Iterator[tuple[str, Path]]:
    for name, folder in _folders(ledger):
        for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
            if path.is_file() and not path.is_symlink() and not path.name.endswith(".part"):
                yield f"{name}/{path.relative_to(folder).as_posix()}", path


def _check(path: Path) -> None:
    """Hold every file of a backup against its hash."""
    with _opened(path) as file:
        manifest = _manifest(path, file)
        for name, sha256 in manifest["files"].items():
            with file.open(name) as member:
                if _copy(member, None) != sha256:
                    raise _damaged(path, f"“{name}” is not as it went in")


def _extract(path: Path, folder: Path) -> dict[str, Any]:
    with _opened(path) as file:
        manifest = _manifest(path, file)
        for name, sha256 in manifest["files"].items():
            place = folder.joinpath(*PurePosixPath(name).parts)
            place.parent.mkdir(parents=True, exist_ok=True)
            with file.open(name) as member, place.open("wb") as data:
                if _copy(member, data) != sha256:
                    raise _damaged(path, f"“{name}” is not as it went in")
    return manifest


def _opened(path: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(path)
    except (OSError, zipfile.BadZipFile) as error:
        raise _damaged(path, str(error)) from error


def _manifest(path: Path, file: zipfile.ZipFile) -> dict[str, Any]:
    try:
        manifest = json.loads(file.read(_MANIFEST))
        names = set(file.namelist()) - {_MANIFEST}
        if manifest["format"] != FORMAT or names != set(manifest["files"]):
            raise ValueError("its list of files does not agree with what is in it")
        if not names & {LEDGER, EVENTS} or not all(_is_ours(name) for name in names):
            raise ValueError("it holds files that no backup has")
        int(manifest["events"])
    except (KeyError, TypeError, ValueError, AttributeError, zipfile.BadZipFile) as error:
        raise _damaged(path, str(error)) from error
    return dict(manifest)


def _is_ours(name: str) -> bool:
    """Tell whether a file goes where backups put files: never outside the folders of the ledger."""
    parts = PurePosixPath(name).parts
    if name in {LEDGER, EVENTS}:
        return True
    plain = "\\" not in name and ":" not in name and not {"..", "."} & set(parts)
    return plain and len(parts) > 1 and parts[0] in {"files", "photos"}


def _damaged(path: Path, why: str) -> BadInput:
    return BadInput([Problem(Place(str(path)), why, "a whole file that `ramet backup` wrote")])


def _clear(ledger: str, target: Path | None, folder: Path, move_aside: bool) -> Iterator[str]:
    """Move what stands in the way aside, or refuse."""
    there = [place for name, place in _folders(ledger) if place.exists() and (folder / name).is_dir()]
    if target is not None and exists(ledger):
        there.insert(0, target)
    if target is None:
        with open_ledger(ledger, create=True) as book, book.reading() as connection:
            if version_of(connection):
                expected = "an empty database: what is on a server is not moved aside"
                raise BadInput([Problem(Place(book.shown), "a ledger", expected)])
    if there and not move_aside:
        expected = "a place without a ledger and its files; or --move-aside to rename what is there"
        raise BadInput([Problem(Place(str(place)), "something", expected) for place in there])
    for place in there:
        if place == target:
            dialect.settle(place)
        yield str(place.rename(_free_name(place)))


def _free_name(place: Path) -> Path:
    number = 1
    while (name := place.with_name(f"{place.stem}-before-restore-{number}{place.suffix}")).exists():
        number += 1
    return name


def _put_back(folder: Path, ledger: str, target: Path | None) -> None:
    if (folder / EVENTS).exists():
        take_over(ledger, folder / EVENTS, None)
    elif target is not None:
        for suffix in ("-wal", "-shm"):
            target.with_name(target.name + suffix).unlink(missing_ok=True)
        os.replace(folder / LEDGER, target)
    else:
        with (
            open_ledger(str(folder / LEDGER)) as old,
            open_ledger(ledger) as new,
            old.reading() as connection,
        ):
            replay(new, all_events(connection), LEDGER)


def _copy(source: IO[bytes], target: IO[bytes] | None) -> str:
    """Copy bytes, or only read them, and return their hash."""
    digest = hashlib.sha256()
    while chunk := source.read(_CHUNK):
        digest.update(chunk)
        if target is not None:
            target.write(chunk)
    return digest.hexdigest()


def _sha256_of(path: Path) -> str:
    with path.open("rb") as data:
        return _copy(data, None)
