"""Where the shed is reached: on this computer, and on the Wi-Fi when it is shared."""

import errno
import io
import socket
import sys
from typing import TextIO

import segno
from django.utils.translation import gettext as _

HERE = "127.0.0.1"
# No packet is sent there: asking for the way to it tells which of our addresses would be used.
SOMEWHERE = ("10.255.255.255", 9)


class NoAddress(Exception):
    """The shed cannot listen there; the words say why and what to do."""


def sockets(port: int, share: str | None) -> list[socket.socket]:
    """Bound sockets: this computer first; `share` adds the Wi-Fi, or the address it names."""
    if share is None:
        return [_bound(HERE, port)]
    return [_bound(HERE, port), _bound(share or wifi_address(), port)]


def wifi_address() -> str:
    """The address under which others on the Wi-Fi reach this computer."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(SOMEWHERE)
            found = [asking.getsockname()[0]]
        except OSError:  # no way out: a network of the shed's own
            found = _named_addresses()
    for address in found:
        if not address.startswith("127."):
            return str(address)
    raise NoAddress(
        _(
            "This computer is on no network. Connect it to the Wi-Fi of the shed and start again, "
            "or name its address: --share 192.168.1.20"
        )
    )


def _named_addresses() -> list[str]:
    try:
        return socket.gethostbyname_ex(socket.gethostname())[2]
    except OSError:
        return []


def _bound(address: str, port: int) -> socket.socket:
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform == "win32":  # there, reuse would let two servers share a port unseen
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((address, port))
        sock.listen()
    except OSError as trouble:
        sock.close()
        raise NoAddress(_why_not(trouble, address, port)) from trouble
    return sock


def _why_not(trouble: OSError, address: str, port: int) -> str:
    if trouble.errno == errno.EADDRINUSE:
        words = _(
            "Port %(port)s of this computer is taken, perhaps by a shed that already runs. "
            "Use that one, stop it first, or choose another port: --port %(other)s"
        )
    elif trouble.errno == errno.EADDRNOTAVAIL:
        words = _("%(address)s is not an address of this computer.")
    else:
        words = _("Cannot listen on %(address)s, port %(port)s: %(trouble)s")
    return words % {
        "address": address,
        "port": port,
        "other": port + 1,
        "trouble": trouble.strerror,
    }


def qr_code(url: str, out: TextIO) -> str:
    """The code to photograph from the terminal, or nothing where it cannot show one."""
    drawn = io.StringIO()
    segno.make_qr(url).terminal(out=drawn, compact=True)
    code = drawn.getvalue()
    try:
        code.encode(out.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ""
    if sys.platform == "win32" or not out.isatty():
        return code
    # A code in the colours of a bright terminal would be a negative.
    return "\n".join(f"\x1b[97;40m{line}\x1b[0m" for line in code.splitlines())
