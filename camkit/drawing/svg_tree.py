"""An SVG file as a tree of plain nodes; entities and deep nesting are refused before they cost anything."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.parsers import expat

from camkit.errors import Finding, InputError

__all__ = ["Node", "parse_svg"]

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
_DEEPEST = 200


@dataclass(slots=True)
class Node:
    """An element: `tag` without the SVG namespace (others stay in front of it), line in the file."""

    tag: str
    attributes: dict[str, str]
    line: int
    children: list[Node] = field(default_factory=list)
    text: str = ""

    def all_text(self) -> str:
        """Its own text, then that of its children, in order of the elements."""
        return " ".join((self.text, *(child.all_text() for child in self.children)))


def _refuse(file: str, message: str, remedy: str, line: int | None = None) -> InputError:
    return InputError(Finding("error", "unreadable-file", message, remedy, line=line, file=file))


def _local(name: str) -> str:
    space, _, local = name.rpartition(" ")
    return local if space in ("", SVG_NAMESPACE) else name


def parse_svg(raw: bytes, file: str) -> Node:
    """The root element of an SVG file.

    Raises InputError when it is no well-formed SVG, declares entities, or nests deeper than 200 elements.
    """
    if raw.startswith(b"\x1f\x8b"):
        raise _refuse(file, "the SVG file is compressed (gzip)", "Save it as plain SVG")
    parser = expat.ParserCreate(namespace_separator=" ")
    stack: list[Node] = []
    roots: list[Node] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        node = Node(_local(name), {_local(k): v for k, v in attributes.items()}, parser.CurrentLineNumber)
        if len(stack) >= _DEEPEST:
            raise _refuse(
                file, f"elements are nested deeper than {_DEEPEST}", "Flatten its groups", node.line
            )
        (stack[-1].children if stack else roots).append(node)
        stack.append(node)

    def end(_name: str) -> None:
        stack.pop()

    def text(data: str) -> None:
        if stack:
            stack[-1].text += data

    def entity(*_declared: object) -> None:
        # Nested entities grow without bound, external ones read other files; no drawing needs either.
        raise _refuse(
            file,
            "the document type declares an ENTITY, which is refused",
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
        raise _refuse(
            file,
            f"the file is not well-formed XML ({expat.ErrorString(fault.code)})",
            "Save it again from the program that drew it",
            fault.lineno,
        ) from fault
    root = roots[0]
    if root.tag != "svg":
        raise _refuse(
            file, f"the file is XML, but its root is <{root.tag}>, not <svg>", "Give an SVG or DXF file"
        )
    return root
