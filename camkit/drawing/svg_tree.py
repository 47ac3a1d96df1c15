"""An SVG file as a tree of plain nodes; entities and deep nesting are refused before they cost anything."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.parsers import expat

from camkit.drawing.sketch import shortened, unreadable_file
from camkit.errors import InputError

__all__ = ["Node", "parse_svg"]

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
_DEEPEST = 200
_DECLARED = re.compile(
    rb"""\A(?:\xef\xbb\xbf)?<\?xml[^>]{0,200}?encoding\s*=\s*["']([A-Za-z0-9._-]{1,40})["']"""
)
_OF_THE_PARSER = ("utf-8", "utf8", "utf-16", "iso-8859-1", "us-ascii")
_WRONG_LETTER = 4  # XML_ERROR_INVALID_TOKEN of expat.h
# As many elements as are read within 10 s and 1 GiB; drawings of parts have thousands.
_MOST_ELEMENTS = 200_000
# Entities that only stand for a short text are used by some programs for the names of namespaces.
_LONGEST_ENTITY = 1000
_MOST_EXPANDED = 50_000_000


@dataclass(slots=True)
class Node:
    """An element: `tag` without the SVG namespace (others stay in front of it), line in the file."""

    tag: str
    attributes: dict[str, str]
    line: int
    children: list[Node] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """What stands directly in it, without its children."""
        return "".join(self.texts)

    def all_text(self) -> str:
        """Its own text, then that of its children, in order of the elements."""
        return " ".join((self.text, *(child.all_text() for child in self.children)))


def _refuse(file: str, message: str, remedy: str, line: int | None = None) -> InputError:
    return unreadable_file(file, message, remedy, line=line)


def _local(name: str) -> str:
    space, _, local = name.rpartition(" ")
    return local if space in ("", SVG_NAMESPACE) else name


def _is_utf8(raw: bytes) -> bool:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _in_utf8(raw: bytes, file: str) -> tuple[bytes, str | None]:
    """The file in UTF-8 where it declares an encoding that the parser does not know, and that encoding."""
    declared = _DECLARED.match(raw)
    name = declared[1].decode("ascii") if declared else "utf-8"
    if name.lower() in _OF_THE_PARSER:
        return raw, None
    try:
        return raw.decode(name).encode("utf-8"), "utf-8"
    except (LookupError, UnicodeError) as fault:
        said = f'its letters are not in the encoding that it declares ("{shortened(name, 40)}")'
        raise _refuse(file, said, "Save it in UTF-8") from fault


def parse_svg(raw: bytes, file: str) -> Node:
    """The root element of an SVG file.

    Raises InputError when it is no well-formed SVG, declares entities that may grow or read other files, has
    more than 200 000 elements, or nests deeper than 200.
    """
    if raw.count(b"&") * _LONGEST_ENTITY > _MOST_EXPANDED and b"<!ENTITY" in raw:
        raise _refuse(file, "it uses entities without end", "Save it as plain SVG, without a document type")
    raw, encoding = _in_utf8(raw, file)
    parser = expat.ParserCreate(encoding, namespace_separator=" ")
    stack: list[Node] = []
    roots: list[Node] = []
    elements = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        node = Node(_local(name), {_local(k): v for k, v in attributes.items()}, parser.CurrentLineNumber)
        if len(stack) >= _DEEPEST:
            raise _refuse(
                file, f"elements are nested deeper than {_DEEPEST}", "Flatten its groups", node.line
            )
        nonlocal elements
        elements += 1
        if elements > _MOST_ELEMENTS:
            said = f"it has more than {_MOST_ELEMENTS} elements"
            raise _refuse(file, said, "Delete what is not to be cut, or split the drawing", node.line)
        (stack[-1].children if stack else roots).append(node)
        stack.append(node)

    def end(_name: str) -> None:
        stack.pop()

    def text(data: str) -> None:
        if stack:
            stack[-1].texts.append(data)

    def entity(name: str, is_parameter: bool, value: str | None, *_where: object) -> None:
        # Nested entities grow without bound, external ones read other files; no drawing needs either.
        if (
            value is not None
            and not is_parameter
            and len(value) <= _LONGEST_ENTITY
            and not set("&%<") & set(value)
        ):
            return
        raise _refuse(
            file,
            f'the document type declares an ENTITY "{shortened(name, 40)}" that is more than a short text,'
            " which is refused",
            "Save it as plain SVG, without a document type",
            parser.CurrentLineNumber,
        )

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    parser.EntityDeclHandler = entity
    try:
        parser.Parse(raw, True)
    except expat.ExpatError as fault:
        said = expat.ErrorString(fault.code)
        if fault.code == _WRONG_LETTER and not _is_utf8(raw):
            said += "; its letters may not be in the encoding that it declares"
        raise _refuse(
            file,
            f"the file is not well-formed XML ({said})",
            "Save it again from the program that drew it",
            fault.lineno,
        ) from fault
    root = roots[0]
    if root.tag != "svg":
        raise _refuse(
            file,
            f"the file is XML, but its root is <{shortened(root.tag, 40)}>, not <svg>",
            "Give an SVG or DXF file",
        )
    return root
