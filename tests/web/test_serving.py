"""Starting the server says what stands in its way."""

import socket
from pathlib import Path

import pytest

from ramet.domain.errors import BrokenEnvironment
from ramet.web.config import WebConfig
from ramet.web.serving import serve


def test_a_port_that_is_taken_is_told_in_words(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BrokenEnvironment, match=f"port {port}"):
            serve(WebConfig(str(tmp_path / "ramet.db"), port=port), lambda _: None)
