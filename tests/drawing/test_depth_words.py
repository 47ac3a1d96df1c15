"""Depths and operations in names of layers are offered as the line for the job, and never used unasked."""

from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.layer_words import is_construction, read_layer_name
from camkit.errors import Finding
from camkit.job.load import parse
from camkit.part import LayerRule, layer_pattern

Dxf = Callable[..., Drawn]


@pytest.mark.parametrize(
    ("name", "operation", "depth"),
    [
        ("pocket_6mm", "pocket", 6),
        ("POCKET 6", "pocket", 6),
        ("Pockets-6.0", "pocket", 6),
        ("6mm deep", "", 6),
        ("T=6", "", 6),
        ("-6.0", "", 6),
        ("Z-3.5", "", 3.5),
        ("pocket_0.25in", "pocket", 6.35),
        ("Pocket 1/4in", "pocket", 6.35),
        ('Pocket 1/4"', "pocket", 6.35),
        ("pocket_6_35mm", "pocket", 6.35),
        ("Tasche 8,5", "pocket", 8.5),
        ("Nut_4mm_tief", "pocket", 4),
        ("Bohrlöcher 8mm", "hole", 8),
        ("poche prof. 6", "pocket", 6),
        ("POCKET 6 top", "pocket", 6),
        ("ranura 5 mm", "pocket", 5),
        ("engraving_0.5", "engraving", 0.5),
        ("depth 3 pocket 12mm bit", "pocket", 3),
        ("t=6 18mm ply", "", 6),
    ],
)
def test_depths_are_read_however_they_are_spelled(name: str, operation: str, depth: float) -> None:
    said = read_layer_name(name)
    assert (said.operation, said.depth) == (operation, pytest.approx(depth))


@pytest.mark.parametrize(
    "name",
    [
        *("0", "Layer 1", "CUT2", "Pocket007", "pocket 05", "T6", "part 3", ""),
        *("18mm birch ply", "pocket 6mm bit", "DRILL 5mm dia", "pocket 6 12"),
        *("CUT-OUTSIDE-21MM", "inside cut 18mm", "profile 18.5mm", "pocket 600mm", "1 pocket"),
    ],
)
def test_numbers_that_are_no_depth_are_none(name: str) -> None:
    """Counts, sizes of cutters and sheets, depths of what is cut through, and what could be either."""
    assert read_layer_name(name).depth is None


@pytest.mark.parametrize(
    ("name", "operation"),
    [
        ("OUTER_PROFILES", "profile"),
        ("Außenkontur", "profile"),
        ("contour extérieur", "profile"),
        ("perfil", "profile"),
        ("innerCutout", "opening"),
        ("Ausschnitt innen", "opening"),
        ("Drill holes", "hole"),
        ("Bohrungen", "hole"),
        ("perçages", "hole"),
        ("taladros", "hole"),
        ("inside pocket", "pocket"),
        ("Gravur", "engraving"),
        ("score marks", "engraving"),
        ("through cut", ""),
        ("drawer front", ""),
        ("internal_recess_for_pocket"[:25] + "s", "pocket"),
    ],
)
def test_operations_are_read_in_four_languages(name: str, operation: str) -> None:
    assert read_layer_name(name).operation == operation


def test_a_name_cut_off_at_26_signs_is_completed_and_its_number_doubted() -> None:
    """26 signs were met in published drawings, 31 is the limit of DXF R12."""
    word = read_layer_name("upper face of the top, pock")
    assert (word.operation, word.cut_off) == ("", False)
    assert len("upper face of the to, pock") == 26
    assert read_layer_name("upper face of the to, pock").operation == "pocket"
    number = read_layer_name("pocket_internal_depth_12.5")
    assert (number.depth, number.cut_off) == (12.5, True)


@pytest.mark.parametrize(
    ("name", "is_so"),
    [
        ("construction", True),
        ("Construction Lines", True),
        ("Center lines", True),
        ("DIM", True),
        ("Bemaßung", True),
        ("Hilfslinien", True),
        ("ligne de construction", True),
        ("acotación", True),
        ("drawer guide", False),
        ("center panel", False),
        ("dim holes", False),
        ("lines", False),
        ("0", False),
    ],
)
def test_a_layer_is_construction_only_when_all_its_words_say_so(name: str, is_so: bool) -> None:
    assert is_construction(name) is is_so


def box(space: Modelspace, x0: float, y0: float, x1: float, y1: float, layer: str) -> None:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def offered(found: Drawn) -> list[Finding]:
    return [f for f in found.findings if f.rule in ("depth-offered", "meaning-offered")]


def test_a_depth_is_offered_with_the_line_that_would_use_it(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 200, "parts")
        box(space, 50, 50, 100, 100, "POCKET 6 [a]")
        box(space, 200, 50, 300, 100, "POCKET 6 [a]")

    found = dxf(draw)
    assert found.parts[0].pockets == () and len(found.parts[0].openings) == 2
    (finding,) = offered(found)
    assert (finding.level, finding.rule, finding.layer) == ("warning", "depth-offered", "POCKET 6 [a]")
    assert finding.count == 2 and "openings (2)" in finding.message
    line = '"POCKET 6 [[]a]" = { pocket = 6 }'
    assert line in finding.remedy
    assert [rule.line for rule in found.offers] == [line]
    with_rule = dxf(draw, rules=found.offers)
    assert [pocket.depth for pocket in with_rule.parts[0].pockets] == [6, 6]
    assert offered(with_rule) == []


def test_the_offered_line_is_one_that_a_job_takes(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 200, "parts")
        box(space, 50, 50, 100, 100, "Tasche 6,35mm [tief]")

    (rule,) = dxf(draw).offers
    job = f"[sheet]\nmeasured_thickness = 18\n[[cutter]]\nnumber = 1\ndiameter = 6\n[layers]\n{rule.line}\n"
    (loaded,) = parse(job, "job.toml").layer_rules()
    assert loaded == rule == LayerRule(layer_pattern("Tasche 6,35mm [tief]"), "pocket", 6.35)


def test_numbers_without_a_unit_count_in_the_drawings(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 20, 10, "parts")
        box(space, 2, 2, 4, 4, "pocket 0.25")

    assert [rule.depth for rule in dxf(draw, unit="inch").offers] == [6.35]


def test_a_drills_diameter_is_no_depth(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 200, "parts")
        space.add_circle((50, 50), 4, dxfattribs={"layer": "drill 8mm"})
        space.add_circle((90, 50), 2.5, dxfattribs={"layer": "drill 12mm"})

    (finding,) = offered(dxf(draw))
    assert (finding.layer, finding.level) == ("drill 12mm", "note")
    assert '"drill 12mm" = { hole = 12 }' in finding.remedy


def test_only_meanings_that_nesting_did_not_find_are_offered(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 200, "outline")
        box(space, 50, 50, 100, 100, "inside")
        space.add_circle((200, 100), 40, dxfattribs={"layer": "holes"})
        box(space, 300, 50, 340, 90, "profile small")
        box(space, 350, 50, 390, 90, "engrave")
        box(space, 450, 50, 490, 90, "window")

    found = dxf(draw)
    assert [(f.layer, f.level) for f in offered(found)] == [
        ("holes", "note"),
        ("profile small", "note"),
        ("engrave", "warning"),
        ("window", "note"),
    ]
    assert [rule.line for rule in found.offers] == [
        '"holes" = "hole"',
        '"profile small" = "profile"',
        '"window" = "opening"',
    ]


def test_one_layer_for_everything_tells_nothing_apart(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        box(space, 0, 0, 400, 200, "Pocket 6")
        box(space, 50, 50, 100, 100, "Pocket 6")

    assert offered(dxf(draw)) == []
