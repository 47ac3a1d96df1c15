"""Styles of an SVG file: style sheets, style attributes and presentation attributes, by their precedence."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from camkit.drawing.sketch import Crowded, shortened
from camkit.drawing.svg_tree import Node

__all__ = ["Style", "StyleSheet", "style_sheet", "styled"]

# Properties, and the fields of a style that hold them.
_FIELDS = {
    name: name.replace("-", "_")
    for name in (
        *("fill", "fill-opacity", "stroke", "stroke-opacity", "visibility"),
        *("display", "opacity", "clip-path", "mask"),
        *("transform", "transform-origin", "translate", "rotate", "scale"),
    )
}
# These are no attributes: a style may hold them, and `rotate` turns the letters of a text.
_IN_STYLES_ONLY = frozenset({"translate", "rotate", "scale"})
# What an element does not take over from the one around it.
_INITIAL = {
    "display": "inline",
    "opacity": "1",
    "clip_path": "none",
    "mask": "none",
    "transform": "none",
    "transform_origin": "0 0",
    "translate": "none",
    "rotate": "none",
    "scale": "none",
}
# Colours that let everything through (CSS Color 4, 4.2.1, 5.1 and 6.3).
_CLEAR = re.compile(
    r"none|transparent|#[0-9a-f]{3}0|#[0-9a-f]{6}00|[a-z]+\([^()]*[,/]\s*(?:0+(?:\.0*)?|\.0+)%?\s*\)",
    re.IGNORECASE,
)
_THREE_COLOURS = re.compile(r"(?:rgb|hsl)a?\([^,/()]*,[^,/()]*,[^,/()]*\)", re.IGNORECASE)
_COMPOUND = re.compile(r"(\*|[a-zA-Z][\w-]*)?((?:[.#][\w-]+)*)")
_MARK = re.compile(r"([.#])([\w-]+)")
_IMPORTANT = re.compile(r"\s*!\s*important\s*", re.IGNORECASE)
# Rules times elements: no drawing comes near.
_MOST_CHECKS = 1_000_000

Declarations = dict[str, tuple[str, bool]]


@dataclass(frozen=True, slots=True)
class Style:
    """What decides whether a shape is drawn, and with a line; the initial values are the standard's."""

    fill: str = "black"
    fill_opacity: str = "1"
    stroke: str = "none"
    stroke_opacity: str = "1"
    visibility: str = "visible"
    display: str = "inline"
    opacity: str = "1"
    clip_path: str = "none"
    mask: str = "none"
    transform: str = "none"
    transform_origin: str = "0 0"
    translate: str = "none"
    rotate: str = "none"
    scale: str = "none"

    @property
    def shown(self) -> bool:
        """Whether the element itself is visible."""
        return self.visibility == "visible"

    @property
    def gone(self) -> bool:
        """Whether nothing of the element and of all in it is to be seen."""
        return self.display == "none" or _is_nothing(self.opacity)

    @property
    def filled(self) -> bool:
        """Whether its area is painted."""
        return not _is_clear(self.fill) and not _is_nothing(self.fill_opacity)

    @property
    def stroked(self) -> bool:
        """Whether its line is painted."""
        return not _is_clear(self.stroke) and not _is_nothing(self.stroke_opacity)

    @property
    def clipped(self) -> bool:
        """Whether only a part of the element is to be seen."""
        return self.clip_path != "none" or self.mask != "none"


def _is_nothing(opacity: str) -> bool:
    try:
        return float(opacity.removesuffix("%")) <= 0
    except ValueError:
        return False


def _is_clear(paint: str) -> bool:
    return bool(_CLEAR.fullmatch(paint)) and not _THREE_COLOURS.fullmatch(paint)


@dataclass(frozen=True, slots=True)
class _Compound:
    tag: str
    id: str
    classes: frozenset[str]
    child: bool  # whether the compound before must match the parent itself

    def matches(self, node: Node) -> bool:
        return (
            self.tag in ("*", node.tag)
            and (not self.id or node.attributes.get("id") == self.id)
            and self.classes <= set(node.attributes.get("class", "").split())
        )


@dataclass(frozen=True, slots=True)
class _Rule:
    compounds: tuple[_Compound, ...]
    rank: tuple[int, int, int, int]
    body: Declarations


class StyleSheet:
    """The rules of all style elements; `foreign` are selectors that are not understood and never match."""

    def __init__(self, rules: list[_Rule], foreign: list[str], parents: Mapping[int, Node]) -> None:
        """Sort the rules by what their last part asks for."""
        self.foreign = tuple(foreign)
        self._parents = parents
        self._rules: dict[str, list[_Rule]] = {}
        self._checks = 0
        for rule in rules:
            last = rule.compounds[-1]
            key = f"#{last.id}" if last.id else f".{min(last.classes)}" if last.classes else last.tag
            self._rules.setdefault(key, []).append(rule)

    def of(self, node: Node) -> list[Declarations]:
        """The declarations that match an element, weakest first."""
        if not self._rules:
            return []
        keys = ["*", node.tag, f"#{node.attributes.get('id', '')}"]
        keys += [f".{name}" for name in node.attributes.get("class", "").split()]
        found = [
            rule
            for key in dict.fromkeys(keys)
            for rule in self._rules.get(key, ())
            if self._match(rule, node)
        ]
        return [rule.body for rule in sorted(found, key=lambda rule: rule.rank)]

    def _match(self, rule: _Rule, node: Node) -> bool:
        self._checks += 1
        if self._checks > _MOST_CHECKS:
            raise Crowded("its style sheet has more rules than can be matched to its elements")
        if not rule.compounds[-1].matches(node):
            return False
        at: Node | None = node
        for inner, outer in zip(rule.compounds[:0:-1], rule.compounds[-2::-1], strict=True):
            at = self._parents.get(id(at))
            while at is not None and not outer.matches(at) and not inner.child:
                at = self._parents.get(id(at))
            if at is None or not outer.matches(at):
                return False
        return True


def _declarations(text: str) -> Declarations:
    found: Declarations = {}
    for part in text.split(";"):
        name, colon, value = part.partition(":")
        name = name.strip().lower()
        if colon and name in _FIELDS:
            important = bool(_IMPORTANT.search(value))
            if important or not found.get(name, ("", False))[1]:
                found[name] = (_IMPORTANT.sub("", value).strip(), important)
    return found


def _without_comments(text: str) -> str:
    kept, position = [], 0
    while (begin := text.find("/*", position)) >= 0:
        kept.append(text[position:begin])
        end = text.find("*/", begin + 2)
        if end < 0:
            return "".join(kept)
        position = end + 2
    kept.append(text[position:])
    return "".join(kept)


def _blocks(text: str) -> Iterator[tuple[str, str]]:
    """What stands before each outermost pair of braces, and in it."""
    depth, begin, head = 0, 0, ""
    for match in re.finditer(r"[{};]", text):
        sign = match[0]
        if sign == "{":
            if not depth:
                head, begin = text[begin : match.start()].strip(), match.end()
            depth += 1
        elif sign == "}" and depth:
            depth -= 1
            if not depth:
                yield head, text[begin : match.start()]
                begin = match.end()
        elif sign == ";" and not depth:  # @import and @charset have no braces
            begin = match.end()


def _selector(text: str) -> tuple[_Compound, ...] | None:
    compounds: list[_Compound] = []
    child = False
    for word in text.replace(">", " > ").split():
        if word == ">":
            child = True
            continue
        match = _COMPOUND.fullmatch(word)
        if match is None:
            return None
        marks = _MARK.findall(match[2])
        ids = [name for sign, name in marks if sign == "#"]
        classes = frozenset(name for sign, name in marks if sign == ".")
        compounds.append(_Compound(match[1] or "*", ids[0] if ids else "", classes, child))
        child = False
    return tuple(compounds) if compounds and not child and not compounds[0].child else None


def style_sheet(root: Node, parents: Mapping[int, Node]) -> StyleSheet:
    """The rules of all style elements: by element, class and identifier, also nested ones.

    `parents` gives the parent of each node by its id(). Rules that set nothing of meaning here are let go.
    """
    rules: list[_Rule] = []
    foreign: list[str] = []
    waiting = [root]
    while waiting:
        node = waiting.pop()
        waiting.extend(reversed(node.children))
        if node.tag != "style":
            continue
        for head, text in _blocks(_without_comments(node.text)):
            body = _declarations(text)
            if head.startswith("@"):
                if any(f"{name}:" in re.sub(r"\s", "", text) for name in _FIELDS):
                    foreign.append(shortened(head, 40))
                continue
            for selector in head.split(",") if body else ():
                compounds = _selector(selector)
                if compounds is None:
                    foreign.append(shortened(selector, 40))
                    continue
                rank = (
                    sum(bool(c.id) for c in compounds),
                    sum(len(c.classes) for c in compounds),
                    sum(c.tag != "*" for c in compounds),
                    len(rules),
                )
                rules.append(_Rule(compounds, rank, body))
    return StyleSheet(rules, foreign, parents)


def styled(node: Node, inherited: Style, sheet: StyleSheet) -> Style:
    """The element's style: attributes, then the style sheet, then its own style attribute (SVG 1.1, 6).

    What is marked as important comes last (CSS 2.1, 6.4.2). What applies to an element as a whole, such as
    `transform` and `display`, is not inherited.
    """
    own = _declarations(node.attributes.get("style", ""))
    bodies = [*sheet.of(node), own]
    values = {
        name: node.attributes[name].strip()
        for name in _FIELDS.keys() & node.attributes.keys()
        if name not in _IN_STYLES_ONLY
    }
    for weight in (False, True):
        for body in bodies:
            values.update({name: value for name, (value, important) in body.items() if important == weight})
    plain = all(getattr(inherited, name) == value for name, value in _INITIAL.items())
    chosen = {_FIELDS[name]: value for name, value in values.items() if value not in ("inherit", "")}
    if not chosen and plain:
        return inherited
    return replace(inherited, **{**_INITIAL, **chosen})
