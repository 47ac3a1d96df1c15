"""Several programs of one sheet in running order: each is judged knowing what those before it cut."""

from __future__ import annotations

from support.router import Router, job, placed, plate

from camkit.errors import Finding
from camkit.part import Hole
from camkit.simulation.judge import judge
from camkit.simulation.situation import Situation

SHELF = plate(50, 50, holes=(Hole((150.0, 100.0), 11.0),))
HOLE = Router().bore((150.0, 100.0), 11.0).text()
OUTLINE = Router().around(50, 50, 250, 150).text()


def errors(*texts: str) -> list[list[Finding]]:
    """Of each program, run after those before it; the last must leave the part whole."""
    found, before = [], ()
    for k, text in enumerate(texts):
        said = judge(
            text,
            placed(SHELF),
            job(),
            sheet_size=(400.0, 300.0),
            thickness=18.0,
            situation=Situation(before, more_follow=k < len(texts) - 1),
        )
        before = (*before, said.reading)
        found.append([f for f in said.verdict.findings if f.level == "error"])
    return found


def rules(*texts: str) -> list[list[str]]:
    return [[f.rule for f in one] for one in errors(*texts)]


def test_what_is_left_is_told_of_the_last_program_alone() -> None:
    assert rules(HOLE, OUTLINE) == [[], []]
    assert rules(OUTLINE) == [["missing-hole"]]
    assert rules(HOLE) == [["uncut"]]


def test_a_rapid_may_go_where_an_earlier_program_has_been_but_no_deeper() -> None:
    into = OUTLINE.replace("M5", "G0 X150 Y100\nG0 Z-10\nG0 Z15\nM5")
    assert rules(HOLE, into) == [[], []]
    assert rules(into)[0][0] == "rapid-plunge"
    beside = OUTLINE.replace("M5", "G0 X150 Y106\nG0 Z-10\nG0 Z15\nM5")
    _, (finding, *_) = errors(HOLE, beside)
    assert finding.rule in ("rapid-plunge", "gouge")
    assert beside.splitlines()[(finding.line or 0) - 1] in ("G0 Z-10", "G0 X150 Y106")


def test_a_part_that_an_earlier_program_freed_is_not_cut_again() -> None:
    """Without tabs the outline frees the shelf; the hole is then bored in a loose part."""
    free = Router().around(50, 50, 250, 150, tabs=0).text()
    (first, second) = errors(free, HOLE)
    assert [f.rule for f in first] == ["loose-part"] and "nothing holds the part" in first[0].message
    assert [f.rule for f in second] == ["loose-part"]
    assert second[0].message.startswith("a program before this one cuts the part free, and line ")
    assert HOLE.splitlines()[(second[0].line or 0) - 1].startswith("G")
    assert rules(HOLE, free) == [[], ["loose-part"]]


def test_an_earlier_programs_faults_are_not_told_again() -> None:
    bitten = Router(bite=0.3).bore((150.0, 100.0), 11.0).text()
    first, second = rules(bitten, OUTLINE)
    assert "gouge" in first and second == []


def test_findings_name_the_lines_and_cuts_of_their_own_program() -> None:
    marked = OUTLINE.replace(
        "G0 Z15\nM5", "G0 Z15\n(CUT 2 HOLE SHELF 1)\nG0 X150 Y120\nG1 Z-3 F900\nG0 Z15\nM5"
    )
    _, (finding,) = errors(HOLE, marked)
    assert finding.rule == "gouge"
    assert marked.splitlines()[(finding.line or 0) - 1] == "G1 Z-3 F900"
