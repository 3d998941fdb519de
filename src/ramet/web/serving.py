"""Starts the server, and says where it is."""

import secrets
from collections.abc import Callable
from dataclasses import replace

from ramet.web.app import create_app
from ramet.web.config import WebConfig


def serve(config: WebConfig, tell: Callable[[str], None]) -> None:
    """Serve until Ctrl-C. On an address that others reach, the owner's link is told once."""
    import uvicorn

    if not config.on_loopback:
        config = replace(config, owner_key=secrets.token_urlsafe(18))
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
