"""The top level, README's two commands, and the pinned parts."""

import re
import subprocess
from importlib import metadata
from pathlib import Path

import pytest
from django.conf import settings
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(settings.BASE_DIR)
LISTED = {
    "manage.py",
    "requirements.txt",
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",  # tools only
    "survey",
    "records",
    "templates",
    "static",
    "tests",
    "fixtures",
}
FENCED = re.compile(r"^```(\w*)\n(.*?)^```", re.M | re.S)


def test_the_top_level_is_as_the_design_lists_it():
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False
    ).stdout.splitlines()
    if not tracked:
        pytest.skip("not in a git clone")

    assert {name.split("/")[0] for name in tracked if not name.startswith(".")} == LISTED


def test_readme_starts_with_the_job_and_two_complete_commands():
    readme = (TOP / "README.md").read_text(encoding="utf-8")
    title, paragraph, *_rest = readme.split("\n\n")
    blocks = FENCED.findall(readme)
    start, test = [block for kind, block in blocks if kind == "sh"][:2]

    assert title.startswith("# ")
    assert len(paragraph.split()) > 60
    assert [kind for kind, _block in blocks[:4]] == ["sh", "powershell", "sh", "powershell"]
    for block in (start, test):
        assert block.startswith("python3 -m venv .venv &&\n")
    assert block_ends_with(start, "manage.py shed --demo")
    assert "-r requirements.txt" in start
    assert "-r tests/requirements.txt" in test
    assert block_ends_with(test, '-m pytest -n 2 -m "not slow"')


def block_ends_with(block: str, command: str) -> bool:
    return block.strip().splitlines()[-1].endswith(command)


def pinned(part: str) -> list[tuple[str, str, str]]:
    """Name, version and reason of each line."""
    lines = [line for line in part.splitlines() if line and not line.startswith(("#", "-r"))]
    found = []
    for line in lines:
        match = re.fullmatch(r"([\w.\[\]-]+)==([\w.]+)(?:\s+# (.+))?", line)
        assert match, f"not exactly pinned: {line}"
        found.append((canonicalize_name(match[1].split("[")[0]), match[2], match[3] or ""))
    return found


def test_direct_dependencies_are_pinned_each_with_its_reason():
    direct, needed = (TOP / "requirements.txt").read_text().split("# What these need.")

    assert [name for name, _version, reason in pinned(direct) if not reason] == []
    for name, version, _reason in pinned(direct) + pinned(needed):
        assert metadata.version(name) == version, name


def test_what_the_dependencies_need_is_pinned_too():
    parts = pinned((TOP / "requirements.txt").read_text())
    known = {name for name, _version, _reason in parts}
    extras = {"psycopg": {"binary"}}
    missing = set()
    for name in known:
        for asked in map(Requirement, metadata.requires(name) or []):
            for extra in extras.get(name, set()) | {""}:
                if asked.marker is None or asked.marker.evaluate({"extra": extra}):
                    missing |= {canonicalize_name(asked.name)} - known

    assert missing == set()


def test_every_dependency_is_explained_to_developers():
    direct = (TOP / "requirements.txt").read_text().split("# What these need.")[0]
    developers = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8").casefold()
    spoken = {"opencv-python-headless": "opencv", "whitenoise": "whitenoise"}

    for name, _version, _reason in pinned(direct):
        assert spoken.get(name, name) in developers, name
