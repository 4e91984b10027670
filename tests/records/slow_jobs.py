"""Jobs for the tests: they write into a file how far they came."""

import time
from pathlib import Path

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.jobs import job
from records.progress import Progress
from records.refusals import Refused


@job("count", words="Counting")
def count(progress: Progress, *, place: str, steps: int, pause_s: float) -> dict[str, str]:
    progress.total(steps)
    for step in range(steps):
        with Path(place).open("a") as out:
            out.write(f"{step}\n")
        time.sleep(pause_s)
        progress.step(f"at {step}")
    return {"by": str(acting_account())}


@job("sleep", words="One long step")
def sleep(progress: Progress, *, seconds: float) -> None:
    time.sleep(seconds)


@job("refuse", words="Refusing")
def refuse(progress: Progress) -> None:
    raise Refused(_("The drive is not there. Plug it in, then start again."))


@job("fall", words="Falling")
def fall(progress: Progress) -> None:
    raise RuntimeError("secret detail")
