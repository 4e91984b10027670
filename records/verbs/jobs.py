"""What a person may do to long work: stop it, and start again what failed."""

from records.acting import acting_account
from records.jobs import ask, ask_to_stop
from records.models import Job
from records.permissions import May, demand
from records.verbs.guard import ALWAYS, verb


@verb(May.RECORD, ALWAYS)
def stop_job(job: Job) -> None:
    """Ask a job to stop: who asked for it, or the lead."""
    _demand_own_or_lead(job)
    ask_to_stop(job)


@verb(May.RECORD, ALWAYS)
def start_job_again(job: Job) -> Job:
    """The same work once more, under the name of who asks now."""
    _demand_own_or_lead(job)
    return ask(job.kind, site=job.site, argument=job.argument, once=True)


def _demand_own_or_lead(job: Job) -> None:
    if job.asked_by != acting_account() and job.site is not None:
        demand(acting_account(), job.site, May.LEAD)
