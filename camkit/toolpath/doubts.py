"""What the maker should know about the cuts: features no cutter makes, corners left round, too few tabs."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

import shapely

from camkit.cut import Tab
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import bounds
from camkit.geometry.path import Point, region
from camkit.job.model import Cutter
from camkit.toolpath.feature import Feature
from camkit.toolpath.hole_choice import is_of_its_size
from camkit.toolpath.order import Task
from camkit.toolpath.reach import choose, widest_cutter

__all__ = ["corner_notes", "few_tabs", "lifted_veneer", "no_cutter", "no_finish", "poor_tabs", "stray_tabs"]


def _name(feature: Feature) -> str:
    return feature.part if feature.copy == 1 else f"{feature.part}:{feature.copy}"


def _mm(value: float) -> str:
    return f"{round(value, 2):g}"


def _what(feature: Feature) -> str:
    if feature.kind == "countersink" and feature.hole is not None and feature.hole.countersink is not None:
        sink = feature.hole.countersink
        return f"a countersink of {_mm(sink.diameter)} mm, {_mm(sink.angle_deg)} degrees"
    if feature.hole is not None:
        named = "hold-down hole" if feature.kind == "hold-down" else "hole"
        return f"a {named} of {_mm(feature.hole.diameter)} mm"
    x0, y0, x1, y1 = bounds(feature.outline)
    noun = {"pocket": "a pocket", "opening": "an opening", "profile": "the outline"}.get(
        feature.kind, "a cut"
    )
    return f"{noun} of {_mm(x1 - x0)} x {_mm(y1 - y0)} mm"


def _neck(feature: Feature, cutters: Sequence[Cutter]) -> tuple[Cutter, float, tuple[float, float]] | None:
    """The smallest milling cutter that fits in several places of an opening, but not from one to the next.

    Gives it, the width of the narrowest way between them, in mm, and the middle of the smallest place.
    """
    milling = [cutter for cutter in cutters if cutter.mills]
    if feature.kind != "opening" or not milling:
        return None
    cutter = min(milling, key=lambda c: c.diameter)
    area = as_polygon(region(feature.outline, feature.islands))
    places = shapely.get_parts(area.buffer(-cutter.diameter / 2, quad_segs=64))
    if len(places) < 2:
        return None
    smallest = min(places, key=lambda place: (place.area, place.centroid.x, place.centroid.y))
    low, high = 0.0, cutter.diameter
    while high - low > 0.005:
        middle = (low + high) / 2
        if len(shapely.get_parts(area.buffer(-middle / 2, quad_segs=64))) < 2:
            low = middle
        else:
            high = middle
    return cutter, math.floor(low * 100) / 100, (smallest.centroid.x, smallest.centroid.y)


def _long_point(
    feature: Feature, cutters: Sequence[Cutter], depth: float, room: float
) -> tuple[str, str] | None:
    """Message and remedy when a drill would make a hole but for the length of its point."""
    drill = choose(feature, cutters, depth)
    if feature.hole is None or drill is None or drill.cutter.point_length <= room:
        return None
    number, long = drill.cutter.number, drill.cutter.point_length
    said = f"the point of drill {number} is {_mm(long)} mm long"
    if feature.hole.depth is None:
        deeper = math.ceil(long * 10 - 1e-6) / 10
        message = f"{_what(feature)} would not come through at its full width: {said}"
        remedy = f"Write into_table = {deeper:g} in [machine] where the board below bears it, use a drill"
        remedy += f" that cuts flat, or correct point_angle of cutter {number}"
        return f"{message}, and {_mm(room)} mm may go into the table", remedy
    message = f"{_what(feature)}, {_mm(feature.hole.depth)} mm deep, would break through: {said}"
    remedy = f"Use a drill that cuts flat, drill less deep, or correct point_angle of cutter {number}"
    return f"{message}, and {_mm(room)} mm are left for it", remedy


def _straight_down(feature: Feature, cutters: Sequence[Cutter]) -> str:
    """The words for a milling cutter that would make the hole if it may plunge; "" when there is none."""
    if feature.hole is None:
        return ""
    willing = [c.model_copy(update={"plunges": True}) for c in cutters if c.mills]
    number = next((c.number for c in willing if is_of_its_size(c, feature.hole)), None)
    return (
        f"write plunges = true for cutter {number} if it cuts to its middle, " if number is not None else ""
    )


def no_cutter(
    feature: Feature, cutters: Sequence[Cutter], depth: float, point_room: float = math.inf
) -> Finding:
    """The error for a feature that no cutter on hand makes, saying which cutter would.

    `point_room` is how far the point of a drill may stand out below its full width, in mm.
    """
    x0, y0, x1, y1 = bounds(feature.outline)
    if feature.kind == "countersink":
        return _no_v_groove(feature)
    any_length = [cutter.model_copy(update={"cutting_length": None}) for cutter in cutters]
    longer = choose(feature, any_length, depth, point_room)
    if feature.kind == "hold-down":
        message = f"no cutter on hand makes {_what(feature)} through the sheet"
        remedy = (
            f"Add a drill of {_mm(feature.hole.diameter if feature.hole else 0)} mm to the job, or say which "
        )
        remedy += "hole, head and screw go together in [hold_down]"
    elif (pointed := _long_point(feature, cutters, depth, point_room)) is not None:
        message, remedy = pointed
    elif longer is not None:
        message = f"cutter {longer.cutter.number} is too short for {_what(feature)}, {_mm(depth)} mm deep"
        remedy = f"Use one with a cutting length of {_mm(depth)} mm or more, or correct cutting_length"
    elif (neck := _neck(feature, cutters)) is not None:
        cutter, way, spot = neck
        message = (
            f"no cutter on hand makes {_what(feature)}: the {_mm(cutter.diameter)} mm cutter would fit at "
            f"({spot[0]:.1f}, {spot[1]:.1f}), yet the way there narrows to {_mm(way)} mm"
        )
        remedy = (
            f"Open that way to more than {_mm(cutter.diameter)} mm (the rim of a relief passes through its "
            f"corner, it is not centred there), or use a cutter of less than {_mm(way)} mm"
        )
    else:
        message = f"no cutter on hand makes {_what(feature)}"
        wide = widest_cutter(feature)
        drill = f" or a drill of {_mm(feature.hole.diameter)} mm" if feature.hole is not None else ""
        straight = _straight_down(feature, cutters)
        if wide >= 0.5:
            remedy = f"Add a cutter of at most {_mm(wide)} mm{drill} to the job, {straight}"
            remedy += "or leave it out by its layer"
        else:
            remedy = f"Make it by hand{' with' + drill[3:] if drill else ''}, and leave it out by its layer"
    return Finding(
        "error",
        "no-cutter",
        message,
        remedy,
        x_mm=round((x0 + x1) / 2, 3),
        y_mm=round((y0 + y1) / 2, 3),
        part=_name(feature),
    )


def _no_v_groove(feature: Feature) -> Finding:
    """The error for a countersink, saying which cutter would make it."""
    hole = feature.hole
    assert hole is not None and hole.countersink is not None  # every countersink has its hole
    (x, y), sink = hole.centre, hole.countersink
    return Finding(
        "error",
        "no-cutter",
        f"no cutter on hand makes {_what(feature)}, about a hole of {_mm(hole.diameter)} mm",
        f"Add a v-groove cutter with point_angle = {_mm(sink.angle_deg)} and a diameter of "
        f"{_mm(sink.diameter - hole.diameter)} mm or more (better {_mm(sink.diameter)}) whose tip has room "
        "in the hole, or sink it by hand and leave it out by its layer",
        x_mm=round(x, 3),
        y_mm=round(y, 3),
        part=_name(feature),
    )


def few_tabs(feature: Feature, found: int, wanted: int) -> list[Finding]:
    """A warning when a piece that ought to have tabs has fewer than two."""
    if wanted == 0 or found >= 2:
        return []
    x0, y0, x1, y1 = bounds(feature.outline)
    return [
        Finding(
            "warning",
            "few-tabs",
            f"{_what(feature)} is too small for more than {found} of the {wanted} tabs it should have",
            'Hold it by a skin (hold = "skin" in its [[part]] row) or with double-sided tape, make [tabs] '
            "width smaller, give places (tabs in its row), or cut it by hand",
            x_mm=round((x0 + x1) / 2, 3),
            y_mm=round((y0 + y1) / 2, 3),
            part=_name(feature),
        )
    ]


def stray_tabs(feature: Feature, strays: Sequence[Point]) -> list[Finding]:
    """A warning for each place given for a tab that is not at the outline."""
    return [
        Finding(
            "warning",
            "stray-tab",
            f"no tab stands at ({x:.1f}, {y:.1f}) on the sheet, as its row asks: that is not at its outline",
            "Give a point on the outline, in the drawing's coordinates",
            x_mm=round(x, 3),
            y_mm=round(y, 3),
            part=_name(feature),
        )
        for x, y in strays
    ]


def poor_tabs(feature: Feature, tabs: Sequence[Tab]) -> list[Finding]:
    """A warning (`tab-place`) for each fault of places where tabs had to stand.

    Where none stands well there is one instead, `no-legal-tab`.
    """
    poor: dict[str, list[Tab]] = defaultdict(list)
    for tab in tabs:
        if tab.fault:
            poor[tab.fault].append(tab)
    if poor and all(tab.fault for tab in tabs):
        said = "; ".join(f"{len(those)} stand {fault}" for fault, those in poor.items())
        words = f"no place along {_what(feature)} is fit for a tab: of {len(tabs)}, {said}"
        remedy = 'Hold it by a skin or by vacuum (hold = "skin" or "vacuum" in its [[part]] row), or with '
        remedy += "double-sided tape"
        return [_about_tab(feature, "no-legal-tab", words, remedy, tabs[0])]
    return [
        _about_tab(
            feature,
            "tab-place",
            f"{len(those)} of {len(tabs)} tabs along {_what(feature)} stand {fault}, the first at "
            f"({those[0].x:.1f}, {those[0].y:.1f}) on the sheet: no better place holds it as well",
            "Pare them flush, give other places (tabs in its [[part]] row), or hold it otherwise (hold = "
            '"skin" or "vacuum" there)',
            those[0],
        )
        for fault, those in poor.items()
    ]


def _about_tab(feature: Feature, rule: str, message: str, remedy: str, tab: Tab) -> Finding:
    x, y = round(tab.x, 3), round(tab.y, 3)
    return Finding("warning", rule, message, remedy, x_mm=x, y_mm=y, part=_name(feature))


def lifted_veneer(task: Task) -> list[Finding]:
    """A warning when a compression spiral cuts so shallow that only its upcut part meets the wood.

    It cleans the upper face only below that part (guides of cutter sellers).
    """
    feature, cutter = task.feature, task.choice.cutter
    if feature.depth is None or feature.depth >= cutter.first_pass - 1e-9:
        return []
    x0, y0, x1, y1 = bounds(feature.outline)
    return [
        Finding(
            "warning",
            "upcut-part",
            f"{_what(feature)}, {_mm(feature.depth)} mm deep, is cut by the upcut part of compression spiral "
            f"{cutter.number} alone, which lifts the upper veneer; {_mm(cutter.first_pass)} mm would not",
            "Add a downcut or straight cutter of that size to the job for it, or correct upcut_length",
            x_mm=round((x0 + x1) / 2, 3),
            y_mm=round((y0 + y1) / 2, 3),
            part=_name(feature),
        )
    ]


def no_finish(task: Task, *, finished: bool) -> list[Finding]:
    """A note when wood should be left for a finish pass and there is no room beside the wall for that."""
    feature, cutter = task.feature, task.choice.cutter
    if finished or cutter.finish_pass <= 0 or feature.kind not in ("profile", "opening", "pocket"):
        return []
    x0, y0, x1, y1 = bounds(feature.outline)
    return [
        Finding(
            "note",
            "no-finish-pass",
            f"{_what(feature)} is cut without a finish pass: passes {_mm(cutter.finish_pass)} mm off its "
            "wall would break up or touch another part",
            "Lay parts farther apart, or use a smaller cutter",
            x_mm=round((x0 + x1) / 2, 3),
            y_mm=round((y0 + y1) / 2, 3),
            part=_name(feature),
        )
    ]


def corner_notes(tasks: Sequence[Task]) -> list[Finding]:
    """A note for each part with inside corners that its cutter leaves round."""
    worst: dict[str, list[Task]] = defaultdict(list)
    for task in tasks:
        if task.choice.left > 0:
            worst[_name(task.feature)].append(task)
    found = []
    for name, rounded in worst.items():
        task = max(rounded, key=lambda t: t.choice.left)
        radius = task.choice.cutter.diameter / 2
        found.append(
            Finding(
                "note",
                "round-corner",
                f"{len(rounded)} cut(s) keep inside corners rounded with radius {radius:.4g}, "
                f"up to {task.choice.left:.2f} mm short of the drawn corner",
                "Use a smaller cutter or a relief in the drawing where something square must fit",
                amount_mm=round(task.choice.left, 3),
                part=name,
            )
        )
    return found
