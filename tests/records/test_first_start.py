"""A new database takes one migration where older ones took twenty-seven."""

import re
from collections.abc import Callable, Iterator

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from records.migrations._together import CreateModels

TOGETHER = ("records", "0001_squashed_0027_every_table_at_once")
LAST = ("records", "0027_extent_unsaid")


@pytest.fixture(autouse=True)
def _with_migrations(settings):
    settings.MIGRATION_MODULES = {}  # tests make their tables without: here the real ones count


def test_one_migration_leaves_what_its_originals_leave():
    loader, of_originals = MigrationLoader(None), MigrationLoader(None, replace_migrations=False)
    together = loader.get_migration(*TOGETHER)

    assert loader.project_state(TOGETHER).models == of_originals.project_state(LAST).models
    assert [type(one) for one in together.operations] == [CreateModels]  # no table is made anew
    kept = {key for key in loader.disk_migrations if key[0] == "records" and key <= LAST}
    assert set(together.replaces) == kept - {TOGETHER}


@pytest.fixture
def begin(tmp_path, django_db_blocker) -> Iterator[Callable[[str], None]]:
    """Put an empty SQLite file in the place of the tests' database."""
    of_tests = connections["default"]
    if of_tests.vendor != "sqlite":
        pytest.skip("SQLite's own words for its tables are compared")

    def begin(name: str) -> None:
        if connections["default"] is not of_tests:
            connections["default"].close()
        given = {**of_tests.settings_dict, "NAME": str(tmp_path / name)}
        connections["default"] = type(of_tests)(given, "default")

    with django_db_blocker.unblock():
        yield begin
        connections["default"].close()
        connections["default"] = of_tests


def schema() -> dict[str, list[str]]:
    """Each of our tables and indexes; a table's columns and constraints in any order."""
    with connections["default"].cursor() as cursor:
        told = cursor.execute(
            "SELECT name, sql FROM sqlite_master"
            " WHERE tbl_name LIKE 'records_%' AND sql IS NOT NULL"
        ).fetchall()
    # The closing bracket stands behind the last column, whichever that is.
    parts = {name: re.split(r', (?="|CONSTRAINT)', sql.removesuffix(")")) for name, sql in told}
    return {
        name: sorted(parts[name]) if sql.startswith("CREATE TABLE") else [sql] for name, sql in told
    }


def noted():
    return MigrationRecorder(connections["default"]).migration_qs.filter(app="records")


def migrate() -> set[str]:
    """Which of ours are noted as done."""
    call_command("migrate", verbosity=0)
    return set(noted().values_list("name", flat=True))


@pytest.mark.slow  # every table is made twice
def test_migrated_tables_are_those_the_models_ask_for_whatever_was_there(begin, settings):
    begin("migrated.sqlite3")
    done, made = migrate(), schema()
    assert {TOGETHER[1], "0001_the_house", LAST[1]} <= done

    # 0027 changes no table: with neither it nor all together noted, one stands at 0026.
    begin("at_0026.sqlite3")
    call_command("migrate", *TOGETHER, verbosity=0)
    noted().filter(name__in=[TOGETHER[1], LAST[1]]).delete()
    assert (migrate(), schema()) == (done, made)

    noted().filter(name=TOGETHER[1]).delete()  # one at 0027
    assert (migrate(), schema()) == (done, made)

    begin("asked.sqlite3")
    settings.MIGRATION_MODULES = {one.label: None for one in apps.get_app_configs()}
    call_command("migrate", run_syncdb=True, verbosity=0)
    assert schema() == made
