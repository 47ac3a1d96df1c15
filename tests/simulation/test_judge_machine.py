"""Rules about machine, cutter, table and the text; and what a verdict sums up."""

import pytest
from support.router import Router, job, placed, plate

from camkit.errors import Finding
from camkit.job.machine import Cutter
from camkit.job.model import Job
from camkit.simulation.judge import judge, judge_air
from camkit.simulation.verdict import Verdict

SHELF = plate(50, 50)
SPIRAL = Cutter(number=1, diameter=6.0)


def verdict(router: Router | str, a_job: Job | None = None, thickness: float = 18.0) -> Verdict:
    text = router if isinstance(router, str) else router.text()
    a_job = a_job or job()
    return judge(text, placed(SHELF), a_job, sheet_size=(400.0, 300.0), thickness=thickness).verdict


def of(rule: str, router: Router | str, a_job: Job | None = None) -> list[Finding]:
    return [f for f in verdict(router, a_job).findings if f.rule == rule]


def sound() -> Router:
    return Router().around(50, 50, 250, 150)


def test_two_mm_in_the_table():
    (finding,) = of("table-cut", sound().say("G0 X300 Y200", "G1 Z-20 F900", "G0 Z15"))
    assert finding.amount_mm == pytest.approx(2.0)
    assert finding.line == len(sound().lines) + 2
    assert finding.z_mm == -20.0
    assert (finding.x_mm, finding.y_mm) == (300.0, 200.0)


@pytest.mark.parametrize(("z", "count"), [(-18.3, 0), (-18.31, 0), (-18.33, 1)])
def test_the_job_says_how_far_into_the_table(z, count):
    text = sound().say("G0 X300 Y200", f"G1 Z{z} F900", "G0 Z15")
    assert len(of("table-cut", text)) == count
    assert of("table-cut", text, job(into_table=0.5)) == []


def test_with_zero_on_the_table_the_table_lies_at_zero():
    text = "G21\nT1 M6\nS18000 M3\nG0 X300 Y200 Z30\nG1 Z-2 F900\nG0 Z30\nM30\n"
    (finding,) = of("table-cut", text, job(zero="table"))
    assert finding.amount_mm == pytest.approx(2.0)


def test_the_spindle_stands():
    stopped = sound().say("M5", "G0 X300 Y200", "G1 Z-3 F900", "G0 Z15")
    (finding,) = of("spindle-stopped", stopped)
    assert finding.line == len(sound().lines) + 3


def test_the_spindle_stands_after_a_cutter_change():
    assert of("spindle-stopped", sound().say("T1 M6", "G0 X300 Y200", "G1 Z-3 F900", "G0 Z15"))


def test_the_spindle_turns_backwards():
    (finding,) = of("spindle-stopped", sound().say("M4", "G0 X300 Y200", "G1 Z-3 F900", "G0 Z15"))
    assert "backwards" in finding.message


def test_above_the_sheet_the_spindle_may_stand():
    assert of("spindle-stopped", sound().say("M5", "G1 X300 F900")) == []


def test_a_feed_is_missing():
    text = "G21\nT1 M6\nS18000 M3\nG0 X300 Y200 Z5\nG1 X310\nM30\n"
    (finding,) = of("no-feed", text)
    assert finding.line == 5


def test_travel_is_judged_where_it_is_stated():
    router = sound().say("G0 X-5", "G0 Y290 Z70", "G0 X100 Z15")
    assert of("out-of-travel", router) == []
    (finding,) = of("out-of-travel", router, job(travel=(400.0, 300.0, 120.0)))
    assert finding.amount_mm == pytest.approx(10.0)
    assert "2 lines" in finding.message
    assert of("out-of-travel", router, job(travel=((-20.0, 480.0), (-10.0, 290.0), (-60.0, 80.0)))) == []


def test_the_bow_of_an_arc_counts_too():
    """A half circle from (390, 100) to (390, 120) bows out to X400."""
    router = sound().say("G0 X390 Y100 Z5", "G3 X390 Y120 I0 J10 F3000")
    (finding,) = of("out-of-travel", router, job(travel=(399.0, 300.0, 120.0)))
    assert finding.amount_mm == pytest.approx(1.0)
    assert (finding.x_mm, finding.y_mm) == (400.0, 110.0)


def test_z_of_travel_counts_from_the_sheets_top_whatever_zero_is():
    text = "G21\nT1 M6\nS18000 M3\nG0 X300 Y200 Z70\nM30\n"
    a_job = job(zero="table", travel=(400.0, 300.0, 120.0))
    assert of("out-of-travel", text, a_job) == []
    (finding,) = of("out-of-travel", text.replace("Z70", "Z80"), a_job)
    assert finding.amount_mm == pytest.approx(2.0)


@pytest.mark.parametrize(("change", "said"), [("T7 M6", "cutter 7 cuts"), ("", "no cutter was taken")])
def test_only_the_jobs_cutters_may_cut(change, said):
    text = f"G21\n{change}\nS18000 M3\nG0 X300 Y200 Z5\nG1 Z-3 F900\nG0 Z5\nM30\n"
    (finding,) = of("wrong-cutter", text)
    assert finding.line == 5
    assert said in finding.message
    assert "the job has 1" in finding.message


def test_edges_must_be_as_long_as_the_cut_is_deep():
    short = Cutter(number=1, diameter=6.0, cutting_length=15.0)
    (finding,) = of("too-deep-for-cutter", sound(), job(short))
    assert finding.amount_mm == pytest.approx(3.2)
    assert of("too-deep-for-cutter", sound(), job(Cutter(number=1, diameter=6.0, cutting_length=18.2))) == []


def test_ramps_plunges_and_drills_may_be_fed_slowly():
    drill = Cutter(number=1, diameter=6.0, kind="drill")
    slow = Router(feed=600).around(50, 50, 250, 150)
    assert of("chip-load", slow)
    assert of("chip-load", slow, job(drill)) == []
    text = "G21\nT1 M6\nS18000 M3\nG0 X300 Y200 Z5\nG1 Z0 F300\nX350 Z-3\nG0 Z5\nM30\n"
    assert of("chip-load", text) == []


def test_a_program_must_end_above_the_sheet():
    text = "\n".join([*sound().lines, "G0 X300 Y200", "G1 Z-3 F900", "M30", ""])
    (finding,) = of("bad-block", text)
    assert finding.amount_mm == 3.0
    assert "ends with the cutter 3.00 mm below" in finding.message


def test_bad_blocks_are_part_of_the_verdict():
    found = of("bad-block", sound().say("G0 X1 E5"))
    assert [f.line for f in found] == [len(sound().lines) + 1]
    assert not verdict(sound().say("G0 X1 E5")).ok


def test_one_fault_on_every_line_does_not_drown_the_rest():
    found = of("bad-block", sound().say(*["G0 X1 ; there"] * 500))
    assert len(found) == 21
    assert "480 lines more" in found[-1].message


def test_arcs_that_do_not_close_are_part_of_the_verdict():
    router = sound().say("G0 X300 Y200", "G2 X310.01 Y200 I5 J0 F3000")
    (finding,) = of("arc-mismatch", router)
    assert finding.amount_mm == pytest.approx(0.01)


# What the verdict sums up.


def test_lengths_times_and_cutters():
    text = (
        "G21\nT1 M6\nS18000 M3\nG0 X0 Y0 Z5\n(CUT 1 HOLE A)\nG1 X50 F3000\nG4 P2\nG0 Y40\n"
        "(CUT 2 PROFILE B 2)\nT2 M6\nS9000 M3\nG1 Z-1 F600\nG0 Z5\nG0 X0 Y0\nM5\nM30\n"
    )
    cutters = (SPIRAL, Cutter(number=2, diameter=3.0))
    judgement = judge(text, (), job(*cutters), sheet_size=(400.0, 300.0), thickness=18.0)
    said = judgement.verdict
    assert said.ok
    assert said.feed_mm == pytest.approx(56.0)
    assert said.rapid_mm == pytest.approx(40 + 6 + (50**2 + 40**2) ** 0.5)
    assert [(c.number, c.diameter_mm) for c in said.cutters] == [(1, 6.0), (2, 3.0)]
    assert sum(c.time_s for c in said.cutters) == pytest.approx(said.time_s)
    assert [(c.number, c.kind, c.name, c.first_line, c.last_line) for c in said.cuts] == [
        (1, "HOLE", "A", 5, 8),
        (2, "PROFILE", "B 2", 9, 14),
    ]
    assert sum(c.time_s for c in said.cuts) == pytest.approx(said.time_s)
    assert len(said.timing) == len(judgement.reading.motions)
    assert said.timing[-1].ends_s == pytest.approx(said.time_s)


def test_findings_of_one_cause_are_folded_by_cut_and_name_the_worst():
    lines = sound().lines
    two_cuts = [
        *lines,
        "(CUT 1 HOLE A)",
        "G0 X60 Y60",
        "G1 Z-1 F900",
        "X61 Z-2",
        "G0 Z5",
        "(CUT 2 HOLE B)",
        "G0 X80 Y60",
        "G1 Z-1 F900",
        "G0 Z5",
    ]
    found = of("gouge", "\n".join([*two_cuts, "M30"]))
    assert [(f.line, f.amount_mm) for f in found] == [(len(lines) + 4, 2.0), (len(lines) + 8, 1.0)]
    assert "2 lines" in found[0].message


def test_any_text_gives_a_verdict():
    for text in ("", "%", "nonsense", "G1 X", "M30", "G21\nG2 X5 Y5 I1 J1 F1\nM2", "\x00" * 50):
        assert isinstance(verdict(text), Verdict)


def test_the_same_text_gives_the_same_verdict():
    assert verdict(sound()) == verdict(sound())


def test_a_program_for_the_air_touches_nothing():
    """Lowest at 18.2 deep: 19.2 higher it keeps a millimetre above the sheet, 18.5 higher it does not."""
    text = "G21\nT1 M6\nS18000 M3\nG0 X300 Y200 Z{0}\nG1 Z{1} F900\nG0 Z{0}\nM5\nM30\n"

    def air(higher: float) -> list[Finding]:
        lines = text.format(15 + higher, round(-18.2 + higher, 4))
        said = judge_air(lines, job(), sheet_size=(400.0, 300.0), thickness=18.0)
        return list(said.verdict.findings)

    assert air(19.2) == []
    (finding,) = air(18.5)
    assert (finding.rule, finding.line) == ("touches-in-air", 5)
    assert finding.message == "only 0.30 mm above the sheet"
    assert finding.remedy == "Run it at least 0.7 mm higher"
    (finding,) = air(10.0)
    assert finding.message.startswith("8.20 mm into the sheet")
    assert "spindle-stopped" not in {f.rule for f in air(19.2)}


def test_where_a_program_stands_before_its_first_place_is_not_judged():
    """The machine reaches from X 40 on; the first line only lifts."""
    reach = ((40.0, 400.0), (40.0, 300.0), (-60.0, 60.0))
    assert of("out-of-travel", sound(), job(travel=reach)) == []
    assert len(of("out-of-travel", sound().say("G0 X0 Y0"), job(travel=reach))) == 1
    high = sound().text().replace("G0 Z15", "G0 Z70", 1)
    assert len(of("out-of-travel", high, job(travel=reach))) == 1
