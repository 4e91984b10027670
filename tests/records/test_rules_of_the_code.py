"""Rules that a machine can check in our own source."""

import ast
import re
import subprocess
from dataclasses import dataclass
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

TOP = Path(settings.BASE_DIR)
RECORDS = sorted(path for path in (TOP / "records").rglob("*.py") if "migrations" not in path.parts)
SURVEY = sorted((TOP / "survey").rglob("*.py"))
FIXTURES = sorted((TOP / "fixtures").rglob("*.py"))
VIEWS = [path for path in RECORDS if path.parent.name == "views"]
# The door from records into survey: these hand over value objects and numbers.
MAY_ASK_SURVEY = ("models/", "verbs/", "intake/", "archive/", "jobs.py")
# OpenCV is heavy and speaks in arrays: only these modules do.
MAY_IMPORT_CV2 = {
    "survey/calibration_board.py",
    "survey/code_edges.py",
    "survey/homography.py",
    "survey/lens_calibration.py",
    "survey/marks.py",
    "survey/markers.py",
    "survey/placement.py",
    "survey/print_codes.py",
    "survey/print_lines.py",
    "survey/print_reading.py",
    "survey/measuring.py",
    "survey/overlap.py",
    "survey/rectify.py",
    "survey/change.py",
    "survey/mosaic/",
    "records/intake/decoding.py",
}
SHAPE_NAMES = re.compile(r"(utils?|helpers?|services?|misc|commons?|managers?|stuff)(\.py)?$")
WRITES = {"save", "create", "delete", "get_or_create", "update_or_create", "bulk_create"}


def name_of(path: Path) -> str:
    return path.relative_to(TOP).as_posix()


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


@dataclass(frozen=True)
class Told:
    """What one module tells, kept of its tree, which is read once for all the rules."""

    imports: frozenset[str]
    writes: tuple[tuple[str, bool], ...]  # where, and is it past history
    functions: tuple[tuple[str, int], ...]  # each with its lines, the docstring's left out


@cache
def told_by(path: Path) -> Told:
    imports, writes, functions = set(), [], []
    for node in ast.walk(tree_of(path)):
        match node:
            case ast.Import():
                imports |= {alias.name for alias in node.names}
            case ast.ImportFrom(module=str(module)):
                imports |= {module} | {f"{module}.{alias.name}" for alias in node.names}
            case ast.Call(func=ast.Attribute(attr=name)):
                unseen = is_unseen_write(name, node)
                if unseen or name in WRITES:
                    writes.append((f"{name_of(path)}:{node.lineno} .{name}(", unseen))
            case ast.FunctionDef():
                words = ast.get_docstring(node, clean=False) or ""
                lines = (node.end_lineno or 0) - node.lineno + 1 - len(words.splitlines())
                functions.append((f"{name_of(path)}:{node.lineno} {node.name}", lines))
    return Told(frozenset(imports), tuple(writes), tuple(functions))


def imports(path: Path) -> frozenset[str]:
    return told_by(path).imports


def is_unseen_write(name: str, call: ast.Call) -> bool:
    """Past history. A query set's `update` takes keywords, a dictionary's a mapping."""
    if name == "update":
        return bool(call.keywords)
    return name in {"bulk_create", "bulk_update", "_raw_delete", "aupdate"}


@pytest.mark.parametrize(
    ("source", "unseen"),
    [
        ("Dive.objects.filter(n=1).update(n=2)", True),
        ("rows.update(**changes)", True),
        ("Dive.objects.bulk_create(rows)", True),
        ("Dive.objects.bulk_update(rows, ['n'])", True),
        ("told.update(other)", False),
        ("digest.update(block)", False),
        ("bulk_create_with_history(rows, Dive)", False),
    ],
)
def test_the_search_for_unseen_writes_tells_them_apart(source, unseen):
    call = ast.parse(source, mode="eval").body
    name = call.func.attr if isinstance(call.func, ast.Attribute) else ""

    assert is_unseen_write(name, call) == unseen


def test_no_row_is_written_past_history():
    everything = [write for path in RECORDS + FIXTURES for write in told_by(path).writes]

    assert [where for where, unseen in everything if unseen] == []


def test_views_never_write_a_row_themselves():
    assert [where for path in VIEWS for where, _unseen in told_by(path).writes] == []


@pytest.mark.django_db
def test_no_migration_is_pending(settings):
    settings.MIGRATION_MODULES = {}  # tests make their tables without: here the real ones count
    told = StringIO()

    call_command("makemigrations", check_changes=True, dry_run=True, stdout=told)

    assert "No changes detected" in told.getvalue()


def test_migrations_are_named_for_their_intent():
    names = [path.stem for path in (TOP / "records" / "migrations").glob("0*.py")]

    assert [name for name in names if re.search(r"_auto_|^\d+_initial$|_and_more$", name)] == []


def test_survey_imports_neither_django_nor_records():
    found = [
        f"{name_of(path)}: {module}"
        for path in SURVEY
        for module in imports(path)
        if module.split(".")[0] in {"django", "records", "fixtures", "tests"}
    ]

    assert found == []


def test_records_asks_survey_only_through_its_door():
    found = [
        f"{name_of(path)}: {module}"
        for path in RECORDS
        for module in imports(path)
        if module.split(".")[0] == "survey"
        and not name_of(path).removeprefix("records/").startswith(MAY_ASK_SURVEY)
    ]

    assert found == []


def test_opencv_is_imported_only_in_named_modules():
    found = [
        name_of(path)
        for path in RECORDS + SURVEY
        if "cv2" in {module.split(".")[0] for module in imports(path)}
        and not name_of(path).startswith(tuple(MAY_IMPORT_CV2))
    ]

    assert found == []


def test_pdfium_reads_what_comes_in_and_makes_nothing_of_ours():
    """Tests render our own PDFs with it: it must have no part in making them."""
    found = [name_of(path) for path in RECORDS + SURVEY if "pypdfium2" in imports(path)]

    assert found == ["records/intake/pdf_pages.py"]


def test_no_bench_hands_a_process_what_stands_beside_a_model():
    """A spawned process imports that module, and has not set Django up: it ends at once."""
    benches = sorted((TOP / "tests" / "bench").glob("*.py"))
    beside_models = [
        path
        for path in benches
        if any(name.split(".")[0] == "records" or "factory" in name for name in imports(path))
    ]
    assert beside_models
    for path in beside_models:
        own = {node.name for node in tree_of(path).body if isinstance(node, ast.FunctionDef)}
        handed = {
            node.id
            for call in ast.walk(tree_of(path))
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute)
            if call.func.attr in {"map", "submit"}
            for node in ast.walk(call.args[0])
            if isinstance(node, ast.Name)
        }
        assert not own & handed, f"{name_of(path)}: move {own & handed} to a module without models"


def test_only_jobs_knows_the_queue():
    found = [
        name_of(path)
        for path in RECORDS
        if {"django_tasks", "django_tasks_db"} & {module.split(".")[0] for module in imports(path)}
    ]

    assert found == ["records/jobs.py"]


def test_no_signals_as_plumbing():
    found = [
        name_of(path)
        for path in RECORDS
        if any(module.startswith("django.db.models.signals") for module in imports(path))
        or "django.dispatch.receiver" in imports(path)
    ]

    assert found == []


def test_files_stay_short_enough_to_read():
    def limit(path: Path) -> int:
        return 150 if path in VIEWS else 300

    lengths = {
        path: len(path.read_text(encoding="utf-8").splitlines()) for path in RECORDS + SURVEY
    }

    assert [f"{name_of(path)}: {n}" for path, n in lengths.items() if n > limit(path)] == []


def test_functions_stay_short_as_a_rule():
    """25 lines as a rule, so nine in ten; none past twice that. Docstrings do not count."""
    lengths = dict(one for path in RECORDS + SURVEY for one in told_by(path).functions)

    assert {name: n for name, n in lengths.items() if n > 50} == {}
    assert sum(n > 25 for n in lengths.values()) <= len(lengths) / 10


def test_nothing_is_named_by_its_shape():
    everything = [path for path in (TOP / "records").rglob("*") if "__pycache__" not in path.parts]
    found = [path for path in everything + SURVEY if SHAPE_NAMES.search(path.name)]

    assert [name_of(path) for path in found] == []


def test_the_project_package_stays_empty():
    """Models imported there would raise before the apps are ready."""
    assert (TOP / "records" / "__init__.py").read_text() == ""


def test_nothing_is_left_behind():
    marks = re.compile(r"\b(TODO|FIXME|XXX)\b|console\.log|breakpoint\(")
    tracked = subprocess.run(
        ["git", "ls-files", "*.py", "*.js", "*.css", "*.html"],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    ).stdout.split()
    found = [
        f"{name}:{number}"
        for name in tracked
        if TOP / name != Path(__file__)
        for number, line in enumerate((TOP / name).read_text(encoding="utf-8").splitlines(), 1)
        if marks.search(line)
    ]

    assert found == []
