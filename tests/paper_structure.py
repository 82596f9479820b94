"""What a reader of the screen finds in a PDF: its tags, its alternative texts, the heads of each cell, its letters."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, field

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject


@dataclass
class Structure:
    """The elements of a document's tree in reading order."""

    elements: list[DictionaryObject] = field(default_factory=list)
    marks: list[tuple[int, int]] = field(default_factory=list)  # page, mark: where each piece of the page stands

    def of(self, *kinds: str) -> list[DictionaryObject]:
        return [one for one in self.elements if str(one.get("/S", "")) in {f"/{kind}" for kind in kinds}]


def structure(reader: PdfReader) -> Structure:
    found = Structure()
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages)}
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    _walk(root.get("/K"), None, found, pages)
    return found


def _walk(node: object, page: int | None, found: Structure, pages: dict[int, int]) -> None:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, ArrayObject):
        for one in node:
            _walk(one, page, found, pages)
    elif isinstance(node, DictionaryObject):
        at = node.raw_get("/Pg") if "/Pg" in node else None
        page = pages.get(at.idnum, page) if at is not None else page
        if "/S" in node:
            found.elements.append(node)
        if "/MCID" in node:
            found.marks.append((page or 0, int(node["/MCID"])))
        if str(node.get("/S", "")) != "/Figure":  # the engine numbers what is drawn after all that is written
            _walk(node.get("/K"), page, found, pages)
    elif isinstance(node, int):
        found.marks.append((page or 0, int(node)))


def faults(content: bytes) -> list[str]:
    """Return in sentences what somebody who does not see the paper would miss; none where nothing."""
    reader = PdfReader(io.BytesIO(content))
    return [*_document(reader), *_pictures(reader), *_tables(reader), *_letters(reader), *_order(reader)]


def _document(reader: PdfReader) -> Iterator[str]:
    root = reader.trailer["/Root"]
    if not root.get("/MarkInfo", {}).get("/Marked"):
        yield "it is not tagged"
    if not str(root.get("/Lang", "")):
        yield "it names no language"
    if not reader.metadata or not reader.metadata.title:
        yield "it has no title"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "a reader would show its file name in place of its title"


def _pictures(reader: PdfReader) -> Iterator[str]:
    for figure in structure(reader).of("Figure"):
        if not str(figure.get("/Alt", "")).strip():
            yield "a picture has no alternative text"


def _tables(reader: PdfReader) -> Iterator[str]:
    found = structure(reader)
    heads = {str(head["/ID"]) for head in found.of("TH") if "/ID" in head}
    for cell in found.of("TD"):
        named = [str(one) for attributes in _attributes(cell) for one in attributes.get("/Headers", ())]
        if not named:
            yield "a cell of a table names no head"
        elif not set(named) <= heads:
            yield "a cell of a table names a head that is not there"


def _attributes(element: DictionaryObject) -> list[DictionaryObject]:
    found = element.get("/A", ArrayObject())
    return [one.get_object() for one in (found if isinstance(found, ArrayObject) else [found])]


def _letters(reader: PdfReader) -> Iterator[str]:
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            font = font.get_object()
            if "/ToUnicode" not in font:
                yield f"the letters of {font['/BaseFont']} cannot be read as words"
            for one in font.get("/DescendantFonts", [font]):
                if not any(
                    name in one.get_object()["/FontDescriptor"] for name in ("/FontFile", "/FontFile2", "/FontFile3")
                ):
                    yield f"{font['/BaseFont']} is not in the file"


def _order(reader: PdfReader) -> Iterator[str]:
    """The words are read in the order in which it was written, leaf by leaf."""
    marks = structure(reader).marks
    if marks != sorted(marks):
        yield "it is read in another order than it was written in"
