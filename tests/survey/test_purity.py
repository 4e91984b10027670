"""survey/ computes; it knows no web framework, no records, no files and no clock."""

import ast
import json
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import survey

ROOT = Path(survey.__file__).resolve().parent.parent
MODULES = sorted(module.name for module in pkgutil.walk_packages(survey.__path__, "survey."))
# OpenCV takes a quarter of a second to load: only where pictures are worked on.
MAY_USE_CV2 = {
    "survey.base_corners",
    "survey.calibration_board",
    "survey.code_edges",
    "survey.lens_calibration",
    "survey.likeness",
    "survey.markers",
    "survey.measuring",
    "survey.overlap",
    "survey.print_codes",
    "survey.print_reading",
    "survey.quality",
    "survey.rectify",
    "survey.sameground",
    "survey.slips",
}
NEVER_LOADED = {"django", "records"}
NEVER_IMPORTED = {"django", "records", "os", "pathlib", "shutil", "time", "tempfile", "logging"}


def _loaded_after_import(module: str) -> set[str]:
    code = f"import {module}, sys, json; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return {name.partition(".")[0] for name in json.loads(done.stdout)}


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


@pytest.mark.parametrize("module", MODULES)
def test_a_fresh_interpreter_loads_it_without_the_web(module):
    loaded = _loaded_after_import(module)

    assert not loaded & NEVER_LOADED
    assert "cv2" not in loaded or module in MAY_USE_CV2


@pytest.mark.parametrize("module", MODULES)
def test_it_imports_neither_files_nor_clock_nor_records(module):
    path = ROOT.joinpath(*module.split(".")).with_suffix(".py")

    assert not _imported_by(path) & NEVER_IMPORTED


def test_the_check_notices_an_impure_module(tmp_path):
    impure = tmp_path / "impure.py"
    impure.write_text("import numpy\nfrom django.db import models\n")

    assert _imported_by(impure) & NEVER_IMPORTED == {"django"}
