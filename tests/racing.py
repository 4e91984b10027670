"""Real processes that do the same thing at the same moment, on the database of the test.

This module imports nothing of Django's at its head: a process that is spawned sets up its own.
"""

import importlib
import multiprocessing
import os
import sys
import textwrap
from typing import Any

PROCESSES = 8


def _racers() -> Any:
    """Copies of one process that has loaded Django once, where the system can copy processes."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    copied = multiprocessing.get_context("forkserver")
    copied.set_forkserver_preload(["tests.ready_to_race"])
    return copied


_context = _racers()


def race(act: str, every: list[tuple[Any, ...]]) -> list[Any]:
    """Call `tests.records.module:function` in one process for each tuple of arguments.

    All begin together. Returns what they returned, in their order; a process that fails ends
    the race with its error. The test needs `django_db(transaction=True)`.
    """
    from django.db import connection

    name = connection.settings_dict["NAME"]
    barrier = _context.Barrier(len(every))
    answers: Any = _context.Queue()
    running = [
        _context.Process(target=_run, args=(act, str(name), index, arguments, barrier, answers))
        for index, arguments in enumerate(every)
    ]
    for process in running:
        process.start()
    told = dict(answers.get(timeout=120) for _process in running)
    for process in running:
        process.join(30)
    failed = [answer for answer in told.values() if isinstance(answer, BaseException)]
    if failed:
        raise failed[0]
    return [told[index] for index in range(len(every))]


class Copied:
    """Python code in a copy of a process that has loaded Django, on the database of the test: what
    `processes.start` answers, without the second that it takes to begin."""

    def __init__(self, code: str, *arguments: str) -> None:
        from django.db import connection

        name = str(connection.settings_dict["NAME"])
        theirs, ours = _context.Pipe(duplex=False)
        said, words = _context.Pipe(duplex=False)
        self._process = _context.Process(
            target=_become, args=(textwrap.dedent(code), arguments, name, theirs, words)
        )
        self._process.start()
        theirs.close()
        words.close()
        self.stdin = os.fdopen(os.dup(ours.fileno()), "w")
        self.stdout = os.fdopen(os.dup(said.fileno()))
        ours.close()
        said.close()

    def kill(self) -> None:
        self._process.kill()

    def communicate(self) -> tuple[str, None]:
        """Waits for its end; what it said."""
        self.stdin.close()
        with self.stdout:
            said = self.stdout.read()
        self._process.join(30)
        return said, None


def _become(code: str, arguments: tuple[str, ...], name: str, into: Any, words: Any) -> None:
    import django

    for stream, place in ((into, 0), (words, 1), (words, 2)):
        os.dup2(stream.fileno(), place)
    sys.stdin = os.fdopen(0)
    sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w", buffering=1)
    sys.argv = ["-c", *arguments]
    django.setup()
    from django.db import connection

    connection.settings_dict["NAME"] = name
    exec(code, {"sys": sys})


def _run(
    act: str, name: str, index: int, arguments: tuple[Any, ...], barrier: Any, answers: Any
) -> None:
    import django

    try:
        django.setup()
        from django.db import connection

        connection.settings_dict["NAME"] = name
        module, _colon, function = act.partition(":")
        run = getattr(importlib.import_module(module), function)
        connection.ensure_connection()
        barrier.wait(60)
        answers.put((index, run(*arguments)))
    except BaseException as error:
        barrier.abort()
        answers.put((index, RuntimeError(f"{type(error).__name__}: {error}")))
