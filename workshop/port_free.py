"""Says at once, in plain words, when the port is taken."""

import socket
import sys


def main(host: str, port: str) -> int:
    """Return 0 when the address can be bound, else say why not and return 1."""
    try:
        number = int(port)
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((host, number))
    except (OSError, ValueError, OverflowError) as error:
        sys.stderr.write(
            f"ERROR: cannot serve on {host}:{port} ({error}); set PORT to a free port, "
            "for example PORT=8010\n"
        )
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
