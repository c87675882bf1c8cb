"""Free ports."""

import socket


def free_port() -> int:
    """Nobody listens on it at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
