"""The pages of runs, cards and photographs as a browser without script asks for them."""

import json
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from records.intake.arrangement import arrangement
from records.models import (
    Card,
    CardState,
    IncomingFrame,
    Photograph,
    PhotoRun,
    Picture,
    Role,
    SeasonEvent,
    TowerSetUp,
)
from records.queries.sheet import sheet_of
from records.refusals import Refused
from records.verbs.acceptance import accept_card
from records.verbs.cards import note_listing
from records.verbs.tower import make_set_up
from tests import made_files
from tests.factory import make_day, make_dive, make_grid, make_member, make_stage
from tests.factory_cards import (
    arrive_all,
    begun_card,
    key_of,
    run_of_small_frames,
    shot,
)
from tests.factory_pictures import make_picture, make_stored_file, set_up_entry


@pytest.fixture
def run(season):
    return run_of_small_frames(season)


@pytest.fixture
def crew(client, season):
    account = make_member(season.site, Role.CREW).account
    client.force_login(account)
    return client


@pytest.fixture
def lead(client, season):
    client.force_login(make_member(season.site, Role.LEAD).account)
    return client


def url(name: str, season, *arguments) -> str:
    return reverse(name, args=[season.code, *arguments])


def shown(client, address: str, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status
    return answer.content.decode()


SET_UP = {
    "name": "Tower",
    "camera": "Pelagia 24",
    "height_m": "1,5",
    "orientation": "1",
    "picture_width_px": "72",
    "picture_height_px": "48",
    "footprint_x_m": "1.5",
    "footprint_y_m": "1.0",
}


def test_a_lead_makes_a_set_up_and_crew_plan_a_run_with_it(season, lead):
    sent = lead.post(url("set_up_new", season), SET_UP | {"id": str(uuid4())})
    assert sent.status_code == 303
    set_up = TowerSetUp.objects.get()
    assert (set_up.height_m, set_up.placement.width_px) == (1.5, 72)
    assert "1.50 × 1.00 m" in shown(lead, url("set_ups", season))

    lead.force_login(make_member(season.site, Role.CREW).account)
    rows = {"rows-TOTAL_FORMS": "2", "rows-INITIAL_FORMS": "0"}
    for n, (x, y, direction) in enumerate([("0.5", "0.5", "0"), ("2.5", "1.5", "180")]):
        rows |= {
            f"rows-{n}-id": str(uuid4()),
            f"rows-{n}-start_x_m": x,
            f"rows-{n}-start_y_m": y,
            f"rows-{n}-direction_deg": direction,
            f"rows-{n}-step_m": "1",
            f"rows-{n}-stations": "3",
            f"rows-{n}-turn_deg": "0",
        }
    said = {
        "id": str(uuid4()),
        "name": "There and back",
        "stage": make_stage(season).pk,
        "grid": make_grid(season.site).pk,
        "set_up": set_up.pk,
        "version": "0",
    }
    assert lead.post(url("run_new", season), said | rows).status_code == 303
    run = PhotoRun.objects.get()
    assert [run.station_words(n) for n in (0, 5)] == ["row 1, station 1", "row 2, station 3"]
    page = shown(lead, url("run", season, run.pk))
    assert "0 of 6 stations have a frame." in page
    assert page.count('class="map-station empty"') == 7  # and one in the key

    edit = {**said, **rows, "rows-INITIAL_FORMS": "2", "version": run.version}
    edit |= {"rows-1-stations": "2", "name": "Shorter"}
    assert lead.post(url("run_edit", season, run.pk), edit).status_code == 303
    assert len(PhotoRun.objects.get().stations) == 5


def test_a_footprint_the_other_way_round_is_refused(season):
    with pytest.raises(Refused, match="wider than high"):
        make_set_up(season, set_up_entry(footprint_x_m=1.0, footprint_y_m=1.5), uuid4())


def test_a_card_is_begun_and_asks_for_its_folder(season, run, crew):
    dive = make_dive(make_day(season))
    page = shown(crew, url("card_new", season))
    assert f'<option value="{run.pk}" selected>' in page  # the only run, the latest dive
    assert f'<option value="{dive.pk}" selected>' in page

    said = {"id": str(uuid4()), "run": run.pk, "dive": dive.pk}
    sent = crew.post(url("card_new", season), said)
    card = Card.objects.get()
    assert sent.url == url("card", season, card.pk)
    page = shown(crew, sent.url)
    assert "No file of this card has come in yet." in page
    assert "Do not format the card." in page


def send(client, card, name: str, data: bytes, **headers):
    said = {"X-File-Name": name, "X-File-Bytes": str(len(data)), "X-File-Modified": "1"} | headers
    return client.post(
        url("card_file", card.season, card.pk),
        data=data,
        content_type="application/octet-stream",
        headers=said,
    )


def ask_held(client, card, files, *, whole=False):
    said = {"files": files, "whole": whole}
    address = url("card_held", card.season, card.pk)
    return client.post(address, json.dumps(said), content_type="application/json")


def test_a_script_lists_then_sends_then_asks_what_is_here(card, crew):
    files = [["P0000.JPG", len(shot(0)), 1], ["Höhle ’n.JPG", len(shot(1)), 1]]
    assert ask_held(crew, card, files, whole=True).json() == {"held": []}

    assert send(crew, card, "H%C3%B6hle%20%E2%80%99n.JPG", shot(1)).json() == {"taken": True}
    assert ask_held(crew, card, files).json() == {"held": [1]}
    card.refresh_from_db()
    assert set(card.listing) == {"P0000.JPG", "Höhle ’n.JPG"}


BAD = {
    "empty": (b"", 422, "empty"),
    "no picture": (b"<html>" * 1000, 422, "none of the files"),
    "cut off": (shot(0)[:-200], 422, "breaks off"),
}


@pytest.mark.parametrize(("data", "status", "words"), BAD.values(), ids=BAD)
def test_what_cannot_be_taken_in_is_told_in_words_and_leaves_nothing(
    card, crew, data, status, words
):
    answer = send(crew, card, "A.JPG", data)

    assert answer.status_code == status
    assert words in answer.json()["words"]
    assert card.incoming.count() == Picture.objects.count() == 0


def test_a_file_that_did_not_arrive_whole_or_without_its_name_is_told(card, crew):
    short = send(crew, card, "A.JPG", shot(0), **{"X-File-Bytes": "999999"})
    assert (short.status_code, "whole" in short.json()["words"]) == (422, True)
    nameless = send(crew, card, "A.JPG", shot(0), **{"X-File-Bytes": "many"})
    assert nameless.status_code == 422
    assert ask_held(crew, card, [["A.JPG"]]).status_code == 422


def test_without_script_up_to_twenty_files_come_by_form(card, crew):
    address = url("card_files", card.season, card.pk)
    files = [SimpleUploadedFile(f"P{n}.JPG", shot(n)) for n in range(3)]
    files.append(SimpleUploadedFile("page.JPG", b"<html>" * 1000))
    page = crew.post(address, {"files": files}, follow=True).content.decode()

    assert "3 files came in." in page
    assert "page.JPG: Whatever its name says" in page
    many = [SimpleUploadedFile(f"P{n}.JPG", b"x") for n in range(21)]
    page = crew.post(address, {"files": many}, follow=True).content.decode()
    assert "at most 20 files" in page


def test_the_sheet_is_mended_and_accepted_without_script(season, card, crew):
    frames = arrive_all(card, 3)
    address = url("card", season, card.pk)
    page = shown(crew, f"{address}?at={frames[1].pk}")
    assert "3 frames stand on their stations." in page
    assert "Put it there" in page

    move = url("card_move", season, card.pk)
    said = {"frame": frames[1].pk, "seen": arrangement(card).seen}
    left = crew.post(move, {**said, "act": "leave_close", "reason": "Blurred"})
    assert (left.status_code, f"at={frames[2].pk}" in left.url) == (303, True)
    stale = crew.post(move, {**said, "act": "on"})
    assert stale.status_code == 409
    assert "The sheet changed since you looked" in stale.content.decode()

    seen = arrangement(Card.objects.get(pk=card.pk)).seen
    assert crew.post(move, {"act": "undo", "seen": seen}).status_code == 303
    seen = arrangement(Card.objects.get(pk=card.pk)).seen
    assert crew.post(url("card_accept", season, card.pk), {"seen": seen}).status_code == 303
    assert Card.objects.get().state == CardState.ACCEPTED
    page = shown(crew, address)
    assert "3 photographs, accepted by" in page
    assert f"{season.code}-photo-3" in page


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"act": "fly"}, "not known here"),
        ({"act": "on", "frame": "x"}, "not known here"),
        ({"act": "stand", "place": "x"}, "Choose a station"),
        ({"act": "leave", "reason": ""}, "Say why"),
        ({"act": "stand", "place": "99"}, "no such station"),
    ],
)
def test_a_move_that_cannot_be_is_told_on_the_sheet(season, card, crew, said, words):
    (frame,) = arrive_all(card, 1)
    said = {"frame": frame.pk, "seen": arrangement(card).seen} | said
    answer = crew.post(url("card_move", season, card.pk), said, headers={"HX-Request": "true"})

    assert answer.status_code in {409, 422}
    page = answer.content.decode()
    assert words in page
    assert page.lstrip().startswith('<div id="card-desk"')


def test_what_accepting_asks_is_asked_once(season, card, crew):
    note_listing(card, [key_of(f"P{n:04d}.JPG", shot(n)) for n in range(3)])
    arrive_all(card, 2)
    address = url("card_accept", season, card.pk)
    seen = arrangement(card).seen
    asked = crew.post(address, {"seen": seen})
    page = asked.content.decode()
    assert asked.status_code == 422
    assert "has not come in: P0002.JPG. Accept without it?" in page

    question = "1 file that was listed has not come in: P0002.JPG. Accept without it?"
    sent = crew.post(address, {"seen": seen, "answer_not_arrived": question})
    assert sent.status_code == 303


def test_a_second_person_is_told_who_accepted(season, card, crew):
    arrive_all(card, 1)
    accept_card(card)
    answer = crew.post(url("card_accept", season, card.pk), {"seen": ""})

    assert answer.status_code == 409
    assert "accepted this card at" in answer.content.decode()


def test_a_desk_is_drawn_anew_only_where_something_changed(season, card, crew):
    arrive_all(card, 1)
    address = url("card", season, card.pk)
    state = sheet_of(card).state
    desk = {"HX-Request": "true", "HX-Target": "card-desk"}

    assert crew.get(f"{address}?unless={state}", headers=desk).status_code == 204
    arrive_all(card, 1, first=1)
    drawn = crew.get(f"{address}?unless={state}", headers=desk)
    assert "2 frames stand" in drawn.content.decode()
    panel = crew.get(address, headers=desk | {"HX-Target": "card-panel"}).content.decode()
    assert "Choose a frame" in panel
    assert "card-desk" not in panel.split('hx-target="')[0]


def test_the_card_page_asks_no_more_for_forty_frames(season, crew, django_assert_max_num_queries):
    run = run_of_small_frames(season)
    row = run.rows.get()
    row.stations = 500
    row.save()
    card = begun_card(PhotoRun.objects.get(pk=run.pk))

    for n in range(40):
        picture = make_picture(season.site, file=make_stored_file(width_px=72, height_px=48))
        IncomingFrame.objects.create(
            card=card,
            picture=picture,
            file=picture.file,
            original_name=f"P{n:04d}.JPG",
            size_bytes=1000,
        )
    address = url("card", season, card.pk)
    with django_assert_max_num_queries(30):
        page = shown(crew, address)
    assert "40 frames stand on their stations." in page
    accept_card(card)
    with django_assert_max_num_queries(30):
        assert "40 photographs, accepted" in shown(crew, address)


def test_the_pictures_place_says_what_waits(season, card, crew):
    arrive_all(card, 2)
    page = shown(crew, url("pictures", season))

    assert "Nothing has come in today." in page
    assert "1 card waits to be accepted." in page
    assert "2 files are here" in page
    assert url("scans", season) in page
    assert url("sheets", season) in page
    accept_card(card)
    page = shown(crew, url("pictures", season))
    assert "Came in today: 2 photographs." in page
    assert f"{season.code}-photo-2" in page


def test_readers_see_pictures_and_runs_but_no_cards(season, run, card, client):
    client.force_login(make_member(season.site, Role.READER).account)

    page = shown(client, url("pictures", season))
    assert "Bring in a card" not in page
    assert url("scans", season) not in page
    assert "Card of dive" in shown(client, url("run", season, run.pk))
    shown(client, url("card", season, card.pk), 403)


def test_a_slate_is_photographed_into_its_dive_by_script_and_by_form(season, crew):
    dive = make_dive(make_day(season))
    address = url("dive_slate", season, dive.pk)
    data = made_files.jpeg(seed=7)
    headers = {"X-File-Name": "slate.jpg", "X-File-Bytes": str(len(data))}
    for _tap in range(2):
        sent = crew.post(
            address, data=data, content_type="application/octet-stream", headers=headers
        )
        assert sent.json() == {"taken": True}
    other = SimpleUploadedFile("slate2.jpg", made_files.jpeg(seed=8))
    assert crew.post(address, {"slate": other}).status_code == 303

    slates = Photograph.objects.order_by("n")
    assert [one.subject for one in slates] == [f"Slate of dive {dive.n}"] * 2
    page = shown(crew, url("dive", season, dive.pk))
    assert f"{season.code}-photo-2" in page
    told = crew.post(address, {"slate": SimpleUploadedFile("x.jpg", b"<html>" * 999)}, follow=True)
    assert "Whatever its name says" in told.content.decode()


def test_a_single_photograph_keeps_its_file_while_the_rest_is_mended(season, crew):
    stage = make_stage(season)
    file = SimpleUploadedFile("ring.jpg", made_files.jpeg(seed=3))
    said = {"id": str(uuid4()), "kind": "detail", "subject": "Ring", "square": "nowhere"}
    answer = crew.post(url("photo_new", season), said | {"file": file})
    page = answer.content.decode()
    picture = Picture.objects.get()
    assert answer.status_code == 422
    assert f'name="picture" value="{picture.pk}"' in page
    assert "Kept: ring.jpg" in page

    said |= {"square": "", "picture": str(picture.pk), "stage": stage.pk}
    sent = crew.post(url("photo_new", season), said)
    assert sent.status_code == 303
    photograph = Photograph.objects.get()
    assert (photograph.subject, photograph.stage, photograph.picture) == ("Ring", stage, picture)
    assert "Ring" in shown(crew, sent.url)


def test_a_raw_file_is_kept_beside_its_photograph_and_nothing_else_is(season, crew):
    said = {"id": str(uuid4()), "kind": "detail", "subject": "Ring"}
    jpeg, raw = made_files.jpeg(seed=5), made_files.raw(seed=5)
    wrong = {"file": SimpleUploadedFile("r.jpg", jpeg), "raw": SimpleUploadedFile("x.nef", jpeg)}

    refused = crew.post(url("photo_new", season), said | wrong)
    assert refused.status_code == 422
    assert "x.nef is no raw file" in refused.content.decode()

    picture = Picture.objects.get()
    again = {"picture": str(picture.pk), "raw": SimpleUploadedFile("r.nef", raw)}
    assert crew.post(url("photo_new", season), said | again).status_code == 303
    picture.refresh_from_db()
    assert picture.raw_file.media_type == "image/x-raw"
    assert Photograph.objects.get().picture == picture


def test_a_photograph_wants_a_file(season, crew):
    said = {"id": str(uuid4()), "kind": "detail"}
    answer = crew.post(url("photo_new", season), said)

    assert answer.status_code == 422
    assert "Choose the photograph" in answer.content.decode()


def test_a_lead_mends_and_voids_an_accepted_frame(season, card, lead):
    arrive_all(card, 2)
    accept_card(card)
    photograph = Photograph.objects.get(n=1)
    page = shown(lead, url("photo", season, photograph.pk))
    assert "row 1, station 1" in page

    stand = url("frame_stand", season, photograph.pk)
    said = {"place": "2", "foot_x_m": "0.1", "foot_y_m": "0", "version": "1"}
    assert lead.post(stand, said).status_code == 303
    assert Photograph.objects.get(n=1).frame.station == 3
    out = url("frame_leave_out", season, photograph.pk)
    assert lead.post(out, {"reason": "a fish", "version": "2"}).status_code == 303
    assert "Left out: a fish" in shown(lead, url("photo", season, photograph.pk))
    edit = {"subject": "A fish", "version": "1"}
    assert lead.post(url("photo_edit", season, photograph.pk), edit).status_code == 303
    assert lead.post(url("photo_void", season, photograph.pk), {"reason": "no"}).status_code == 303
    assert "Void: no" in shown(lead, url("photo", season, photograph.pk))


def test_forms_say_that_fieldwork_is_closed_before_anybody_types(season, run, card, lead):
    SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")
    for name, arguments in {
        "card_new": [],
        "run_new": [],
        "set_up_new": [],
        "run_edit": [run.pk],
        "card_edit": [card.pk],
        "card_aside": [card.pk],
    }.items():
        assert "Fieldwork of this season is closed" in shown(
            lead, url(name, season, *arguments), 409
        )
    page = shown(lead, url("card", season, card.pk))
    assert "Choose the card" not in page
    shown(lead, url("photo_new", season))
