"""Fitting by nothing changes nothing, and fitting there and back gives the drawing again, within 1 um.

Reliefs are left out by `relief = "none"`, so that outlines can be held against the drawing corner by corner;
what is compared are the rows under `parts` of the report, which is written to 0.0001 mm.
"""

from __future__ import annotations

import pathlib
import re
from dataclasses import dataclass, replace
from typing import Any

import ezdxf
import pytest
from shapely import LinearRing
from shapely.geometry.base import BaseGeometry
from support.closed_loop import bench
from support.plates import Loop, Plate, Stock, box_loop, turned_loop, write_job
from support.random_joints import Kind, joint, plates

from camkit.drawing.read import read
from camkit.job.load import load
from camkit.part import Part
from camkit.pipeline import make, prepare
from camkit.report.json_report import report

MICRON = 0.001
BARE = 'relief = "none"'


@dataclass(frozen=True)
class Outlines:
    """A part's loops in its drawing: outline, openings by place, pockets with their depths."""

    outline: BaseGeometry
    openings: tuple[BaseGeometry, ...]
    pockets: tuple[tuple[float, BaseGeometry], ...]

    def off(self, other: Outlines) -> float:
        """The farthest that any point of one lies from the other; infinite where loops are missing."""
        if [len(self.openings), len(self.pockets)] != [len(other.openings), len(other.pockets)]:
            return float("inf")
        pairs = [(self.outline, other.outline), *zip(self.openings, other.openings, strict=True)]
        for (deep, mine), (deep_too, theirs) in zip(self.pockets, other.pockets, strict=True):
            if abs(deep - deep_too) > MICRON:
                return float("inf")
            pairs.append((mine, theirs))
        return max(a.hausdorff_distance(b) for a, b in pairs)


def by_place(loop: BaseGeometry) -> tuple[float, float]:
    return round(loop.centroid.x, 0), round(loop.centroid.y, 0)


def drawn(plate: Plate, frame: tuple[float, float, float]) -> Outlines:
    """The plate as it stands in its drawing."""

    def ring(loop: Loop) -> BaseGeometry:
        return LinearRing([(x, y) for x, y, _ in turned_loop(loop, *frame)])

    return Outlines(
        ring(plate.outline),
        tuple(sorted((ring(loop) for loop in plate.openings), key=by_place)),
        tuple(sorted(((depth, ring(loop)) for depth, loop in plate.pockets), key=lambda p: by_place(p[1]))),
    )


def fitted(folder: pathlib.Path) -> dict[str, Outlines]:
    """The parts of the report as the job in `folder` makes them; sheet and drawing are one."""
    rows: list[Any] = report(make(load(folder / "job.toml"), folder, "joint"))["parts"]
    found = {}
    for row in rows:
        assert (row["x_mm"], row["y_mm"], row["turn_deg"], row["mirrored"]) == (0, 0, 0, False)
        openings = [LinearRing(loop) for loop in row["outline"]["interiors"]]
        pockets = [(pocket["depth_mm"], LinearRing(pocket["exterior"])) for pocket in row["pockets"]]
        found[row["name"]] = Outlines(
            LinearRing(row["outline"]["exterior"]),
            tuple(sorted(openings, key=by_place)),
            tuple(sorted(pockets, key=lambda p: by_place(p[1]))),
        )
    return found


def scene(kind: str, seed: int) -> tuple[list[Plate], Stock, float]:
    """Plates, the sheet and the clearance drawn; joints are drawn without reliefs."""
    if kind == "bench":
        return bench(seed), Stock("sheet", 18.0, 17.6), 0.0
    one = joint(seed, kind)
    stock = Stock("sheet", one.mate.drawn, round(0.975 * one.mate.drawn, 2))
    one = replace(one, panel=stock, mate=stock, relief=None, depth=round(stock.drawn / 2.5, 2))
    return plates(one), stock, one.play


ZEROS: dict[tuple[str, int], str] = {
    ("flush tenon", 7): "",
    ("proud tenon", 5): "",
    ("stub tenon", 14): "",
    ("open slot", 9): "",
    ("cross-lap", 8): "",
    ("fingers", 8): "",
    ("stopped housing", 5): "",
    ("open housing", 5): "",
    ("rabbet", 2): "",
    ("bench", 2): "",
    ("bench", 4): "",
}
THERE_AND_BACK = ZEROS


def marked(cases: dict[tuple[str, int], str]) -> list[Any]:
    return [
        pytest.param(*case, marks=pytest.mark.xfail(strict=True, reason=why) if why else ())
        for case, why in cases.items()
    ]


@pytest.mark.parametrize("kind, seed", marked(ZEROS))
def test_the_drawn_thickness_with_the_drawn_clearance_changes_nothing(
    kind: str, seed: int, tmp_path: pathlib.Path
) -> None:
    parts, stock, play = scene(kind, seed)
    same = [Stock("sheet", stock.drawn, stock.drawn)]
    frames = write_job(tmp_path, parts, same, [2.0], f"clearance = {play}\n{BARE}")
    came = fitted(tmp_path)
    off = {plate.name: came[plate.name].off(drawn(plate, frames[plate.name])) for plate in parts}
    assert max(off.values()) <= MICRON, off


def redrawn(folder: pathlib.Path, parts: dict[str, Outlines], size: tuple[float, float]) -> None:
    """A drawing of fitted outlines, on the layers that they came from."""
    drawing = ezdxf.new("R2000", units=ezdxf.units.MM)
    space = drawing.modelspace()
    rows = [("SHEET", LinearRing([v[:2] for v in box_loop(0, 0, *size)]))]
    for part in parts.values():
        rows += [("OUTLINE", part.outline)] + [("OPENING", loop) for loop in part.openings]
        rows += [(f"POCKET {depth}", loop) for depth, loop in part.pockets]
    for layer, loop in rows:
        space.add_lwpolyline(list(loop.coords)[:-1], close=True, dxfattribs={"layer": layer})
    drawing.saveas(folder / "sheet.dxf")


@pytest.mark.parametrize("kind, seed", marked(THERE_AND_BACK))
def test_there_and_back_gives_the_drawing_again(kind: str, seed: int, tmp_path: pathlib.Path) -> None:
    """To the measured sheet, drawn anew from what was fitted, and back to the sheet that it was drawn for."""
    parts, stock, play = scene(kind, seed)
    there, back = tmp_path / "there", tmp_path / "back"
    there.mkdir()
    back.mkdir()
    fit = f"clearance = {play}\n{BARE}"
    frames = write_job(there, parts, [stock], [2.0], fit)
    once = fitted(there)
    write_job(back, parts, [Stock("sheet", stock.measured, stock.drawn)], [2.0], fit)
    size = load(there / "job.toml").sheet[0].size
    assert size is not None
    redrawn(back, once, size)
    twice = fitted(back)
    first = {plate.name: drawn(plate, frames[plate.name]) for plate in parts}
    assert max(once[name].off(first[name]) for name in first) > 20 * MICRON  # there was a way to go
    off = {name: twice[name].off(first[name]) for name in first}
    assert max(off.values()) <= MICRON, off


@pytest.mark.parametrize("kind", ["flush tenon", "stub tenon", "stopped housing", "cross-lap", "open slot"])
def test_dogbones_drawn_for_this_cutter_are_cut_as_drawn(kind: Kind, tmp_path: pathlib.Path) -> None:
    """Undone, fitted by nothing and cut again; arcs are reported as chords within 0.005."""
    stock = Stock("sheet", 18.0, 18.0)
    one = replace(joint(3, kind), panel=stock, mate=stock, cutter=6.0, play=0.15, depth=9.0, share=0.5)
    one = replace(one, relief=("dogbone", 3.0, 0), turns=(90.0, 0.0), turn_deg=0.0, width=80.0, shoulders=2)
    panel = plates(replace(one, relief=("dogbone", 3.0, 200)))[0]
    frames = write_job(tmp_path, plates(one), [stock], [6.0], 'clearance = 0.15\nrelief = "dogbone"')
    came, there = fitted(tmp_path)[panel.name], drawn(panel, frames[panel.name])
    assert came.off(there) <= 0.006


AWKWARD = 1 / 3


def untouched(folder: pathlib.Path) -> tuple[list[Part], list[Part]]:
    """Parts as read and as fitted: a mortise and its tenon, and two parts that have no joint."""
    one = joint(7, "flush tenon")
    stock = Stock("sheet", 18.0, 17.6)
    one = replace(one, panel=stock, mate=stock, play=0.0, cutter=6.0, width=80.0, relief=None)
    write_job(folder, plates(one), [stock], [6.0], "clearance = 0.15")
    drawing = ezdxf.readfile(folder / "sheet.dxf")
    space = drawing.modelspace()
    plain = [
        (900 + AWKWARD, 40),
        (1100 + AWKWARD, 40.123456789, 0.3),
        (1111.1, 190, 0),
        (905.7, 200 + AWKWARD),
    ]
    space.add_lwpolyline(
        [(*v, 0.0)[:3] for v in plain], format="xyb", close=True, dxfattribs={"layer": "OUTLINE"}
    )
    space.add_circle((1000.1, 110.7), 12.345678, dxfattribs={"layer": "OPENING"})
    space.add_lwpolyline(
        [(1050, 80), (1080 + AWKWARD, 80), (1080 + AWKWARD, 130), (1050, 131.7)],
        close=True,
        dxfattribs={"layer": "OPENING"},
    )
    space.add_circle((1200 + AWKWARD, 120), 50 + AWKWARD, dxfattribs={"layer": "OUTLINE"})
    for old in space.query('LWPOLYLINE[layer=="SHEET"]'):
        space.delete_entity(old)
    drawing.saveas(folder / "sheet.dxf")
    text = (folder / "job.toml").read_text(encoding="utf-8")
    text = re.sub(r"\[\[part\]\]\n(.+\n)+?(?=\[)", "", text)
    text = re.sub(r"size = .*", "size = [1400.0, 400.0]", text)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    job = load(folder / "job.toml")
    assert job.part == ()
    read_so = list(read(folder / "sheet.dxf", rules=job.layer_rules()).parts)
    return read_so, list(prepare(job, folder).fitted.parts)


def test_parts_without_joints_are_untouched_bit_for_bit(tmp_path: pathlib.Path) -> None:
    before, after = untouched(tmp_path)
    assert len(before) == len(after) == 4
    changed = [
        old.name
        for old, new in zip(before, after, strict=True)
        if (old.outline, old.openings, old.holes, old.pockets)
        != (new.outline, new.openings, new.holes, new.pockets)
    ]
    plain = [part.name for part in before if part.bounds()[0] > 899]
    assert len(plain) == 2 and changed and not set(changed) & set(plain)
