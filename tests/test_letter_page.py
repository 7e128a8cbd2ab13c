"""The page is whole, needs nothing else, keeps people's text as text, and is the same each time."""

import hashlib
import html
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import UndefinedError
from letter_pages import closed, tree, wrong_nesting
from letter_samples import HOSTILE, NAMES, appraisal_at, hostile_appraisal, letter_at

from estimator.letters.formats import said
from estimator.letters.render import environment, letter_html

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_whole(name):
    page = letter_at(name)
    assert page.lstrip().startswith("<!DOCTYPE html>")
    assert wrong_nesting(page) == []


def test_the_judge_of_nesting_sees_faults():
    assert wrong_nesting("<p><b>a</p></b>") and wrong_nesting("<p>") and wrong_nesting('<p id="a"></p><p id="a"></p>')
    assert wrong_nesting('<p class="a" class="b"></p>') and not wrong_nesting("<p>a<br>b</p>")


@pytest.mark.parametrize("name", NAMES)
def test_nothing_outside_the_page_is_needed(name):
    page = letter_at(name)
    assert closed(page) == []
    assert "default-src 'none'" in page
    ids = set(tree(page).xpath("//@id"))
    assert {target[1:] for target in tree(page).xpath("//a/@href") if target.startswith("#")} <= ids
    for names in tree(page).xpath("//@aria-labelledby"):
        assert set(names.split()) <= ids


def test_text_of_people_stays_text():
    page = letter_html(hostile_appraisal())
    assert closed(page) == [] and wrong_nesting(page) == []
    texts = {element.text_content() for element in tree(page).xpath("//bdi")}
    for words in HOSTILE:
        assert words in texts
    assert "<script" not in page.casefold() and len(tree(page).xpath("//head/title")) == 1
    assert "{{ 7*7 }}" in page


@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=60))
def test_any_text_comes_back_as_it_was(words):
    escaped = str(said(words))
    assert escaped.startswith('<bdi class="said">') and escaped.endswith("</bdi>")
    inside = escaped[len('<bdi class="said">') : -len("</bdi>")]
    assert "<" not in inside and ">" not in inside
    expected = "".join("\ufffd" if (ord(c) < 32 and c not in "\n\t") or 127 <= ord(c) < 160 else c for c in words)
    assert html.unescape(inside) == expected


def test_templates_escape_and_refuse_unknown_names():
    made = environment()
    assert made.autoescape and made.from_string("{{ a }}").render(a="<b>") == "&lt;b&gt;"
    with pytest.raises(UndefinedError, match="'missing' is undefined"):
        made.from_string("{{ missing }}").render()


def test_the_same_appraisal_gives_the_same_page_in_any_process():
    code = (
        "import sys, hashlib; sys.path.insert(0, 'tests'); from letter_samples import letter_at;"
        "print(hashlib.sha256(letter_at('drafted').encode()).hexdigest())"
    )
    here = {
        hashlib.sha256(page.encode()).hexdigest()
        for page in (letter_at("drafted"), letter_html(appraisal_at("drafted")))
    }
    setting = {**os.environ, "PYTHONHASHSEED": "7", "LC_ALL": "C", "TZ": "Asia/Tokyo", "PYTHONPATH": str(ROOT)}
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=setting, capture_output=True, text=True, check=True
    )
    assert here == {run.stdout.strip()}
