"""How the tests read a letter: as a person does, as a strict parser does, and as one who looks for ways out of it."""

import re
from html.parser import HTMLParser

import lxml.html

VOID = {"meta", "br", "link", "img", "hr", "input"}


def tree(page):
    return lxml.html.fromstring(page.encode("utf-8"), parser=lxml.html.HTMLParser(encoding="utf-8"))


def text_of(page, section=""):
    """What a person reads, with single spaces; of one section where its id is given."""
    root = tree(page)
    if section:
        (root,) = root.xpath(f"//section[@aria-labelledby='{section}']")
    for element in root.xpath("//style|//svg|//title"):
        element.drop_tree()
    for element in root.iter("td", "th", "br", "p", "li", "caption"):
        element.tail = f" {element.tail or ''}"
    return " ".join(root.text_content().split()).replace("\u00a0", " ")


class Nesting(HTMLParser):
    """Complains where a tag isn't closed in order, or an attribute or id stands twice."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.wrong = [], set(), []

    def handle_starttag(self, tag, attributes):
        names = [name for name, _ in attributes]
        if len(names) != len(set(names)):
            self.wrong.append(f"<{tag}> has an attribute twice")
        for name, value in attributes:
            if name == "id":
                if value in self.ids:
                    self.wrong.append(f"id {value} stands twice")
                self.ids.add(value)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        self.handle_endtag(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(f"</{tag}> closes nothing")


def wrong_nesting(page):
    parser = Nesting()
    parser.feed(page)
    parser.close()
    return [*parser.wrong, *(f"<{tag}> isn't closed" for tag in parser.open)]


def closed(page):
    """What could reach outside a page or run in it."""
    root = tree(page)
    wrong = [
        element.tag
        for element in root.iter("script", "link", "iframe", "object", "embed", "form", "base", "img", "foreignObject")
    ]
    for element in root.iter():
        for name, value in element.attrib.items():
            if name.startswith("on") or (
                name in ("src", "href", "xlink:href", "action", "srcset")
                and not re.match(r"#|tel:[+0-9-]+$|mailto:[\w.+@-]+$", value)
            ):
                wrong.append(f"{element.tag} {name}={value}")
            if "url(" in value and not re.search(r"url\(#[\w-]+\)", value):
                wrong.append(value)
    styles = "".join(element.text_content() for element in root.iter("style"))
    return (
        wrong
        + re.findall(r"@import|url\(|expression", styles)
        + re.findall(r"https?://(?!www\.w3\.org/2000/svg\")\S+", page)
    )
