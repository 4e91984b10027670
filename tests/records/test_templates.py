"""House rules that every template keeps."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = sorted((ROOT / "templates").rglob("*.html"))
COMMENT = re.compile(r"{% comment %}.*?{% endcomment %}|{#.*?#}", re.DOTALL)


@pytest.fixture(params=PAGES, ids=lambda page: str(page.relative_to(ROOT / "templates")))
def page(request):
    return request.param


def test_no_inline_script_style_or_handler(page):
    text = COMMENT.sub("", page.read_text())

    assert not re.search(r"<[^>]+\sstyle\s*=", text)
    assert not re.search(r"<[^>]+\son[a-z]+\s*=", text)
    assert not re.search(r"<[^>]+\shx-on", text)
    assert "<style" not in text
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)


def test_the_one_h1_stands_in_the_frame(page):
    assert page.read_text().count("<h1") == (1 if page.name == "base.html" else 0)


def test_nothing_is_loaded_from_elsewhere(page):
    text = page.read_text().replace('xmlns="http://www.w3.org/2000/svg"', "")

    assert not re.search(r"(src|href|action)\s*=\s*[\"']?(https?:)?//", text)
