"""The job file to begin with: filled in from drawings, silent about what only the maker can know."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest

from camkit.errors import InputError
from camkit.geometry.path import Path, circle, rectangle
from camkit.job.load import parse
from camkit.job.model import Job
from camkit.job.start import starting_job
from camkit.part import Hole, LayerRule, Part, Source


@dataclass(frozen=True)
class Drawing:
    """What a reader gives of one file."""

    path: str
    parts: tuple[Part, ...]
    unit: str = "mm"
    unit_from: str = "header"
    offers: tuple[LayerRule, ...] = ()


def part(name: str, outline: Path, *openings: Path, layer: str = "outline") -> Part:
    return Part(name, outline, openings, source=Source("bench.dxf", layer))


FRAME = part("frame", rectangle(0, 0, 420, 832), rectangle(20, 20, 400, 812))
SHELF = part("shelf", rectangle(500, 0, 1342, 320), layer="shelves [1]")


def measured(text: str) -> Job:
    """The text after the maker has measured the sheet."""
    assert text.count("# measured_thickness") == 1
    return parse(text.replace("# measured_thickness", "measured_thickness"), "job.toml")


def test_nothing_but_the_measured_thickness_is_wanting() -> None:
    text = starting_job("Potting bench", [Drawing("bench.dxf", (FRAME, SHELF))])
    with pytest.raises(InputError) as refusal:
        parse(text, "job.toml")
    (finding,) = refusal.value.findings
    assert finding.message == "sheet.measured_thickness is missing"
    assert finding.remedy.startswith("Measure the sheet with a calliper in several places and write")
    assert finding.line == text.splitlines().index("[sheet]") + 1
    job = measured(text)
    assert job.title == "Potting bench"
    assert job.drawings.files == ("bench.dxf",)
    assert job.drawings.unit is None
    assert job.layers == {}


def test_every_part_has_a_row_with_its_size_and_a_point_in_its_wood() -> None:
    text = starting_job("Bench", [Drawing("bench.dxf", (FRAME, SHELF))])
    frame, shelf = measured(text).part
    assert (frame.name, shelf.name) == ("frame", "shelf")
    assert 'name = "frame"   # 420 x 832' in text
    assert "(the parts drawn cover 1342 x 832)" in text
    assert frame.at is not None
    x, y = frame.at
    assert 0 < x < 420
    assert 0 < y < 832
    assert not (20 < x < 400 and 20 < y < 812)


def test_a_point_in_the_wood_keeps_clear_of_a_through_hole() -> None:
    disc = Part("disc", circle((0, 0), 100), holes=(Hole((0, 0), 60),))
    x, y = disc.spot()
    assert 30 < (x * x + y * y) ** 0.5 < 50


def test_the_same_name_twice_gets_a_number() -> None:
    drawings = [Drawing("a.dxf", (FRAME, part("Frame", rectangle(0, 0, 9, 9)))), Drawing("b.dxf", (FRAME,))]
    rows = measured(starting_job("Bench", drawings)).part
    assert [(row.name, row.drawing) for row in rows] == [
        ("frame", "a.dxf"),
        ("Frame 2", "a.dxf"),
        ("frame 3", "b.dxf"),
    ]


def test_awkward_names_still_give_a_file_that_loads() -> None:
    odd = part('a "quoted"\nname \\ 1', rectangle(0, 0, 9, 9), layer='lay"er\t*')
    nameless = part(" ", rectangle(20, 0, 29, 9), layer="")
    job = measured(starting_job('Bench\n"two"', [Drawing("C:\\drawings\\bench.dxf", (odd, nameless))]))
    assert job.title == 'Bench "two"'
    assert job.drawings.files == ("C:\\drawings\\bench.dxf",)
    assert [row.name for row in job.part] == ['a "quoted" name \\ 1', "part"]


def test_the_layers_found_stand_ready_as_comments() -> None:
    text = starting_job("Bench", [Drawing("bench.dxf", (FRAME, SHELF))])
    assert '# "outline" = "profile"' in text
    ready = re.sub('# ("outline"|"shelves|"pocket)', r"\1", text)
    assert [(rule.pattern, rule.meaning) for rule in measured(ready).layer_rules()] == [
        ("outline", "profile"),
        ("shelves [[]1]", "profile"),
        ("pocket*", "pocket"),
    ]


@pytest.mark.parametrize(
    ("unit_from", "said", "unit"),
    [
        ("given", 'was read in inch, as given\nunit = "inch"', "inch"),
        ("header", "was read in inch, the file says so\n# unit", None),
        ("guessed", "was read in inch, guessed: CHECK a size\n# unit", None),
    ],
)
def test_only_a_unit_that_was_given_is_written_down(unit_from: str, said: str, unit: str | None) -> None:
    text = starting_job("Bench", [Drawing("bench.dxf", (FRAME,), "inch", unit_from)])
    assert said in text
    assert measured(text).drawings.unit == unit


def test_without_drawings_the_text_loads_too() -> None:
    job = measured(starting_job("Bench", []))
    assert job.drawings.files == ()
    assert job.part == ()


def test_every_commented_line_of_a_key_is_a_key_of_the_job_file() -> None:
    """Taking the sign away from every offered key gives a job that loads."""
    text = starting_job("Bench", [Drawing("bench.dxf", (FRAME, SHELF))])
    offered = [
        line[2:] if line.startswith("# ") and (" = " in line or line.startswith("# [[")) else line
        for line in text.splitlines()
    ]
    names = {"end frame, outer": "frame", "end frame, inner": "shelf"}
    taken = re.sub("|".join(names), lambda name: names[name[0]], "\n".join(offered))
    job = parse(taken, "job.toml")
    assert job.sheet[0].measured_thickness == (17.6, 17.7, 17.6)
    assert job.glue_up[0].layers == ("frame", "shelf")
    assert job.sheet[0].drawn_thickness == 18
    assert (job.cutter[0].cutting_length, job.cutter[0].pass_depth) == (25, 6)


def test_meanings_read_from_names_of_layers_stand_in_comments_until_they_are_wanted() -> None:
    pocket = LayerRule("Pocket 6", "pocket", 6.0)
    text = starting_job("Bench", [Drawing("bench.dxf", (FRAME,), offers=(pocket,))])
    assert measured(text).layers == {}
    (line,) = [line for line in text.splitlines() if "Pocket 6" in line]
    assert measured(text.replace(line, line.removeprefix("# "))).layer_rules() == (pocket,)
