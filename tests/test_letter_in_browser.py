"""The letter in a real browser: WCAG 2.2 AA by axe-core, a phone's width, text at twice its size, and paper.

The two letters with most in them; all six under tests/long/.
"""

import re
import shutil
from collections import Counter

import pytest
from engines import pages_as_png, pdf_text
from letter_pages import text_of, tree
from letter_samples import hostile_appraisal, letter_at

from estimator.letters.render import letter_html

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed; .ci/run installs it")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OPTIONS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM, args=OPTIONS)
        yield started
        started.close()


@pytest.fixture
def shown(browser):
    """Shows a page in a window of a width; what it asks from outside is noted."""
    contexts = []

    def show(html, width=1000, height=800):
        context = browser.new_context(viewport={"width": width, "height": height}, bypass_csp=True)
        contexts.append(context)
        page = context.new_page()
        page.asked = []
        page.on("request", lambda request: page.asked.append(request.url))
        page.set_content(html)
        return page

    yield show
    for context in contexts:
        context.close()


def violations(page):
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options={"runOnly": RULES}).response
    assert len(found["passes"]) > 20
    return {item["id"]: [node["html"][:90] for node in item["nodes"]] for item in found["violations"]}


@pytest.mark.parametrize(("name", "width"), [("before", 320), ("road", 1000)])
def test_no_rule_of_accessibility_is_broken(shown, name, width):
    page = shown(letter_at(name), width)
    assert violations(page) == {}
    assert page.asked == []


def test_nor_by_text_of_people(shown):
    assert violations(shown(letter_html(hostile_appraisal()), 360)) == {}


@pytest.mark.parametrize(
    ("was", "becomes", "rule"),
    [
        ("</style>", "p { color: #aaa }</style>", "color-contrast"),
        ('<html lang="en"', "<html", "html-has-lang"),
        ("</main>", '<img src="data:,"></main>', "image-alt"),
        ("</main>", "<h6>deep</h6></main>", "heading-order"),
        ("<title>", "<title></title><x>", "document-title"),
        ("</main>", '<svg role="img" width="9" height="9"></svg></main>', "svg-img-alt"),
    ],
)
def test_the_checker_sees_what_is_broken(shown, was, becomes, rule):
    page = letter_at("before")
    assert was in page
    assert rule in violations(shown(page.replace(was, becomes, 1)))


@pytest.mark.parametrize(("width", "percent"), [(320, 100), (480, 200), (1000, 200)])
@pytest.mark.parametrize("name", ["before", "road"])
def test_nothing_is_scrolled_sideways_nor_cut_off(shown, name, width, percent):
    """WCAG 1.4.10 at 320 px, and 1.4.4: text at twice its size in windows that stay as they are."""
    page = shown(letter_at(name), width)
    page.add_style_tag(content=f"html {{ font-size: {percent}% }}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(CUT_OFF) == []


CUT_OFF = """[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 ||
    (getComputedStyle(e).overflow != "visible" && !(e instanceof SVGElement)
     && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1))
    ).map(e => e.outerHTML.slice(0, 80))"""


def test_what_is_too_wide_or_cut_off_is_seen(shown):
    wide = letter_at("before").replace("</main>", '<p style="width:400px">wide</p></main>', 1)
    assert shown(wide, 320).evaluate(CUT_OFF)
    cut = letter_at("before").replace("</main>", '<p style="height:9px;overflow:hidden">cut<br>off</p></main>', 1)
    assert shown(cut, 1000).evaluate(CUT_OFF)


@pytest.mark.parametrize(("name", "most", "paper"), [("before", 4, "letter"), ("road", 4, "letter"), ("road", 4, "A4")])
def test_it_prints_whole(shown, tmp_path, name, most, paper):
    """Each word of the page is on paper; figures and totals aren't torn apart."""
    page = shown(letter_at(name))
    pdf = tmp_path / f"{name}.pdf"
    page.pdf(path=pdf, format=paper, print_background=True)
    sheets = pdf_text(pdf).split("\f")[:-1]
    assert 2 <= len(sheets) <= most
    assert all(f"page {number} of {len(sheets)}" in sheet for number, sheet in enumerate(sheets, 1))
    assert not words_of(text_of(letter_at(name))) - words_of(" ".join(sheets))
    totals = [number for number, sheet in enumerate(sheets) if "Before tax" in sheet]
    assert len(totals) == 1 and re.search(r"Total\s", sheets[totals[0]])
    for figure in tree(letter_at(name)).xpath("//figure"):
        said = [" ".join(text.split()) for text in figure.xpath(".//*[local-name()='text']/text()") if len(text) > 9]
        assert said and any(all(text in " ".join(sheet.split()) for text in said) for sheet in sheets), said


def words_of(text):
    """Words as they are read, whatever lines they were broken over, each as often as it stands there."""
    return Counter(re.findall(r"[^\W_]{3,}", text))


@pytest.mark.parametrize("name", ["road"])
def test_grey_is_enough(shown, tmp_path, name):
    """Printed without color, each page has dark text on light: nothing between, but thin edges."""
    from PIL import Image

    page = shown(letter_at(name))
    page.pdf(path=tmp_path / "grey.pdf", format="A4", print_background=True)
    for sheet in pages_as_png(tmp_path / "grey.pdf", tmp_path, dpi=60):
        shades = Image.open(sheet).convert("L").histogram()
        assert sum(shades[230:]) > 0.8 * sum(shades) and sum(shades[:120]) > 0.002 * sum(shades), sheet.name


def test_from_a_file_it_asks_for_nothing_else(shown, tmp_path):
    path = tmp_path / "letter.html"
    path.write_text(letter_at("before"), encoding="utf-8")
    page = shown("")
    page.goto(path.as_uri())
    assert "DO NOT DRIVE" in page.inner_text("main").upper()
    assert page.asked == [path.as_uri()]
    assert path.stat().st_size < 200_000
