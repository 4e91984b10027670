"""Rules that a machine can check in templates, styles and scripts."""

import re
from pathlib import Path

import pytest
from django.conf import settings

TOP = Path(settings.BASE_DIR)


def read(folder: str, ending: str) -> dict[str, str]:
    """The text of each file, by its path from the top."""
    found = sorted((TOP / folder).rglob(f"*.{ending}"))
    return {path.relative_to(TOP).as_posix(): path.read_text(encoding="utf-8") for path in found}


TEMPLATES = read("templates", "html")
SCRIPTS = read("static", "js")

INLINE = {
    "an inline style": re.compile(r"<style|\sstyle\s*=", re.I),
    "an inline script": re.compile(r"<script(?![^>]*\ssrc=)", re.I),
    "a script attribute": re.compile(r"<[^>]*\son[a-z]+\s*=", re.I),
    "a script address": re.compile(r"javascript:", re.I),
    "htmx evaluation": re.compile(r"""\shx-on|\shx-vars\b|hx-(vals|headers)=["']js:""", re.I),
}
OUTSIDE = re.compile(r"""(src|href|action)\s*=\s*["']?(https?:)?//""", re.I)
BLOCKTRANSLATE = re.compile(r"{%\s*blocktrans(?:late)?\b.*?{%\s*endblocktrans(?:late)?\s*%}", re.S)
ATTRIBUTES = re.compile(r"{%\s*block main_attributes\s*%}.*?{%\s*endblock", re.S)
REMARK = re.compile(r"{% comment %}.*?{% endcomment %}|{#.*?#}", re.S)  # never sent
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


def test_every_text_of_a_template_can_be_translated():
    bare = {name: bare_words(template) for name, template in TEMPLATES.items()}

    assert {name: words for name, words in bare.items() if words} == {}


def test_no_template_holds_script_or_style():
    held = {
        (name, what)
        for name, template in TEMPLATES.items()
        for what, pattern in INLINE.items()
        if pattern.search(REMARK.sub("", template))
    }

    assert held == set()


def test_no_template_reaches_outside():
    assert [name for name, template in TEMPLATES.items() if OUTSIDE.search(template)] == []


def test_the_frame_alone_writes_the_one_heading_of_a_page():
    counts = {name: template.count("<h1") for name, template in TEMPLATES.items()}

    assert {name: count for name, count in counts.items() if count} == {"templates/base.html": 1}


def test_a_page_extends_the_frame_and_says_its_title_and_place():
    said = ('{% extends "base.html" %}', "{% block title %}", "{% block place_line %}")
    pages = {
        name: template
        for name, template in TEMPLATES.items()
        if not re.search(r"/_[^/]*$|/base\.html$|/forms/[^/]*$", name)
    }

    assert len(pages) > 80
    assert {
        (name, words) for name, template in pages.items() for words in said if words not in template
    } == set()


def test_a_page_that_touches_diving_or_lifting_bears_its_caution():
    touching = [
        "shed.html",
        *(f"dives/{name}.html" for name in ("day", "day_form", "days", "form", "list", "page")),
        "dives/surface.html",
        *(f"finds/{name}.html" for name in ("form", "list", "page")),
        *(f"people/{name}.html" for name in ("diver", "divers")),
        *(f"photos/{name}.html" for name in ("run", "run_form", "run_plan")),
        "registers/register.html",
    ]

    assert [
        name for name in touching if '_caution.html" %}' not in TEMPLATES[f"templates/{name}"]
    ] == []


def test_there_is_one_stylesheet_and_nothing_of_others():
    assert list(read("static", "css")) == ["static/css/house.css"]
    assert [path for path in (TOP / "static").rglob("*.min.*")] == []


def test_scripts_evaluate_nothing_and_need_no_secure_context():
    """A shed serves plain HTTP: what browsers keep for secure contexts is not there."""
    never = re.compile(
        r"\beval\(|new Function\(|\.innerHTML\s*=|document\.write"
        r"|crypto\.(subtle|randomUUID)|serviceWorker|showDirectoryPicker"
    )
    scripts = {name: re.sub(r"^\s*//.*$", "", text, flags=re.M) for name, text in SCRIPTS.items()}

    assert scripts
    assert [name for name, script in scripts.items() if never.search(script)] == []
