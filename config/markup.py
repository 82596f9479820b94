"""XML that people bring: one tree of elements, without anything that expands, reaches out or fills the memory.

MarkupRefused
├── MarkupTooLarge   more bytes, elements or floors than a file of this house has
├── MarkupDeclares   it defines names of its own, which could expand without end or name other files
└── MarkupBroken     it is not XML, or not whole
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from config.refusal import Refusal

MOST_BYTES = 20 * 1024 * 1024
MOST_ELEMENTS = 1_000_000
MOST_DEPTH = 64


class MarkupRefused(Refusal):
    field = "file"


class MarkupTooLarge(MarkupRefused):
    def __init__(self) -> None:
        super().__init__("The file is larger than any statement here can be. Nothing was read. Take a shorter period.")


class MarkupDeclares(MarkupRefused):
    def __init__(self) -> None:
        super().__init__("The file defines names of its own, which no bank's file needs. Nothing was read.")


class MarkupBroken(MarkupRefused):
    def __init__(self) -> None:
        super().__init__("The file is broken or cut off. Nothing was read. Take it out of the bank's pages once more.")


class _Bounded(TreeBuilder):
    """Builds the tree as long as it stays within its bounds."""

    def __init__(self) -> None:
        super().__init__()
        self.made = self.depth = 0

    def start(self, tag, attributes):
        self.made += 1
        self.depth += 1
        if self.made > MOST_ELEMENTS or self.depth > MOST_DEPTH:
            raise MarkupTooLarge
        return super().start(tag, attributes)

    def end(self, tag):
        self.depth -= 1
        return super().end(tag)


def read(content: bytes) -> Element:
    """Return the root of an XML file.

    :raises MarkupRefused: as the tree above says; never half a tree.
    """
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    if len(content) > MOST_BYTES:
        raise MarkupTooLarge
    parser = DefusedXMLParser(target=_Bounded(), forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(content)
        return parser.close()
    except DefusedXmlException:
        raise MarkupDeclares from None
    except (ParseError, LookupError, ValueError):
        raise MarkupBroken from None
