"""A PostgreSQL server for one test run: its own folder, a socket in it, no port, gone at the end."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

_QUICK = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=50"


def programs() -> Path | None:
    """Return the folder of the server's programs, or None when it is not installed."""
    if found := shutil.which("initdb"):
        return Path(found).resolve().parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return folders[-1].parent if folders else None


@contextmanager
def running_server() -> Iterator[str]:
    """Start a server and hand out the folder of its socket."""
    bin_dir = programs()
    assert bin_dir is not None
    # In /tmp itself: the path of a socket may have some hundred characters only.
    folder = Path(tempfile.mkdtemp(prefix="ramet-pg-"))
    as_user = _as_plain_user(folder)
    data = str(folder / "data")
    try:
        _run(*as_user, str(bin_dir / "initdb"), "-D", data, "-A", "trust", "-U", "ramet", "-N", "-E", "UTF8")
        options = f"-k {folder} -c listen_addresses='' {_QUICK}"
        control = [*as_user, str(bin_dir / "pg_ctl"), "-D", data, "-l", str(folder / "log"), "-w"]
        _run(*control, "-o", options, "start")
        try:
            yield str(folder)
        finally:
            _run(*control, "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def emptied(socket: str) -> str:
    """Return the URL of the server's database after dropping all that it holds."""
    url = f"postgresql://ramet@/postgres?host={socket}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
    return url


def _as_plain_user(folder: Path) -> list[str]:
    """The server refuses to run as root."""
    if os.getuid() != 0:
        return []
    user = pwd.getpwnam("nobody")
    os.chown(folder, user.pw_uid, user.pw_gid)
    return ["setpriv", "--reuid", str(user.pw_uid), "--regid", str(user.pw_gid), "--clear-groups"]


def _run(*command: str) -> None:
    # The server keeps what it inherits open: its output must not be a pipe that we wait for.
    done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd="/", check=False)
    assert done.returncode == 0, f"{' '.join(command)} ended with {done.returncode}"
