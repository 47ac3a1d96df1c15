"""SVG files: page size and unit found, groups, transforms and references resolved, drawn as pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from camkit.drawing.sketch import (
    MOST_SEGMENTS,
    Label,
    Piece,
    Sketch,
    StatedUnit,
    System,
    check_coordinates,
    printable,
    shortened,
    too_many_segments,
)
from camkit.drawing.svg_css import Style, StyleSheet, style_sheet, styled
from camkit.drawing.svg_page import page_of
from camkit.drawing.svg_shapes import SHAPES, shape_paths
from camkit.drawing.svg_tree import Node, parse_svg
from camkit.drawing.svg_values import (
    Matrix,
    combined,
    number,
    numbers,
    placed,
    transform_about,
    view_matrix,
)
from camkit.errors import Finding, InputError
from camkit.geometry.measure import Bounds, bounds, bounds_of_all
from camkit.geometry.path import Path, Point

__all__ = ["ARTWORK", "OpenedSvg", "open_svg"]

_GROUPS = frozenset({"g", "a", "svg", "symbol", "switch"})
_WITHOUT_LINES = frozenset({"text", "image", "foreignObject", "flowRoot"})
_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape "
_HREF = ("href", "http://www.w3.org/1999/xlink href")
_DEEPEST_USE = 16
# References to references can draw more than any memory; no real drawing comes near.
_MOST_USES = 50_000
_MOST_VISITS = 300_000
ARTWORK = "filled shape without a line"


@dataclass(frozen=True, slots=True)
class _Context:
    matrix: Matrix
    style: Style
    layer: str
    layer_is_named: bool
    used: tuple[int, ...] = ()
    name: str = ""


@dataclass(frozen=True, slots=True)
class OpenedSvg:
    """An SVG file as a tree, with the matrix that leads from its user units to the page, Y up."""

    file: str
    root: Node
    stated: StatedUnit | None
    page: Point | None
    to_page: Matrix
    px: bool = True
    system: System = ""

    def sketch(self, scale: float) -> Sketch:
        """Every piece and text in mm; `scale` is mm in one user unit of the root's view box."""
        return _Walk(self).sketch(scale)


def open_svg(raw: bytes, file: str) -> OpenedSvg:
    """Open the content of an SVG file.

    Raises InputError when it is not well-formed or its page makes no sense.
    """
    root = parse_svg(raw, file)
    try:
        page = page_of(root)
    except (ValueError, ZeroDivisionError) as fault:
        raise InputError(
            Finding(
                "error",
                "unreadable-file",
                f"the page size cannot be read: {fault}",
                "Give width, height and viewBox as positive numbers",
                line=root.line,
                file=file,
            )
        ) from fault
    return OpenedSvg(file, root, page.stated, page.size, page.to_page)


class _Walk:
    """One walk over the tree; collects pieces, texts and findings."""

    def __init__(self, opened: OpenedSvg) -> None:
        self.opened = opened
        self.file = opened.file
        self.ids: dict[str, Node] = {}
        self.parents: dict[int, Node] = {}
        self.findings: list[Finding] = []
        self.left_out: Counter[str] = Counter()
        self.hidden = 0
        self.uses = self.visits = self.segments = 0
        self.clipped = 0
        self.drawn: list[tuple[list[Path], str, str, bool]] = []
        self.labels: list[Label] = []
        self._index(opened.root)
        self.sheet: StyleSheet = style_sheet(opened.root, self.parents)

    def _index(self, node: Node) -> None:
        if "id" in node.attributes:
            self.ids.setdefault(node.attributes["id"], node)
        for child in node.children:
            self.parents[id(child)] = node
            self._index(child)

    def sketch(self, scale: float) -> Sketch:
        matrix = combined((scale, 0.0, 0.0, scale, 0.0, 0.0), self.opened.to_page)
        root = self.opened.root
        style = styled(root, Style(), self.sheet)
        matrix = self._moved(root, style, matrix)
        try:
            for child in root.children:
                self._visit(child, _Context(matrix, style, "", False))
        except RecursionError as fault:
            raise self._too_much("nests <use> elements too deep", root) from fault
        if self.left_out:
            types = ", ".join(f"{count} {tag}" for tag, count in sorted(self.left_out.items()))
            self.findings.append(Finding("note", "left-out", f"left out: {types}", file=self.file))
        if self.hidden:
            self.findings.append(
                Finding("note", "left-out", f"hidden elements left out: {self.hidden}", file=self.file)
            )
        if self.clipped:
            said = f"elements that are clipped or masked, read whole: {self.clipped}"
            self.findings.append(Finding("note", "clipped", said, file=self.file))
        if self.sheet.foreign:
            said = f"rules of its style sheet that are not understood: {', '.join(self.sheet.foreign[:5])}"
            remedy = "Look whether everything is drawn that should be, or save it with plain attributes"
            self.findings.append(Finding("warning", "style-sheet", said, remedy, file=self.file))
        return Sketch(tuple(self._pieces()), tuple(self.labels), tuple(self.findings))

    def _pieces(self) -> Iterator[Piece]:
        # A line is what a cutter follows. A filled shape without one, drawn inside shapes that have one, is
        # artwork (lettering, a logo); in a drawing made of filled shapes only they are the outlines.
        lined = [p for paths, _, _, has_line in self.drawn if has_line for p in paths if p.closed]
        extent = bounds_of_all(lined) if lined else None
        for paths, layer, name, has_line in self.drawn:
            for path in paths:
                check_coordinates(path, self.file, layer, name)
                within = not has_line and extent is not None and _inside(bounds(path), extent)
                yield Piece(path, layer, name, ARTWORK if within else "")

    def _visit(self, node: Node, context: _Context) -> None:
        self.visits += 1
        if self.visits > _MOST_VISITS:
            raise self._too_much(f"draws more than {_MOST_VISITS} elements", node)
        if node.tag in SHAPES or node.tag in _GROUPS or node.tag in _WITHOUT_LINES or node.tag == "use":
            style = styled(node, context.style, self.sheet)
            if style.gone:
                self.hidden += 1
                return
            self.clipped += style.clipped
            inner = replace(self._layered(node, context), style=style)
            self._draw(node, replace(inner, matrix=self._moved(node, style, inner.matrix)))

    def _draw(self, node: Node, context: _Context) -> None:
        if node.tag in SHAPES:
            self._shape(node, context)
        elif node.tag == "use":
            self._use(node, context)
        elif node.tag == "switch":
            for child in node.children[:1]:
                self._visit(child, context)
        elif node.tag == "svg":
            self._group(node, self._viewport(node, context, {}))
        elif node.tag in _WITHOUT_LINES:
            if not (node.tag == "text" and context.style.shown and self._label(node, context)):
                self.left_out[node.tag] += 1
        elif node.tag != "symbol":  # drawn by <use> only
            self._group(node, context)

    def _group(self, node: Node, context: _Context) -> None:
        for child in node.children:
            self._visit(child, context)

    def _layered(self, node: Node, context: _Context) -> _Context:
        if node.tag != "g":
            return context
        label = node.attributes.get(_INKSCAPE + "label", "")
        if node.attributes.get(_INKSCAPE + "groupmode") == "layer":
            return replace(
                context, layer=printable(label or node.attributes.get("id", "")), layer_is_named=True
            )
        if context.layer_is_named:
            return context
        return replace(context, layer=printable(label or node.attributes.get("id", "")) or context.layer)

    def _name(self, node: Node, context: _Context) -> str:
        own = printable(node.attributes.get("id", "")) or f"in line {node.line}"
        return f"{context.name}{node.tag} {own}"

    def _moved(self, node: Node, style: Style, matrix: Matrix) -> Matrix:
        foreign = [name for name in ("translate", "rotate", "scale") if getattr(style, name) != "none"]
        if style.transform == "none" and not foreign:
            return matrix
        try:
            if foreign:
                raise ValueError(f'the property "{foreign[0]}" of a style is not understood')
            return combined(matrix, transform_about(style.transform, style.transform_origin))
        except ValueError as fault:
            raise InputError(
                Finding(
                    "error",
                    "unreadable-transform",
                    f"{fault}",
                    "Mend it; without it everything inside would stand in the wrong place",
                    line=node.line,
                    file=self.file,
                    entity=node.tag,
                )
            ) from fault

    def _unreadable(self, node: Node, context: _Context, said: str) -> None:
        self.findings.append(
            Finding(
                "warning",
                "unreadable-entity",
                f"cannot be read and is left out: {said}",
                "Mend or redraw it",
                line=node.line,
                file=self.file,
                layer=context.layer or None,
                entity=self._name(node, context),
            )
        )

    def _shape(self, node: Node, context: _Context) -> None:
        style = context.style
        if not (style.shown and (style.filled or style.stroked)):
            self.hidden += 1
            return
        try:
            paths = shape_paths(node, context.matrix)
        except (ValueError, ArithmeticError, LookupError) as fault:
            self._unreadable(node, context, str(fault) or type(fault).__name__)
            return
        self.segments += sum(len(path.segments) for path in paths)
        if self.segments > MOST_SEGMENTS:
            raise too_many_segments(self.file, context.layer, self._name(node, context), node.line)
        self.drawn.append((paths, context.layer, self._name(node, context), style.stroked))

    def _too_much(self, said: str, node: Node) -> InputError:
        return InputError(
            Finding(
                "error",
                "too-many-entities",
                f"the file {said}",
                "Look for <use> elements that refer to each other, or split the drawing",
                file=self.file,
                line=node.line,
            )
        )

    def _use(self, node: Node, context: _Context) -> None:
        reference = next((node.attributes[name] for name in _HREF if name in node.attributes), "")
        target = self.ids.get(reference[1:]) if reference.startswith("#") else None
        self.uses += 1
        if self.uses > _MOST_USES:
            raise self._too_much(f"follows more than {_MOST_USES} <use> elements", node)
        if target is None:
            self._unreadable(node, context, f'"{shortened(reference)}" is not in this file')
            return
        if id(target) in context.used or self._is_around(target, node):
            self._unreadable(node, context, "refers to itself")
            return
        if len(context.used) >= _DEEPEST_USE:
            self._unreadable(node, context, f"refers to references more than {_DEEPEST_USE} deep")
            return
        try:
            place = (number(node.attributes, "x"), number(node.attributes, "y"))
            inner = replace(
                context,
                matrix=combined(context.matrix, (1.0, 0.0, 0.0, 1.0, *place)),
                used=(*context.used, id(target)),
                name=f"{self._name(node, context)}, ",
            )
        except ValueError as fault:
            self._unreadable(node, context, str(fault))
            return
        if target.tag == "symbol":
            style = styled(target, context.style, self.sheet)
            if not style.gone:
                self._group(target, self._viewport(target, replace(inner, style=style), node.attributes))
        else:
            self._visit(target, inner)

    def _is_around(self, outer: Node, node: Node) -> bool:
        at: Node | None = node
        while at is not None and at is not outer:
            at = self.parents.get(id(at))
        return at is not None

    def _viewport(self, node: Node, context: _Context, size_from: dict[str, str]) -> _Context:
        """The context inside a nested <svg> or a used <symbol>."""
        a = node.attributes
        try:
            place = (number(a, "x"), number(a, "y")) if node.tag == "svg" else (0.0, 0.0)
            box = numbers(a["viewBox"]) if "viewBox" in a else None
            if box is None:
                inner: Matrix = (1.0, 0.0, 0.0, 1.0, *place)
            else:
                sizes = {**a, **{k: v for k, v in size_from.items() if k in ("width", "height")}}
                size = (number(sizes, "width", box[2]), number(sizes, "height", box[3]))
                inner = view_matrix(box, size, a.get("preserveAspectRatio", "xMidYMid"), place)
        except (ValueError, LookupError, ZeroDivisionError) as fault:
            self._unreadable(node, context, f"its viewBox or size makes no sense ({fault})")
            return context
        return replace(context, matrix=combined(context.matrix, inner))

    def _label(self, node: Node, context: _Context) -> bool:
        """Whether the text has a place of its own and may name a part."""
        text = printable(node.all_text())
        holder = next((n for n in (node, *node.children) if "x" in n.attributes or "y" in n.attributes), node)
        try:
            at = placed(context.matrix, (number(holder.attributes, "x"), number(holder.attributes, "y")))
        except ValueError:
            return False  # placed letter by letter: it names nothing, and is counted as left out
        if text:
            self.labels.append(Label(text, at, context.layer))
        return bool(text)


def _inside(inner: Bounds, outer: Bounds) -> bool:
    return inner[0] > outer[0] and inner[1] > outer[1] and inner[2] < outer[2] and inner[3] < outer[3]
