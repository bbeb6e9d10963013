"""Reads a report's page back: any page that is not well-formed, or points outside, is refused."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
# What can load or run something, in HTML or in SVG.
_ACTIVE = {"script", "img", "image", "iframe", "object", "embed", "link", "base", "form", "use",
           "a", "foreignObject", "audio", "video", "animate", "set"}  # fmt: skip


@dataclass(frozen=True)
class Page:
    """A parsed page."""

    root: ElementTree.Element
    text: str

    def words(self) -> str:
        """All text of the body, blanks drawn together."""
        body = self.root.find("body")
        assert body is not None
        return " ".join(" ".join(body.itertext()).split())

    def table(self, caption: str) -> list[dict[str, str]]:
        """The rows of the table whose caption begins so, by column head."""
        for table in self.root.iter("table"):
            if text_of(table.find("caption")).startswith(caption):
                heads = [text_of(head) for head in table.find("thead").iter("th")]  # type: ignore[union-attr]
                rows = [[text_of(cell) for cell in row] for row in table.find("tbody")]  # type: ignore[union-attr]
                assert len(set(heads)) == len(heads) or "at rpm" in heads
                return [dict(zip(heads, row, strict=True)) for row in rows]
        raise AssertionError(f"no table {caption!r}")

    def of_class(self, name: str) -> str:
        """The text of the first element of this class."""
        return text_of(next(one for one in self.root.iter() if one.get("class") == name))


def text_of(element: ElementTree.Element | None) -> str:
    """An element's whole text."""
    return "" if element is None else "".join(element.itertext()).strip()


def read_page(text: str) -> Page:
    """Parse a page, and hold it to what every report promises."""
    root = ElementTree.fromstring(text)
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    for element in root.iter():
        tag = element.tag.removeprefix(SVG)
        if tag == "use":
            assert all(v.startswith("#") for k, v in element.attrib.items() if "href" in k)
        else:
            assert tag not in _ACTIVE, tag
        for name, value in element.attrib.items():
            assert not name.casefold().startswith("on"), name
            assert "href" not in name or value.startswith("#"), value
            for target in re.findall(r"url\(([^)]*)\)", value):
                assert target.startswith("#"), target
                assert target[1:] in ids, target
    style = text_of(root.find("head/style"))
    assert "url(" not in style
    assert "@import" not in style
    policy = [one.get("content") for one in root.iter("meta") if one.get("http-equiv")]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; base-uri 'none';"
                      " form-action 'none'"]  # fmt: skip
    for picture in root.iter(f"{SVG}svg"):
        named = str(picture.get("aria-labelledby")).split()
        said = {one.get("id"): text_of(one) for one in picture}
        assert picture.get("role") == "img"
        assert len(named) == 2
        assert all(said[name] for name in named)
    return Page(root, text)
