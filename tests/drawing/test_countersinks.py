"""Circles whose layer is a countersink go to the holes about whose middles they are drawn."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from ezdxf.layouts import Modelspace

from camkit.drawing.drawn import Drawn
from camkit.drawing.write_dxf import dxf_rules, dxf_text
from camkit.job.load import parse
from camkit.part import LayerRule

Dxf = Callable[..., Drawn]
RULES = (LayerRule("sink*", "countersink", angle_deg=90.0), LayerRule("blind*", "hole", 9.0))


def board(space: Modelspace) -> None:
    space.add_lwpolyline([(0, 0), (200, 0), (200, 100), (0, 100)], close=True)
    space.add_circle((40, 50), 2.25)
    space.add_circle((100, 50), 2.25, {"layer": "blind 9"})


def test_a_rim_goes_to_its_hole_through_or_blind_and_is_no_hole_itself(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        board(space)
        space.add_circle((40, 50), 4.3, {"layer": "SINK 90"})
        space.add_circle((100.02, 50), 4.3, {"layer": "SINK 90"})

    drawn = dxf(draw, rules=RULES)
    assert drawn.findings == ()
    (part,) = drawn.parts
    assert [(h.diameter, h.depth) for h in part.holes] == [
        (pytest.approx(4.5), None),
        (pytest.approx(4.5), 9.0),
    ]
    for hole in part.holes:
        assert hole.countersink is not None and hole.countersink.angle_deg == 90.0
        assert hole.countersink.diameter == pytest.approx(8.6)


def test_without_a_meaning_the_larger_circle_is_the_hole_and_the_message_names_countersinks(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        board(space)
        space.add_circle((40, 50), 4.3, {"layer": "sink 90"})

    drawn = dxf(draw)
    assert drawn.parts[0].holes[0].countersink is None
    (told,) = [f for f in drawn.findings if f.rule == "inside-hole"]
    assert "a countersink" in told.remedy


@pytest.mark.parametrize(
    ("layer", "line"),
    [
        ("Countersink 82 deg", '"Countersink 82 deg" = { countersink = 82 }'),
        ("csk_M4", '"csk_M4" = { countersink = 90 }'),
        ("Senkung 90", '"Senkung 90" = { countersink = 90 }'),
        ("kitchen sink", None),
    ],
)
def test_a_layers_name_that_speaks_of_countersinks_is_offered_as_a_warning(
    dxf: Dxf, layer: str, line: str | None
) -> None:
    def draw(space: Modelspace) -> None:
        board(space)
        space.add_circle((40, 50), 4.3, {"layer": layer})

    offered = [f for f in dxf(draw).findings if f.rule == "meaning-offered"]
    assert [f.level for f in offered] == (["warning"] if line else [])
    assert all(line is not None and line in f.remedy for f in offered)


@pytest.mark.parametrize(
    ("x", "radius", "words"),
    [
        (160, 4.3, "no hole has its centre"),
        (43, 4.3, "the nearest hole lies 3.00 mm off"),
        (40, 2.25, "no wider than its hole of 4.5 mm"),
    ],
)
def test_a_rim_without_its_hole_is_an_error_that_names_it(
    dxf: Dxf, x: float, radius: float, words: str
) -> None:
    def draw(space: Modelspace) -> None:
        board(space)
        space.add_circle((x, 50), radius, {"layer": "sink 90"})

    drawn = dxf(draw, rules=RULES)
    (told,) = drawn.findings
    assert told.level == "error" and words in told.message
    assert told.layer == "sink 90" and told.entity is not None and told.entity.startswith("CIRCLE")


def test_a_rim_that_is_not_round_is_an_error_and_one_drawn_twice_counts_once(dxf: Dxf) -> None:
    def draw(space: Modelspace) -> None:
        board(space)
        square = [(36, 46), (44, 46), (44, 54), (36, 54)]
        space.add_lwpolyline(square, close=True, dxfattribs={"layer": "sink"})
        for radius in (4.3, 4.6, 4.1):
            space.add_circle((100, 50), radius, {"layer": "sink"})

    drawn = dxf(draw, rules=RULES)
    assert [f.rule for f in drawn.findings if f.level == "error"] == ["stray-feature"]
    assert [f.rule for f in drawn.findings if f.level == "note"] == ["duplicate-loop"] * 2
    plain, sunk = drawn.parts[0].holes
    assert plain.countersink is None and sunk.countersink is not None
    assert sunk.countersink.diameter == pytest.approx(9.2)


def test_layers_of_the_job_say_it_and_a_written_drawing_keeps_it(dxf: Dxf, tmp_path: object) -> None:
    job = parse(
        '[sheet]\nmeasured_thickness = 18\n[[cutter]]\nnumber = 1\ndiameter = 6\n[layers]\n"sink*" = '
        "{ countersink = 82 }\n",
        "job.toml",
    )
    assert job.layer_rules() == (LayerRule("sink*", "countersink", angle_deg=82.0),)
    assert job.layer_rules()[0].line == '"sink*" = { countersink = 82 }'

    def draw(space: Modelspace) -> None:
        board(space)
        space.add_circle((40, 50), 4.3, {"layer": "sink"})

    drawn = dxf(draw, rules=job.layer_rules())
    assert LayerRule("countersink 82", "countersink", angle_deg=82.0) in dxf_rules(drawn)
    assert "countersink 82" in dxf_text(drawn)
