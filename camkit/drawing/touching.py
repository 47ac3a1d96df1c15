"""Lines split where others end on their middle, and, where that is needed, where others cross them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Container

from camkit.drawing.ends import Grid
from camkit.drawing.faces import blocks
from camkit.drawing.net import Net, Places, carrier, nearest
from camkit.drawing.sketch import Crowded
from camkit.geometry.crossing import crossings
from camkit.geometry.path import Point
from camkit.geometry.tolerance import CHAIN

__all__ = ["split_where_crossed", "split_where_touched"]

# Along the line itself an end meets nothing nearer than this: fine chords lie side by side.
_OWN_LINE = 10 * CHAIN
# Lines that cross so often are a hatch or a grid, not outlines.
_MOST_CROSSINGS = 5000


def split_where_touched(net: Net, refused: Container[int]) -> list[int]:
    """Split lines at the ends of unfinished ones that lie on them within CHAIN; returns those points.

    Only lines that hang on to closed ones by one end at most look for another to end on: what is closed
    already needs no more. `refused` are points to leave alone.
    """
    hanging = net.hanging()
    if not hanging:
        return []
    leaving = net.leaving()
    ends = {node for i in hanging for node in (net.edge(i).first, net.edge(i).last)}
    nodes = sorted(node for node in ends if node not in refused)
    spots = Places(net, [i for i, edge in enumerate(net.edges) if edge is not None])
    near: dict[int, list[int]] = {}
    for position, row in spots.near([net.places[node] for node in nodes], CHAIN):
        near.setdefault(nodes[position], []).append(row)
    cuts: dict[int, set[int]] = {}
    joined: list[tuple[int, int]] = []
    used = []
    for node in nodes:
        place = net.places[node]
        own: set[int] | None = None
        for row in near.get(node, ()):
            number = spots.owners[row]
            edge = net.edge(number)
            if (
                node in (edge.first, edge.last)
                or math.dist(place, nearest(spots.segments[row], place)) > CHAIN
            ):
                continue
            own = net.close_along(node, leaving, _OWN_LINE) if own is None else own
            if number in own:
                continue
            corner = _corner(net, _ends(net, number), place)
            if corner is None:
                cuts.setdefault(number, set()).add(node)
                used.append(node)
            elif len(leaving[node]) == 1 and corner not in refused:
                joined.append((node, corner))
    for number, at in sorted(cuts.items()):
        net.split(number, at)
    taken: set[int] = set()
    for node, corner in joined:
        if node not in taken and corner not in taken:
            taken.add(node)
            used.append(corner)
            _move_end(net, node, corner)
    return sorted(set(used))


def _ends(net: Net, number: int) -> tuple[int, int]:
    edge = net.edge(number)
    return edge.first, edge.last


def _corner(net: Net, nodes: tuple[int, int], place: Point) -> int | None:
    """The point among those that lies within CHAIN of a place."""
    near = [(math.dist(net.places[node], place), node) for node in nodes]
    distance, node = min(near)
    return node if distance <= CHAIN else None


def _move_end(net: Net, node: int, corner: int) -> None:
    for number, edge in enumerate(net.edges):
        if edge is not None and node in (edge.first, edge.last):
            net.end_at(2 * number if edge.first == node else 2 * number + 1, corner)


def split_where_crossed(net: Net) -> list[int]:
    """Split lines that cross where they divide areas, held at both ends; returns the points.

    Plain outlines that cross each other, or themselves, are left as they are: which of them is meant to be
    cut nobody knows.
    """
    points: list[int] = []
    live = [i for i, edge in enumerate(net.edges) if edge is not None and edge.first != edge.last]
    for block in blocks(net.edges, live):
        degree = Counter(node for i in block for node in (net.edge(i).first, net.edge(i).last))
        if any(count % 2 for count in degree.values()):
            points += _split_block(net, block)
    return points


def _split_block(net: Net, block: list[int]) -> list[int]:
    spots = Places(net, block)
    cuts: dict[int, set[int]] = {}
    known = Grid((), CHAIN / 10)
    points: dict[int, None] = {}
    for a, b in spots.meeting():
        one, other = spots.owners[a], spots.owners[b]
        if one == other:
            continue
        for place in crossings(carrier(spots.segments[a]), carrier(spots.segments[b])):
            on = (nearest(spots.segments[row], place) for row in (a, b))
            if any(math.dist(place, at) > CHAIN / 10 for at in on):
                continue
            corners = [_corner(net, _ends(net, number), place) for number in (one, other)]
            if None not in corners:
                continue
            node = next((corner for corner in corners if corner is not None), None)
            if node is None:
                node = min((number for number, _ in known.near(place)), default=None)
            if node is None:
                node = net.add_point(place)
                known.add(node, place)
                if len(points) >= _MOST_CROSSINGS:
                    raise Crowded(f"lines cross each other at more than {_MOST_CROSSINGS} points")
            points[node] = None
            for number, corner in zip((one, other), corners, strict=True):
                if corner is None:
                    cuts.setdefault(number, set()).add(node)
    for number, at_nodes in sorted(cuts.items()):
        net.split(number, at_nodes)
    return list(points)
