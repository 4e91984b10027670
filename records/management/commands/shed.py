"""Everything a shed needs, by one command."""

import hashlib
import signal
import socket
import time
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any, TextIO, cast

import waitress
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from records import running, sharing
from records.sign_in import first_director_link

THREADS = 4  # with one SQLite file, more would only wait for one another


class Command(BaseCommand):
    help = "Serve the field record from this computer, with its workers beside it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--share",
            nargs="?",
            const="",
            metavar="ADDRESS",
            help="let the tablets on this Wi-Fi in; ADDRESS if this computer has several",
        )
        parser.add_argument(
            "--demo", action="store_true", help="fill an empty record with an invented season"
        )

    def handle(self, *, port: int, share: str | None, demo: bool, **options: Any) -> None:
        if settings.ON_SERVER:
            raise CommandError(
                _(
                    "PROFILE is 'server': a server runs records.wsgi and `manage.py worker`. "
                    "`shed` is for the computer in the shed."
                )
            )
        began_s = time.monotonic()
        _end_in_order_when_told()
        try:
            sockets = sharing.sockets(port, share)
            self.say(_("The record is kept in %(folder)s") % {"folder": settings.DATA_FOLDER})
            call_command("migrate", interactive=False, verbosity=0)
            collect_static()
            self._serve(sockets, demo, began_s)
        except sharing.NoAddress as trouble:
            raise CommandError(str(trouble)) from trouble
        except KeyboardInterrupt:
            return

    def _serve(self, sockets: list[socket.socket], demo: bool, began_s: float) -> None:
        from records.wsgi import application

        server = waitress.create_server(application, sockets=sockets, threads=THREADS, ident=None)
        beside = running.Companions(running.workers(), self.say)
        if demo:
            beside.of.append(running.demo_loader())
        beside.start()
        try:
            self._greet([sock.getsockname() for sock in sockets], demo)
            self.say(_("Ready after %(seconds).1f s.") % {"seconds": time.monotonic() - began_s})
            server.run()
        finally:
            self.say(_("Stopping. Nothing that was saved is lost."))
            beside.end()

    def _greet(self, addresses: list[tuple[str, int]], demo: bool) -> None:
        here, *shared = [f"http://{host}:{port}/" for host, port in addresses]
        self.say(_("On this computer, open   %(url)s") % {"url": here})
        for url in shared:
            self.say(_("On a tablet, open        %(url)s") % {"url": url})
            self.say(sharing.qr_code(url, cast(TextIO, self.stdout)))
            self.say(_("Share it on a Wi-Fi whose users you trust: the pages go unencrypted."))
        token = None if demo else first_director_link()
        if token:
            self.say(_("Nobody has an account yet. Make the director's, once, here:"))
            self.say(f"  {here}first/{token}")
        self.say(_("Stop with Ctrl-C."))

    def say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()


def _end_in_order_when_told() -> None:
    """A closed terminal or a shutdown ends the shed as Ctrl-C does."""

    def end(*_signal: Any) -> None:
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), end)


def collect_static() -> None:
    """Lay the static files out for serving; nothing is done while none has changed."""
    kept = settings.STATIC_ROOT / "laid-out"
    now = hashlib.sha256("\n".join(_static_files()).encode()).hexdigest()
    if kept.exists() and kept.read_text() == now:
        return
    call_command("collectstatic", interactive=False, verbosity=0)
    kept.write_text(now)


def _static_files() -> Iterator[str]:
    for finder in get_finders():
        for path, storage in finder.list([]):
            yield f"{path} {storage.size(path)} {storage.get_modified_time(path)}"
