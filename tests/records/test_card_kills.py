"""A card's way in while the server is killed: what was acknowledged is there, the rest can be sent
again; an acceptance killed at any moment has happened whole or not at all."""

import http.client
import random
import socket
import time
from uuid import uuid4

import pytest
from django.test import Client

from records.acting import acting_as
from records.intake.originals import verify_original
from records.models import Card, CardState, Frame, IncomingFrame, Photograph, Role, StoredFile
from records.verbs.acceptance import accept_card
from records.verbs.tower import RowEntry
from tests.factory import make_member, make_season
from tests.factory_cards import arrive_all, begun_card, run_of_small_frames, shot
from tests.factory_pictures import make_tower_set_up
from tests.processes import wait_until
from tests.racing import Copied

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

ROUNDS = 10
SERVER = """
    from waitress import serve
    from records.wsgi import application
    serve(application, host="127.0.0.1", port=int(sys.argv[1]), threads=4)
"""
ACCEPTOR = """
    from records.acting import acting_as
    from records.models import Account, Card
    from records.verbs.acceptance import accept_card

    card, account = Card.objects.get(pk=sys.argv[1]), Account.objects.get(pk=sys.argv[2])
    print("ready", flush=True)
    sys.stdin.readline()
    with acting_as(account):
        accept_card(card)
    print("accepted", flush=True)
"""


@pytest.fixture
def lead():
    season = make_season()
    return make_member(season.site, Role.LEAD)


@pytest.fixture
def season(lead):
    season = lead.site.seasons.get()
    with acting_as(lead.account):
        yield season


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def answers(port: int) -> bool:
    try:
        ask = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        ask.request("GET", "/health")
        return ask.getresponse().status == 200
    except OSError:
        return False


class Tablet:
    """Sends files as the page's script does, and keeps a journal of what was acknowledged."""

    def __init__(self, account, url: str) -> None:
        client = Client()
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        token = uuid4().hex
        self.headers = {
            "Cookie": f"sessionid={client.cookies['sessionid'].value}; csrftoken={token}",
            "X-CSRFToken": token,
            "Content-Type": "application/octet-stream",
        }
        self.url, self.journal = url, set()

    def send(self, port: int, name: str, data: bytes) -> None:
        """In two halves, so that a kill also falls into the middle of a file."""
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        link.putrequest("POST", self.url)
        told = {"X-File-Name": name, "X-File-Bytes": len(data), "Content-Length": len(data)}
        for key, value in (self.headers | told).items():
            link.putheader(key, str(value))
        link.endheaders()
        link.send(data[: len(data) // 2])
        time.sleep(0.01)
        link.send(data[len(data) // 2 :])
        if link.getresponse().status == 200:
            self.journal.add(name)


def test_a_server_killed_while_files_arrive_loses_nothing_acknowledged(season, lead):
    files = {f"P{n:04d}.JPG": shot(n) for n in range(60)}
    card = begun_card(run_of_small_frames(season, RowEntry(0.5, 0.5, 0.0, 0.1, 60)))
    tablet = Tablet(lead.account, f"/s/{season.code}/cards/{card.pk}/file")
    chance = random.Random(20310610)

    for turn in range(ROUNDS + 1):
        port = free_port()
        server = Copied(SERVER, str(port))
        wait_until(lambda at=port: answers(at))
        dies_at = time.monotonic() + chance.uniform(0.02, 0.5)
        for name, data in files.items():
            if name in tablet.journal:
                continue
            if turn < ROUNDS and time.monotonic() > dies_at:
                break
            tablet.send(port, name, data)
        if turn < ROUNDS:
            half_sent(tablet, port, files, server)
        server.kill()
        server.communicate()
        there = set(IncomingFrame.objects.filter(card=card).values_list("original_name", flat=True))
        assert tablet.journal <= there

    assert there == set(files)
    assert StoredFile.objects.count() == IncomingFrame.objects.count() == len(files)
    assert all(verify_original(file) for file in StoredFile.objects.all())
    assert accept_card(Card.objects.get()).state == CardState.ACCEPTED


def half_sent(tablet: Tablet, port: int, files: dict[str, bytes], server) -> None:
    """The server dies with one file half sent; nobody acknowledges that one."""
    waiting = sorted(set(files) - tablet.journal)
    if not waiting:
        return
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    data = files[waiting[0]]
    link.putrequest("POST", tablet.url)
    told = {"X-File-Name": waiting[0], "X-File-Bytes": len(data), "Content-Length": len(data)}
    for key, value in (tablet.headers | told).items():
        link.putheader(key, str(value))
    link.endheaders()
    link.send(data[: len(data) // 2])
    server.kill()
    link.close()


def test_an_acceptance_killed_at_any_moment_is_whole_or_nothing(season, lead):
    set_up = make_tower_set_up(season, picture_width_px=72, picture_height_px=48)
    chance, interrupted = random.Random(7), 0
    for turn in range(ROUNDS):
        run = run_of_small_frames(season, RowEntry(0.5, 0.5, 0.0, 0.5, 8), set_up=set_up)
        card = begun_card(run)
        arrive_all(card, 8, first=100 * turn)
        child = Copied(ACCEPTOR, str(card.pk), str(lead.account.pk))
        assert child.stdout.readline() == "ready\n"
        child.stdin.write("go\n")
        child.stdin.flush()
        time.sleep(chance.uniform(0.0, 0.25))
        child.kill()
        child.communicate()

        card.refresh_from_db()
        frames = Frame.objects.filter(card=card).count()
        assert (card.state, frames) in {(CardState.ACCEPTED, 8), (CardState.ARRIVING, 0)}
        if card.state == CardState.ARRIVING:
            interrupted += 1
            accept_card(card)
    assert interrupted > 0
    numbers = list(Photograph.objects.order_by("n").values_list("n", flat=True))
    assert numbers == list(range(1, 8 * ROUNDS + 1))
