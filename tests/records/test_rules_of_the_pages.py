"""Rules that a machine can check in templates, styles and scripts."""

import re
from pathlib import Path

import pytest
from django.conf import settings

TOP = Path(settings.BASE_DIR)
TEMPLATES = sorted((TOP / "templates").rglob("*.html"))
SCRIPTS = sorted((TOP / "static").rglob("*.js"))

INLINE = {
    "an inline style": re.compile(r"<style\b|\sstyle\s*=", re.I),
    "an inline script": re.compile(r"<script(?![^>]*\ssrc=)(?![^>]*application/json)", re.I),
    "a script attribute": re.compile(r"""<[^>]*\son[a-z]+\s*=\s*["']""", re.I),
    "a script address": re.compile(r"javascript:", re.I),
    "htmx evaluation": re.compile(r"""\shx-(on|vars)\b|hx-(vals|headers)=["']js:""", re.I),
}
OUTSIDE = re.compile(r"""(src|href|action)\s*=\s*["'](https?:)?//""", re.I)
BLOCKTRANSLATE = re.compile(r"{%\s*blocktrans(?:late)?\b.*?{%\s*endblocktrans(?:late)?\s*%}", re.S)
ATTRIBUTES = re.compile(r"{%\s*block main_attributes\s*%}.*?{%\s*endblock", re.S)
COMMENT = re.compile(r"{%\s*comment\b.*?{%\s*endcomment\s*%}|{#.*?#}|<!--.*?-->", re.S)
TAG = re.compile(r"{%.*?%}|{{.*?}}", re.S)
SAID = re.compile(r"""\s(placeholder|title|alt|aria-label)\s*=\s*"([^"]*)\"""")
MARKUP = re.compile(r"<[^>]*>", re.S)
WORD = re.compile(r"[^\W\d_]{2,}")
SAME_IN_EVERY_LANGUAGE = {
    "Seabed",
    "Squares",
    "mm",
    "cm",
    "kg",
    "min",
    "nbsp",
    "amp",
    "middot",
    "times",
    "UTC",
}


def name_of(path: Path) -> str:
    return path.relative_to(TOP).as_posix()


def bare_words(template: str) -> list[str]:
    """Words that a person would read and that no translation reaches."""
    text = BLOCKTRANSLATE.sub("", COMMENT.sub("", template))
    text = TAG.sub("", ATTRIBUTES.sub("", text))
    said = [words for _name, words in SAID.findall(text)]
    said.append(MARKUP.sub(" ", text))
    return [
        word for part in said for word in WORD.findall(part) if word not in SAME_IN_EVERY_LANGUAGE
    ]


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ("<p>{% translate 'Save' %}</p>", []),
        ("{% blocktranslate %}Dive {{ n }}{% endblocktranslate %}", []),
        ("<p>{{ dive.number }} · 3 mm</p>", []),
        ("<!doctype html><p class='answer'>Save</p>", ["Save"]),
        ('<input placeholder="Depth">', ["Depth"]),
        ('<img alt="{% translate "Drawing" %}">', []),
        ("{# a remark #}", []),
    ],
)
def test_the_search_for_bare_words_tells_them_apart(template, words):
    assert bare_words(template) == words


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_every_text_of_a_template_can_be_translated(path):
    assert bare_words(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_no_template_holds_script_or_style_or_reaches_outside(path):
    template = COMMENT.sub("", path.read_text(encoding="utf-8"))

    assert [what for what, pattern in INLINE.items() if pattern.search(template)] == []
    assert not OUTSIDE.search(template)


def test_the_frame_alone_writes_the_one_heading_of_a_page():
    counts = {
        name_of(path): len(re.findall(r"<h1\b", path.read_text(encoding="utf-8")))
        for path in TEMPLATES
    }

    assert {name: count for name, count in counts.items() if count} == {"templates/base.html": 1}


@pytest.mark.parametrize(
    "path", [path for path in TEMPLATES if not path.name.startswith("_")], ids=name_of
)
def test_a_page_extends_the_frame_and_says_its_title_and_place(path):
    template = path.read_text(encoding="utf-8")
    if path.name == "base.html" or path.parent.name == "forms":
        return

    assert '{% extends "base.html" %}' in template
    for block in ("title", "place_line"):
        assert f"{{% block {block} %}}" in template


@pytest.mark.parametrize(
    "path",
    [
        "shed.html",
        *(f"dives/{name}.html" for name in ("day", "day_form", "days", "form", "list", "page")),
        "dives/surface.html",
        *(f"finds/{name}.html" for name in ("form", "list", "page")),
        *(f"people/{name}.html" for name in ("diver", "divers")),
        *(f"photos/{name}.html" for name in ("run", "run_form", "run_plan")),
        "registers/register.html",
    ],
)
def test_a_page_that_touches_diving_or_lifting_bears_its_caution(path):
    assert '_caution.html" %}' in (TOP / "templates" / path).read_text(encoding="utf-8")


def test_there_is_one_stylesheet_and_nothing_of_others():
    assert [name_of(path) for path in (TOP / "static").rglob("*.css")] == ["static/css/house.css"]
    assert [path for path in (TOP / "static").rglob("*.min.*")] == []


@pytest.mark.parametrize("path", SCRIPTS, ids=name_of)
def test_scripts_evaluate_nothing_and_need_no_secure_context(path):
    """A shed serves plain HTTP: what browsers keep for secure contexts is not there."""
    script = re.sub(r"^\s*//.*$", "", path.read_text(encoding="utf-8"), flags=re.M)

    assert not re.search(r"\beval\(|new Function\(|\.innerHTML\s*=|document\.write", script)
    assert not re.search(r"crypto\.(subtle|randomUUID)|serviceWorker|showDirectoryPicker", script)
