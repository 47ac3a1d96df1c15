"""The result as plain values for JSON: `report.json`, `check --json` and `inspect --json`."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from itertools import zip_longest
from typing import TYPE_CHECKING, TypeAlias

from camkit import __version__
from camkit.cut import Cut
from camkit.errors import Finding
from camkit.geometry.flatten import flattened
from camkit.geometry.measure import Bounds, bounds, length
from camkit.geometry.path import Path, circle, signed_area
from camkit.job.model import Machine
from camkit.joinery.clearance import allowance
from camkit.joinery.features import Feature
from camkit.joinery.fitted import FittedJoint, GluedUp, SizeChange
from camkit.part import Hole, Part, Placed, Pocket
from camkit.pipeline import JudgedProgram, Result, SheetUse
from camkit.program.wish import Wish
from camkit.report.inspection_joints import Joints
from camkit.report.names import program_file
from camkit.simulation.verdict import CutTime

if TYPE_CHECKING:
    from camkit.drawing.drawn import Drawn
from camkit.drawing.slots import LikelySlots, likely_slots

__all__ = ["Json", "cut_of", "finding", "inspection", "net_area", "program", "report", "report_text"]

Json: TypeAlias = "dict[str, Json] | list[Json] | str | float | int | bool | None"

# Chord error of outlines in the report: finer than any tolerance of a plywood part.
_REPORT_FLATTEN = 0.005
# Libraries that decide where the cutter goes; a result is repeatable with these.
_DECISIVE = ("ezdxf", "numpy", "pyclipper", "shapely")


def report(result: Result) -> dict[str, Json]:
    """The whole of `report.json`; lengths in mm rounded to 0.0001, times in seconds."""
    machine = result.job.machine
    return {
        **_wish(result.wish),
        "machine": _machine(machine),
        "sheets": [_sheet(sheet, result) for sheet in result.sheets],
        "programs": [_reported_program(judged, result) for judged in result.programs],
        "cuts": [_cut(row, judged, result) for judged in result.programs for row in judged.verdict.cuts],
        "parts": [_piece(placed) for placed in result.placed],
        "fit": _fit(result),
        "joints": [_joint(joint) for joint in result.fitted.joints],
        "sizes": [_size(size) for size in result.fitted.sizes],
        "glue_ups": _glue_ups(result.fitted.glue_ups),
        "findings": [finding(f) for f in result.findings],
        "versions": {"camkit": __version__, **{name: version(name) for name in _DECISIVE}},
    }


def _machine(machine: Machine) -> dict[str, Json]:
    """Where zero is, X0 Y0 only where it is not the lower left corner, and how far the table may be cut."""
    row: dict[str, Json] = {"zero": machine.zero, "into_table_mm": _number(machine.into_table)}
    return row if machine.xy_zero == "lower left" else {**row, "xy_zero": machine.xy_zero}


def _wish(wish: Wish) -> dict[str, Json]:
    """What part of the job was made; nothing for the whole."""
    if wish.whole:
        return {}
    row: dict[str, Json] = {"from": wish.first, "only": wish.piece, "air_mm": _maybe(wish.higher or None)}
    return {"made": {key: value for key, value in row.items() if value is not None}}


def report_text(result: Result) -> str:
    """The text of `report.json`: one row a line, so that two runs can be compared line by line."""
    lines = []
    for key, value in report(result).items():
        if isinstance(value, list) and value:
            rows = ",\n  ".join(_compact(row) for row in value)
            lines.append(f"{_compact(key)}: [\n  {rows}\n ]")
        else:
            lines.append(f"{_compact(key)}: {_compact(value)}")
    return "{\n " + ",\n ".join(lines) + "\n}\n"


def _compact(value: Json) -> str:
    return json.dumps(value, ensure_ascii=False)


def program(judged: JudgedProgram) -> dict[str, Json]:
    """One judged program, as `check --json` prints it."""
    verdict = judged.verdict
    return {
        "program": judged.name,
        "ok": verdict.ok,
        "time_s": _number(verdict.time_s),
        "feed_mm": _number(verdict.feed_mm),
        "rapid_mm": _number(verdict.rapid_mm),
        "cutters": [
            {"number": c.number, "diameter_mm": _maybe(c.diameter_mm), "time_s": _number(c.time_s)}
            for c in verdict.cutters
        ],
        "findings": [finding(f) for f in verdict.findings],
    }


def finding(found: Finding) -> dict[str, Json]:
    """A finding; keys that have no meaning for it are absent."""
    row: dict[str, Json | None] = {
        "level": found.level,
        "rule": found.rule,
        "message": found.message,
        "remedy": found.remedy or None,
        "line": found.line,
        "x_mm": _maybe(found.x_mm),
        "y_mm": _maybe(found.y_mm),
        "z_mm": _maybe(found.z_mm),
        "amount_mm": _maybe(found.amount_mm),
        "part": found.part,
        "file": found.file,
        "entity": found.entity,
    }
    return {key: value for key, value in row.items() if value is not None}


def inspection(drawns: Iterable[Drawn], joints: Iterable[Joints | None] = ()) -> dict[str, Json]:
    """What was read from drawings, as `inspect --json` prints it; `joints` are theirs, in like order."""
    return {
        "drawings": [
            {
                "path": drawn.path,
                "unit": drawn.unit,
                "unit_from": drawn.unit_from,
                "parts": [_drawn_part(part) for part in drawn.parts],
                "likely_thickness": [_slots(slots, drawn.parts) for slots in likely_slots(drawn.parts)],
                "joints": _joints(drawn.parts, joined),
                "findings": [finding(f) for f in drawn.findings],
            }
            for drawn, joined in zip_longest(drawns, joints)
        ]
    }


def _joints(parts: Sequence[Part], joints: Joints | None) -> Json:
    if joints is None:
        return None
    return {
        "thicknesses_mm": [_number(thickness) for thickness in joints.thicknesses],
        "guessed": joints.guess is not None,
        "pairs": [
            {
                "kind": pair.kind,
                "parts": [parts[k].name for k in pair.parts],
                "enters": [_joint_shape(shape, parts) for shape in pair.enters],
                "takes": [_joint_shape(shape, parts) for shape in pair.takes],
            }
            for pair in joints.found.pairs
        ],
        "wedge_openings": [_joint_shape(shape, parts) for shape in joints.found.wedges],
        "without_mate": [_joint_shape(shape, parts) for shape in joints.found.lone],
    }


def _joint_shape(shape: Feature, parts: Sequence[Part]) -> Json:
    return {
        "kind": shape.kind,
        "part": parts[shape.part].name,
        "x_mm": _number(shape.middle[0]),
        "y_mm": _number(shape.middle[1]),
        "width_mm": _number(shape.width),
        "length_mm": _number(shape.length),
    }


def net_area(part: Part) -> float:
    """Area of the part less its openings and through holes, in mm2, arcs exact."""
    shape = part.region()
    return abs(signed_area(shape.exterior)) - sum(abs(signed_area(loop)) for loop in shape.interiors)


def cut_of(row: CutTime, judged: JudgedProgram, result: Result) -> Cut | None:
    """The planned cut that a numbered stretch of a program belongs to; None in somebody else's program."""
    in_spindle = {motion.cutter for motion in judged.reading.motions}
    same = [c for c in result.cuts if c.number == row.number and c.sheet == judged.sheet]
    return next((c for c in same if c.cutter in in_spindle), same[0] if same else None)


def _reported_program(judged: JudgedProgram, result: Result) -> dict[str, Json]:
    kinds = {cutter.number: cutter.kind for cutter in result.job.cutter}
    cutters: list[Json] = [
        {
            "number": c.number,
            "kind": kinds.get(c.number),
            "diameter_mm": _maybe(c.diameter_mm),
            "time_s": _number(c.time_s),
        }
        for c in judged.verdict.cutters
    ]
    plain = program(judged)
    return {
        "program": program_file(judged, result),
        "sheet": judged.sheet,
        **{key: plain[key] for key in ("ok", "time_s", "feed_mm", "rapid_mm")},
        "cutters": cutters,
        "findings": plain["findings"],
    }


def _sheet(sheet: SheetUse, result: Result) -> dict[str, Json]:
    used = sum(net_area(placed.shape) for placed in result.placed if placed.sheet == sheet.number)
    return {
        "number": sheet.number,
        "size_mm": [_number(side) for side in sheet.size],
        "thickness_mm": _number(sheet.thickness),
        "used_share": _number(used / (sheet.size[0] * sheet.size[1])),
    }


def _cut(row: CutTime, judged: JudgedProgram, result: Result) -> dict[str, Json]:
    cut = cut_of(row, judged, result)
    return {
        "number": row.number,
        "program": program_file(judged, result),
        "kind": cut.kind if cut else row.kind.lower(),
        "part": cut.part if cut else row.name,
        "copy": cut.copy if cut else None,
        "cutter": cut.cutter if cut else None,
        "first_line": row.first_line,
        "last_line": row.last_line,
        "time_s": _number(row.time_s),
    }


def _piece(placed: Placed) -> dict[str, Json]:
    shape = placed.shape
    area = shape.region()
    blind = [Pocket(circle(h.centre, h.diameter), h.depth) for h in shape.holes if h.depth is not None]
    return {
        "name": placed.part.name,
        "copy": placed.copy,
        "sheet": placed.sheet,
        "x_mm": _number(placed.x),
        "y_mm": _number(placed.y),
        "turn_deg": _number(placed.turn_deg),
        "mirrored": placed.mirrored,
        "outline": {"exterior": _loop(area.exterior), "interiors": _loops(area.interiors)},
        "pockets": [
            {
                "depth_mm": _number(pocket.depth),
                "exterior": _loop(pocket.outline),
                "interiors": _loops(pocket.islands),
            }
            for pocket in (*shape.pockets, *blind)
        ],
    }


def _size(size: SizeChange) -> dict[str, Json]:
    return {
        "part": size.part,
        "what": size.what,
        "drawn_mm": _number(size.drawn_mm),
        "fitted_mm": _number(size.fitted_mm),
        "why": size.why,
        "x_mm": _number(size.x),
        "y_mm": _number(size.y),
    }


def _fit(result: Result) -> dict[str, Json]:
    """What joints get beyond their mates, and whether a coupon measured it."""
    asked = allowance(result.job.fit)
    return {
        "kind": asked.kind,
        "clearance_mm": _number(asked.clearance),
        "film_mm": _number(asked.film),
        "measured": asked.measured,
    }


def _joint(joint: FittedJoint) -> dict[str, Json]:
    return {
        "kind": joint.kind,
        "parts": list(joint.parts),
        "drawn_mm": _number(joint.drawn_mm),
        "fitted_mm": _number(joint.fitted_mm),
        "clearance_mm": _number(joint.clearance_mm),
        "relief": joint.relief,
        "why": joint.why,
    }


def _glue_ups(glue_ups: Sequence[GluedUp]) -> list[Json]:
    used: dict[str, int] = {}
    rows: list[Json] = []
    for glue_up in glue_ups:
        layers: list[Json] = []
        for layer in glue_up.layers:
            used[layer.part] = used.get(layer.part, 0) + 1  # a part met again is its next copy
            layers.append(
                {
                    "part": layer.part,
                    "copy": used[layer.part],
                    "face": layer.face,
                    "dowels": [_hole(dowel) for dowel in layer.dowels],
                }
            )
        rows.append(
            {
                "name": glue_up.name,
                "layers": layers,
                "play_deg": _number(glue_up.play_deg),
                "worst_shift_mm": _number(glue_up.worst_shift_mm),
            }
        )
    return rows


def _drawn_part(part: Part) -> dict[str, Json]:
    return {
        "name": part.name,
        "area_mm2": _number(net_area(part)),
        "perimeter_mm": _number(length(part.outline)),
        "bounds_mm": _bounds(bounds(part.outline)),
        "openings": [
            {"area_mm2": _number(abs(signed_area(loop))), "bounds_mm": _bounds(bounds(loop))}
            for loop in part.openings
        ],
        "holes": [_hole(hole) for hole in part.holes],
        "pockets": [
            {
                "area_mm2": _number(
                    abs(signed_area(pocket.outline)) - sum(abs(signed_area(i)) for i in pocket.islands)
                ),
                "depth_mm": _number(pocket.depth),
                "bounds_mm": _bounds(bounds(pocket.outline)),
            }
            for pocket in part.pockets
        ],
    }


def _slots(slots: LikelySlots, parts: Sequence[Part]) -> dict[str, Json]:
    return {
        "width_mm": _number(slots.width),
        "count": slots.count,
        "parts": [parts[number].name for number in slots.parts],
    }


def _hole(hole: Hole) -> dict[str, Json]:
    x, y = hole.centre
    sink = hole.countersink
    return {
        "x_mm": _number(x),
        "y_mm": _number(y),
        "diameter_mm": _number(hole.diameter),
        "depth_mm": _maybe(hole.depth),
        **({"countersink_mm": _number(sink.diameter)} if sink is not None else {}),
    }


def _loop(path: Path) -> list[Json]:
    return [[_number(float(x)), _number(float(y))] for x, y in flattened(path, _REPORT_FLATTEN)]


def _loops(paths: Iterable[Path]) -> list[Json]:
    return [_loop(path) for path in paths]


def _bounds(extent: Bounds) -> list[Json]:
    return [_number(side) for side in extent]


def _number(value: float) -> float:
    return round(float(value), 4) + 0.0  # the addition turns -0.0 into 0.0


def _maybe(value: float | None) -> float | None:
    return None if value is None else _number(value)
