"""What a server is started with."""

import ipaddress
from dataclasses import dataclass
from datetime import date
from pathlib import Path

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]", "::1"})


@dataclass(frozen=True, slots=True)
class WebConfig:
    """How a server is called: its ledger, its address, and the names it may be reached by.

    `today` None: the machine's date, anew for every request. `owner_key` None: whoever sits at this machine
    is the owner.
    """

    ledger: str
    host: str = "127.0.0.1"
    port: int = 8321
    today: date | None = None
    seed: int = 1
    own_rows: Path | None = None
    names: tuple[str, ...] = ()
    owner_key: str | None = None

    @property
    def on_loopback(self) -> bool:
        """Tell whether only this machine can reach the server."""
        return is_loopback(self.host)


def is_loopback(host: str) -> bool:
    """Tell whether a host name or address means this machine alone.

    >>> is_loopback("127.0.0.1"), is_loopback("0.0.0.0"), is_loopback("growroom.local")
    (True, False, False)
    """
    return host in LOOPBACK_NAMES or (is_address(host) and ipaddress.ip_address(_bare(host)).is_loopback)


def is_address(host: str) -> bool:
    """Tell whether a host is an address in numbers rather than a name."""
    try:
        ipaddress.ip_address(_bare(host))
    except ValueError:
        return False
    return True


def _bare(host: str) -> str:
    return host.strip("[]")
