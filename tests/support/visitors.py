"""Visitors of the pages: a client as a browser sees it, and a server in a thread for real browsers."""

import threading
import time

import uvicorn
from fastapi.testclient import TestClient

from ramet.web.app import create_app
from ramet.web.config import WebConfig

HERE = "http://127.0.0.1:8321"


class Visitor(TestClient):
    """A client as a browser sees it: it tells where a write comes from."""

    def __init__(self, config: WebConfig, base_url: str = HERE, peer: str = "127.0.0.1") -> None:
        super().__init__(
            create_app(config), base_url=base_url, client=(peer, 50000), headers={"Origin": base_url}
        )


class Running:
    """A server in a thread, for browsers."""

    def __init__(self, config: WebConfig) -> None:
        self._server = uvicorn.Server(uvicorn.Config(create_app(config), port=0, log_level="error"))
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        while not self._server.started:
            time.sleep(0.01)
        port = self._server.servers[0].sockets[0].getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"

    def stop(self) -> None:
        """Stop the server, letting open connections go."""
        self._server.should_exit = self._server.force_exit = True
        self._thread.join(10)
