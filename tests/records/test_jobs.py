"""Long work: asked, done, stopped, failed, and started again when its worker is killed."""

import time
from datetime import timedelta

import pytest
from django.urls import reverse

import tests.records.slow_jobs  # noqa: F401 (registers its jobs)
from records.acting import acting_as
from records.jobs import _claim, ask, ask_to_stop, perform, start_over
from records.models import Job, JobState, Role
from records.progress import Ending, Progress
from records.queries.jobs import shown
from records.reaper import Reaper
from tests.factory import make_member, make_season
from tests.processes import lines_of, start, wait_until

WORKER = """
    import tests.records.slow_jobs
    from django.core.management import call_command
    call_command("worker", "quick")
"""
SILENT = {"JOB_SILENT_S": "4"}


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def crew(season):
    return make_member(season.site, Role.CREW).account


def asked(kind, season, account, **argument) -> Job:
    with acting_as(account):
        return ask(kind, site=season.site, argument=argument)


def done_here(job: Job) -> Job:
    claimed = _claim(str(job.pk))
    assert claimed is not None
    perform(claimed)
    job.refresh_from_db()
    return job


@pytest.mark.django_db
def test_a_job_is_done_in_the_name_of_who_asked(season, crew, tmp_path):
    job = asked("count", season, crew, place=str(tmp_path / "n"), steps=3, pause_s=0)

    done_here(job)

    assert (job.state, job.done, job.total) == (JobState.DONE, 3, 3)
    assert job.result == {"by": str(crew)}
    assert lines_of(tmp_path / "n") == ["0", "1", "2"]


@pytest.mark.django_db
def test_a_refusal_is_told_and_a_fault_keeps_its_detail_for_the_log(season, crew):
    refused = done_here(asked("refuse", season, crew))
    fallen = done_here(asked("fall", season, crew))

    assert refused.state == fallen.state == JobState.FAILED
    assert refused.message == "The drive is not there. Plug it in, then start again."
    assert "secret" not in fallen.message
    assert "Nothing was lost" in fallen.message


@pytest.mark.django_db
def test_asking_once_is_content_with_one_that_waits(season, crew):
    with acting_as(crew):
        first = ask("refuse", site=season.site, once=True)
        assert ask("refuse", site=season.site, once=True) == first
        assert ask("fall", site=season.site, once=True) != first
        done_here(first)
        assert ask("refuse", site=season.site, once=True) != first


@pytest.mark.django_db
def test_a_waiting_job_is_stopped_at_once_and_never_begins(season, crew):
    job = asked("fall", season, crew)

    ask_to_stop(job)

    job.refresh_from_db()
    assert job.state == JobState.STOPPED
    assert _claim(str(job.pk)) is None


@pytest.mark.django_db
def test_an_attempt_that_was_taken_over_writes_nothing_more(season, crew, tmp_path):
    job = asked("count", season, crew, place=str(tmp_path / "n"), steps=1, pause_s=0)
    old = _claim(str(job.pk))
    start_over(old, old.attempts, cut_off=True)
    new = _claim(str(job.pk))

    perform(old)

    job.refresh_from_db()
    assert (job.state, job.attempts, job.done) == (JobState.RUNNING, 2, 0)
    perform(new)
    job.refresh_from_db()
    assert job.state == JobState.DONE


@pytest.mark.django_db
def test_a_worker_going_down_hands_its_job_back_uncounted(season, crew, monkeypatch):
    job = asked("sleep", season, crew, seconds=0)
    claimed = _claim(str(job.pk))
    monkeypatch.setattr(time, "sleep", lambda _s: (_ for _ in ()).throw(Ending))

    perform(claimed)

    job.refresh_from_db()
    assert (job.state, job.cut_offs) == (JobState.WAITING, 0)


@pytest.mark.django_db
def test_the_third_cut_off_is_the_last(season, crew):
    job = asked("fall", season, crew)
    for _time in range(3):
        claimed = _claim(str(job.pk))
        start_over(claimed, claimed.attempts, cut_off=True)

    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "Cut off 3 times" in job.message


class Clock:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.mark.django_db
def test_the_reaper_waits_its_whole_time_and_forgives_a_laptop_that_slept(season, crew, settings):
    settings.JOB_SILENT_S = 30
    job = asked("fall", season, crew)
    _claim(str(job.pk))
    clock = Clock()
    reaper = Reaper(clock)
    for clock.now in (1, 11, 21):
        assert reaper.look() == []
    clock.now = 5000  # the lid was closed
    assert reaper.look() == []
    for clock.now in (5010, 5020):
        assert reaper.look() == []

    clock.now = 5031
    assert [reaped.pk for reaped in reaper.look()] == [job.pk]

    job.refresh_from_db()
    assert (job.state, job.cut_offs) == (JobState.WAITING, 1)


@pytest.mark.django_db
def test_a_waiting_job_in_the_queue_is_left_alone(season, crew, settings):
    settings.JOB_SILENT_S = 30
    asked("fall", season, crew)
    clock = Clock()
    reaper = Reaper(clock)

    for clock.now in range(0, 100, 10):
        assert reaper.look() == []


@pytest.mark.django_db
def test_work_that_no_worker_does_is_left_to_whoever_does_it(season, crew, settings):
    settings.JOB_SILENT_S = 30
    Job.objects.create(kind="demo", queue="loader", state=JobState.RUNNING)
    clock = Clock()
    reaper = Reaper(clock)

    for clock.now in range(0, 100, 10):
        assert reaper.look() == []


@pytest.mark.django_db
def test_time_left_follows_the_pace(season, crew):
    job = asked("sleep", season, crew, seconds=0)
    running = _claim(str(job.pk))
    running.done, running.total = 20, 80

    view = shown(running, now=running.started_at + timedelta(seconds=60))

    assert view.how_far == "20 of 80"
    assert view.left == "about 3 minutes left"


@pytest.mark.django_db(transaction=True)
@pytest.mark.slow
def test_a_job_whose_worker_is_killed_starts_again_and_finishes(season, crew, tmp_path):
    place = tmp_path / "n"
    job = asked("count", season, crew, place=str(place), steps=30, pause_s=0.2)
    first = start(WORKER, env=SILENT)
    second = None
    try:
        wait_until(lambda: len(lines_of(place)) > 4)
        first.kill()
        first.wait()
        second = start(WORKER, env=SILENT)
        wait_until(lambda: Job.objects.get(pk=job.pk).is_over)
    finally:
        for worker in filter(None, (first, second)):
            worker.kill()
            worker.wait()

    job.refresh_from_db()
    assert (job.state, job.attempts, job.cut_offs) == (JobState.DONE, 2, 1)
    assert lines_of(place)[-30:] == [str(step) for step in range(30)]


@pytest.mark.django_db(transaction=True)
@pytest.mark.slow
def test_a_long_step_beats_and_a_stop_is_heeded(season, crew, tmp_path):
    place = tmp_path / "n"
    long = asked("sleep", season, crew, seconds=7)
    worker = start(WORKER, env={"JOB_SILENT_S": "6"})
    try:
        wait_until(lambda: Job.objects.get(pk=long.pk).is_over)
        counting = asked("count", season, crew, place=str(place), steps=600, pause_s=0.1)
        wait_until(lambda: lines_of(place))
        ask_to_stop(counting)
        wait_until(lambda: Job.objects.get(pk=counting.pk).is_over, seconds=10)
    finally:
        worker.kill()
        worker.wait()

    long.refresh_from_db()
    counting.refresh_from_db()
    assert (long.state, long.attempts) == (JobState.DONE, 1)
    assert counting.state == JobState.STOPPED


@pytest.mark.django_db(transaction=True)
@pytest.mark.slow
def test_a_worker_told_to_end_hands_its_job_back(season, crew, tmp_path):
    place = tmp_path / "n"
    job = asked("count", season, crew, place=str(place), steps=600, pause_s=0.1)
    worker = start(WORKER)
    wait_until(lambda: lines_of(place))
    worker.terminate()

    assert worker.wait(10) == 0
    job.refresh_from_db()
    assert (job.state, job.cut_offs) == (JobState.WAITING, 0)


@pytest.mark.django_db
def test_the_page_shows_stop_to_who_asked_and_to_the_lead_only(season, crew, client):
    job = asked("sleep", season, crew, seconds=0)
    page = reverse("job", args=[season.code, job.pk])
    stop = reverse("job_stop", args=[season.code, job.pk])
    other = make_member(season.site, Role.CREW).account

    client.force_login(make_member(make_season().site, Role.DIRECTOR).account)
    assert client.get(page).status_code == 404
    client.force_login(make_member(season.site, Role.READER).account)
    assert client.get(page).status_code == 403
    client.force_login(other)
    assert client.get(page).status_code == 200
    assert client.post(stop).status_code == 403
    client.force_login(crew)
    assert client.post(stop).status_code == 303

    job.refresh_from_db()
    assert job.state == JobState.STOPPED


@pytest.mark.django_db
def test_the_fragment_polls_while_the_work_goes_on_and_then_no_more(season, crew, client):
    job = asked("refuse", season, crew)
    page = reverse("job", args=[season.code, job.pk])
    client.force_login(crew)
    waiting = client.get(page, headers={"HX-Request": "true"}).content.decode()
    done_here(job)

    over = client.get(page, headers={"HX-Request": "true"}).content.decode()

    assert 'hx-trigger="every 2s"' in waiting
    assert "<html" not in waiting
    assert "hx-trigger" not in over
    assert "Plug it in" in over
    again = client.post(reverse("job_again", args=[season.code, job.pk]))
    assert again.status_code == 303
    assert Job.objects.filter(state=JobState.WAITING).count() == 1


@pytest.mark.django_db
def test_progress_is_written_at_most_once_a_second(season, crew, django_assert_max_num_queries):
    job = asked("sleep", season, crew, seconds=0)
    progress = Progress(_claim(str(job.pk)))
    progress.total(500)

    with django_assert_max_num_queries(8):
        for _step in range(500):
            progress.step("on")

    assert progress.done == 500
