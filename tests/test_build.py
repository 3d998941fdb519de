"""What pip installs is what the lock file says, by name, version and hash."""

import re
import tomllib
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
PINNED = re.compile(r"^([A-Za-z0-9._-]+)==([^\s;\\]+)")
HASH = re.compile(r"--hash=(sha256:[0-9a-f]{64})")


def locked() -> dict[str, Any]:
    return {one["name"]: one for one in tomllib.loads((ROOT / "uv.lock").read_text())["package"]}


def pinned(name: str) -> dict[str, tuple[str, frozenset[str]]]:
    """Return version and hashes of each package in a requirements file."""
    found: dict[str, tuple[str, frozenset[str]]] = {}
    for entry in re.split(r"\n(?=\S)", (ROOT / "requirements" / name).read_text()):
        match = PINNED.match(entry)
        if match is not None:
            found[match[1]] = (match[2], frozenset(HASH.findall(entry)))
    return found


def needed(groups: list[str]) -> set[str]:
    """Return every package that the project needs, with all that those need."""
    packages = locked()
    project = packages["ramet"]
    todo = list(project["dependencies"])
    for group in groups:
        todo += project["dev-dependencies"][group]
    found: set[str] = set()
    while todo:
        wanted = todo.pop()
        package = packages[wanted["name"]]
        extras = package.get("optional-dependencies", {})
        below = [one for extra in wanted.get("extra", []) for one in extras.get(extra, [])]
        if wanted["name"] not in found:
            found.add(wanted["name"])
            below += package.get("dependencies", [])
        todo += below
    return found - {"ramet"}  # the project asks for its own extras


@pytest.mark.parametrize(("name", "groups"), [("run.txt", []), ("dev.txt", ["dev"])])
def test_the_pinned_list_is_that_of_the_lock_file(name: str, groups: list[str]) -> None:
    assert set(pinned(name)) == needed(groups)


@pytest.mark.parametrize("name", ["run.txt", "dev.txt"])
def test_versions_and_hashes_are_those_of_the_lock_file(name: str) -> None:
    packages = locked()
    for package, (version, hashes) in pinned(name).items():
        files = [*packages[package].get("wheels", []), packages[package].get("sdist", {})]
        assert version == packages[package]["version"]
        assert hashes
        assert hashes <= {one.get("hash") for one in files}


def test_the_lock_file_knows_every_dependency_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    wanted = {re.split(r"[>=<\[]", one)[0].lower() for one in project["project"]["dependencies"]}
    assert wanted == {one["name"] for one in locked()["ramet"]["dependencies"]}


def test_no_package_under_the_gpl_is_needed_to_run() -> None:
    """PyCO2SYS is GPL: a reference in tests, never part of the program."""
    assert "pyco2sys" in pinned("dev.txt")
    assert "pyco2sys" not in pinned("run.txt")


def test_no_two_test_files_share_a_name() -> None:
    """Without packages in the folders of tests, two of one name can't be collected in one run."""
    names = sorted(path.name for path in (ROOT / "tests").rglob("test_*.py"))
    assert [one for one, other in pairwise(names) if one == other] == []
