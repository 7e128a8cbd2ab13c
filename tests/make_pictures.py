"""Make the pictures of the README again: python tests/make_pictures.py (needs LibreOffice, pdftoppm and Chromium)."""

from pathlib import Path
from tempfile import TemporaryDirectory

from engines import pages_as_png, pdf_text, render_pdf
from letter_samples import appraisal_at, letter_at
from PIL import Image
from plain_writing import write_workbook
from playwright.sync_api import sync_playwright
from test_letter_in_browser import CHROMIUM, OPTIONS

from estimator.workbook.compose import compose

PICTURES = Path(__file__).parents[1] / "output_samples" / "pictures"
STAGE = "before"
# What is on the page of a picture alone, and the name of the picture.
TITLES = {"r1 · Summary": "summary", "Inspection 4: ": "inspection", "r1 · Estimate": "estimate"}


def main() -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        write_workbook(compose(appraisal_at(STAGE)), folder / "book.xlsx")
        pdf = render_pdf(folder / "book.xlsx", folder)
        pages = pages_as_png(pdf, folder, dpi=100)
        texts = pdf_text(pdf).split("\f")
        first = {tab: next(n for n, text in enumerate(texts) if tab in text) for tab in TITLES}
        with sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=CHROMIUM, args=OPTIONS)
            page = browser.new_page()
            page.set_content(letter_at(STAGE))
            page.pdf(path=folder / "letter.pdf", format="letter", print_background=True)
            browser.close()
        letter = pages_as_png(folder / "letter.pdf", folder, dpi=90)[0]
        PICTURES.mkdir(exist_ok=True)
        tabs = [(pages[first[title]], name) for title, name in TITLES.items()]
        for source, target in (*tabs, (letter, "letter")):
            small = Image.open(source).convert("P", palette=Image.Palette.ADAPTIVE, colors=32)
            small.save(PICTURES / f"{target}.png", optimize=True)


if __name__ == "__main__":
    main()
