"""A backup is one file that holds the ledger and everything beside it."""

import io
import zipfile

from visitors import Visitor


def test_a_backup_holds_the_ledger_and_the_files_beside_it(owner: Visitor) -> None:
    owner.post("/settings/gear", data={"bench_hours_d": "3"})
    answer = owner.post("/settings/backup")
    assert answer.headers["content-type"] == "application/zip"
    names = zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
    assert any(name.endswith(".db") for name in names)
    assert any(name.endswith("gear.json") for name in names)
