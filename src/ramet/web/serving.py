"""Starts the server, and says where it is."""

import secrets
import socket
from collections.abc import Callable
from dataclasses import replace

from ramet.domain.errors import BrokenEnvironment
from ramet.web.app import create_app
from ramet.web.config import WebConfig


def serve(config: WebConfig, tell: Callable[[str], None]) -> None:
    """Serve until Ctrl-C. On an address that others reach, the owner's link is told once."""
    import uvicorn

    if not config.on_loopback:
        config = replace(config, owner_key=secrets.token_urlsafe(18))
    _check_port(config)
    app = create_app(config)
    shown = f"[{config.host}]" if ":" in config.host else config.host
    address = f"http://{shown}:{config.port}"
    tell(f"ramet serves {config.ledger} on {address}/ (Ctrl-C ends it)")
    if config.owner_key is not None:
        reached = address if config.host not in ("0.0.0.0", "::") else f"http://THIS-MACHINE:{config.port}"
        tell(f"You are the owner in every browser that opens: {reached}/owner?key={config.owner_key}")
        tell("Others on this network see only the opening links that you give them.")
    # proxy_headers off: who is at this machine is told by the connection alone.
    uvicorn.run(
        app, host=config.host, port=config.port, log_level="warning", proxy_headers=False, server_header=False
    )


def _check_port(config: WebConfig) -> None:
    """Say in words that an address cannot be had, before anything is opened."""
    try:
        family = socket.AF_INET6 if ":" in config.host else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((config.host.strip("[]"), config.port))
    except OSError as error:
        raise BrokenEnvironment(
            f"port {config.port} on {config.host} cannot be used ({error.strerror}); "
            "is another ramet serving there? `--port` names another"
        ) from error
