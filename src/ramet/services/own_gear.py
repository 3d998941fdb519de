"""A grower's own gear, told once: what every new shipment starts from."""

from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.formats.shipment import Gear
from ramet.formats.toml_reader import read_json
from ramet.services.beside import write_whole

FILE = "gear.json"


def read_gear(files: Path) -> Gear | None:
    """Return the gear that was told; None when none was."""
    path = files / FILE
    if not path.exists():
        return None
    read = read_json(path, Gear)
    if isinstance(read, tuple):
        raise BadInput(read)
    return read


def save_gear(files: Path, gear: Gear) -> None:
    """Keep a grower's gear."""
    write_whole(files / FILE, (gear.model_dump_json(indent=1) + "\n").encode())
