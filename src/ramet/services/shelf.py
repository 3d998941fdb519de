"""Shipments and their plans, in folders beside the ledger: what `ramet plan … -o` writes, and its input."""

import hashlib
import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ramet.domain.errors import BadInput, StaleWrite
from ramet.domain.problems import Place, Problem
from ramet.formats.plan import Plan
from ramet.formats.shipment import Shipment
from ramet.formats.toml_reader import read_json, read_toml
from ramet.services.beside import write_whole

SHIPMENT = "shipment.toml"
PLAN = "plan.json"
PLAN_BEFORE = "plan-before.json"
PAPERS = ("packet.pdf", "tasks.ics", PLAN, SHIPMENT)
_KEY = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


@dataclass(frozen=True, slots=True)
class ShelfPlace:
    """A shipment on the shelf. `shipment` None: its file is broken; `plan` None: not planned yet."""

    key: str
    folder: Path
    shipment: Shipment | None
    plan: Plan | None

    @property
    def name(self) -> str:
        """How the shipment is called."""
        return self.shipment.name if self.shipment else self.key

    @property
    def papers(self) -> tuple[str, ...]:
        """The files that are there to be taken along."""
        return tuple(name for name in PAPERS if (self.folder / name).exists())

    @property
    def plan_before(self) -> Plan | None:
        """The plan that stood before the present one."""
        return read_plan(self.folder / PLAN_BEFORE)

    @property
    def plan_is_old(self) -> bool:
        """Tell whether the shipment was changed since it was planned."""
        if self.plan is None:
            return False
        return self.plan.made_from.shipment_sha256 != version_of(self.folder / SHIPMENT)


def shipments(files: Path) -> tuple[ShelfPlace, ...]:
    """Return every shipment on the shelf, the last due first."""
    folders = [path.parent for path in (files / "shipments").glob(f"*/{SHIPMENT}")]
    places = [_place(folder) for folder in folders]
    return tuple(sorted(places, key=_by_due, reverse=True))


def place_of(files: Path, key: str) -> ShelfPlace | None:
    """Return one shipment, or None when there is none of that key."""
    folder = folder_of(files, key)
    return _place(folder) if folder is not None and (folder / SHIPMENT).exists() else None


def folder_of(files: Path, key: str) -> Path | None:
    """Return the folder of a key, or None for what cannot be one."""
    return files / "shipments" / key if _KEY.fullmatch(key) else None


def free_key(files: Path, name: str) -> str:
    """Return a key for a new shipment, made from its name.

    >>> free_key(Path("nowhere"), "Bücherei, 2. Besatz")
    'bucherei-2-besatz'
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].strip("-") or "shipment"
    keys = [stem, *(f"{stem}-{number}" for number in range(2, 10_000))]
    return next(key for key in keys if not (files / "shipments" / key).exists())


def shipment_text(place: ShelfPlace) -> str:
    """Return a shipment as it is written."""
    return (place.folder / SHIPMENT).read_text("utf-8")


def save_shipment(
    files: Path, key: str, text: str, version_read: str, check: Callable[[Path], object] | None = None
) -> str:
    """Keep a shipment's text and return its new version.

    `version_read` is the version that the writer had read, empty for a new shipment; `check` may refuse the
    file that is about to be kept. Raises BadInput for text that cannot be a shipment (nothing is written
    then), StaleWrite when somebody else wrote meanwhile.
    """
    folder = folder_of(files, key)
    if folder is None:
        raise BadInput([Problem(Place("shipment", column="key"), key, "a key of letters, digits and dashes")])
    path = folder / SHIPMENT
    found = version_of(path)
    if found != version_read:
        raise StaleWrite(f"the shipment “{key}”", 0, 1)
    folder.mkdir(parents=True, exist_ok=True)
    draft = folder / f".draft-{os.getpid()}.toml"
    try:
        draft.write_text(text, "utf-8")
        (check or _reads_as_shipment)(draft)
    except BadInput as error:
        raise BadInput([_in_shipment(problem) for problem in error.problems]) from None
    finally:
        draft.unlink(missing_ok=True)
        if not path.exists():
            _remove_if_empty(folder)
    write_whole(path, text.encode())
    return version_of(path)


def remove_shipment(files: Path, key: str) -> None:
    """Take a shipment off the shelf: its folder goes to `removed`, from where it can be brought back."""
    folder = folder_of(files, key)
    if folder is None or not folder.exists():
        return
    gone = files / "removed"
    gone.mkdir(exist_ok=True)
    names = [key, *(f"{key}-{number}" for number in range(2, 10_000))]
    folder.rename(next(gone / name for name in names if not (gone / name).exists()))


def version_of(path: Path) -> str:
    """Return the hash of a file, empty when there is none."""
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else ""


def keep_plan_before(place: ShelfPlace) -> None:
    """Keep a copy of the present plan, so that the next can be held against it."""
    plan = place.folder / PLAN
    if plan.exists():
        write_whole(place.folder / PLAN_BEFORE, plan.read_bytes())


def read_plan(path: Path) -> Plan | None:
    """Return the plan in a file; None when there is none, or when it does not read as one."""
    return _plan(path, path.stat().st_mtime_ns) if path.exists() else None


@lru_cache(maxsize=16)
def _plan(path: Path, mtime_ns: int) -> Plan | None:
    read = read_json(path, Plan)
    return None if isinstance(read, tuple) else read


@lru_cache(maxsize=256)
def _shipment(path: Path, mtime_ns: int) -> Shipment | None:
    read = read_toml(path, Shipment)
    return None if isinstance(read, tuple) else read


def _place(folder: Path) -> ShelfPlace:
    path = folder / SHIPMENT
    return ShelfPlace(folder.name, folder, _shipment(path, path.stat().st_mtime_ns), read_plan(folder / PLAN))


def _by_due(place: ShelfPlace) -> tuple[float, str]:
    return (place.shipment.due.timestamp() if place.shipment else 0.0, place.key)


def _reads_as_shipment(path: Path) -> None:
    read = read_toml(path, Shipment)
    if isinstance(read, tuple):
        raise BadInput(read)


def _in_shipment(problem: Problem) -> Problem:
    place = Place("shipment", problem.place.line, problem.place.column)
    return Problem(place, problem.value, problem.expected)


def _remove_if_empty(folder: Path) -> None:
    if folder.exists() and not any(folder.iterdir()):
        folder.rmdir()
