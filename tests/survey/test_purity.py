"""survey/ computes; it knows no web framework, no records, no files and no clock."""

import ast
import json
import pkgutil
import subprocess
import sys
from pathlib import Path

import survey

ROOT = Path(survey.__file__).resolve().parent.parent
MODULES = sorted(module.name for module in pkgutil.walk_packages(survey.__path__, "survey."))
# OpenCV takes a quarter of a second to load: only where pictures are worked on.
MAY_USE_CV2 = {
    "survey.base_corners",
    "survey.calibration_board",
    "survey.code_edges",
    "survey.flatness",
    "survey.lens_calibration",
    "survey.likeness",
    "survey.markers",
    "survey.measuring",
    "survey.overlap",
    "survey.print_codes",
    "survey.print_lines",
    "survey.print_reading",
    "survey.quality",
    "survey.rectify",
    "survey.sameground",
    "survey.slips",
}
NEVER_LOADED = {"django", "records"}
NEVER_IMPORTED = {"django", "records", "os", "pathlib", "shutil", "time", "tempfile", "logging"}


# Each module as if it were the first: what others of ours had loaded is forgotten before it.
LOAD_EACH = """
import importlib, json, sys
for module in sys.argv[1:]:
    for name in [one for one in sys.modules if one.partition(".")[0] == "survey"]:
        del sys.modules[name]
    importlib.import_module(module)
    print(json.dumps([module, sorted({name.partition(".")[0] for name in sys.modules})]))
"""


def _loaded_after_import(modules: list[str]) -> dict[str, set[str]]:
    """By module: the packages that an interpreter of its own holds once that one is imported."""
    done = subprocess.run(
        [sys.executable, "-c", LOAD_EACH, *modules],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return {name: set(held) for name, held in map(json.loads, done.stdout.splitlines())}


def _imported_by(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
    return names


def test_modules_are_found():
    assert "survey.grid" in MODULES


def test_a_fresh_interpreter_loads_each_without_the_web():
    """Those that may use OpenCV come last, since it stays once it is loaded."""
    plain = [module for module in MODULES if module not in MAY_USE_CV2]
    loaded = _loaded_after_import(plain + sorted(MAY_USE_CV2))

    assert set(loaded) == set(MODULES)
    assert {name: held & NEVER_LOADED for name, held in loaded.items() if held & NEVER_LOADED} == {}
    assert [name for name in plain if "cv2" in loaded[name]] == []


def test_none_imports_files_or_clock_or_records():
    imported = {
        module: _imported_by(ROOT.joinpath(*module.split(".")).with_suffix(".py"))
        for module in MODULES
    }

    assert {
        name: names & NEVER_IMPORTED for name, names in imported.items() if names & NEVER_IMPORTED
    } == {}


def test_the_check_notices_an_impure_module(tmp_path):
    impure = tmp_path / "impure.py"
    impure.write_text("import numpy\nfrom django.db import models\n")

    assert _imported_by(impure) & NEVER_IMPORTED == {"django"}
