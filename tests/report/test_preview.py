"""The preview is one file that asks for nothing, and shows what the reader found in the text."""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
import math
import pathlib
import re
import shutil
import struct
import subprocess
from dataclasses import replace

import pytest
from support.bench_by_hand import ERRORS, bench

from camkit.pipeline import JudgedProgram, Result
from camkit.program.motion import Motion, Reading
from camkit.report.preview import preview_html
from camkit.report.preview_data import packed_moves
from camkit.simulation.verdict import CutterTime, TimedMotion, Verdict

COLUMNS = 16


@pytest.fixture(scope="module")
def page(refused: Result) -> str:
    return preview_html(refused)


def between(page: str, start: str, end: str) -> str:
    found = re.search(re.escape(start) + "(.*?)" + re.escape(end), page, re.DOTALL)
    assert found is not None
    return found.group(1)


def given(page: str) -> dict[str, list[dict[str, object]]]:
    told: dict[str, list[dict[str, object]]] = json.loads(
        between(page, '<script id="data" type="application/json">', "</script>")
    )
    return told


def unpacked(text: str) -> list[tuple[int, ...]]:
    raw = gzip.decompress(base64.b64decode(text))
    flat = struct.unpack(f"<{len(raw) // 4}i", raw)
    count = len(flat) // COLUMNS
    return list(zip(*(flat[k * count : (k + 1) * count] for k in range(COLUMNS)), strict=True))


def of_motions(*motions: Motion) -> JudgedProgram:
    timing = tuple(TimedMotion(k * 1.5, k * 1.5 + 1.0) for k in range(len(motions)))
    verdict = Verdict(0.0, 0.0, 0.0, (CutterTime(1, 6.0, 0.0),), (), timing, ())
    return JudgedProgram("p", 1, "", Reading(motions), verdict)


def test_the_page_names_no_address_and_no_other_file(page: str) -> None:
    assert not re.search(r"https?:|//[a-z]|\bsrc=|\bhref=|@import|url\(", page)


def test_its_policy_lets_only_the_shipped_style_and_script_in(page: str) -> None:
    """Content Security Policy Level 3: the hash is of the element's exact text."""
    policy = html.unescape(between(page, '<meta http-equiv="Content-Security-Policy" content="', '"'))
    assert policy.startswith("default-src 'none'; ")
    for kind, start, end in (
        ("script", '<script type="module">', "</script>"),
        ("style", "<style>", "</style>"),
    ):
        digest = base64.b64encode(hashlib.sha256(between(page, start, end).encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"\bon[a-z]+=|\bstyle=", between(page, "<body>", '<script id="data"'))


def test_the_verdict_stands_on_top_in_words(page: str, sound: Result) -> None:
    assert "<b>Refused: 2 errors</b>" in page
    assert "<b>Sound, with 1 warning, 2 notes</b>" in preview_html(sound)


def test_packed_moves_give_back_every_motion_to_a_micrometre(sound: Result) -> None:
    program = sound.programs[0]
    rows = unpacked(packed_moves(program))
    assert len(rows) == len(program.reading.motions)
    at, line, clock = [0, 0, 0], 0, 0
    for row, motion, timed in zip(rows, program.reading.motions, program.verdict.timing, strict=True):
        kind, sx, sy, sz, dx, dy, dz, ox, oy, sweep, ahead, cut, feed, cutter, wait, last = row
        start = [at[0] + sx, at[1] + sy, at[2] + sz]
        assert [v / 1000 for v in start] == pytest.approx(motion.start, abs=0.0006)
        at = [start[0] + dx, start[1] + dy, start[2] + dz]
        assert [v / 1000 for v in at] == pytest.approx(motion.end, abs=0.0006)
        if motion.centre:
            assert ((start[0] + ox) / 1000, (start[1] + oy) / 1000) == pytest.approx(
                motion.centre, abs=0.0006
            )
            assert (sweep < 0) == motion.clockwise
        line, clock = line + ahead, clock + wait
        assert line == motion.line
        assert clock / 1e4 == pytest.approx(timed.begins_s, abs=1e-4)
        clock += last
        assert (kind, feed, cutter) == (
            ["rapid", "feed", "arc"].index(motion.kind), motion.feed_mm_min, motion.cutter,
        )  # fmt: skip
        assert 0 <= cut < len(program.reading.marks)


@pytest.mark.parametrize(
    ("end", "turns", "clockwise", "degrees"),
    [
        ((0.0, 10.0, 0.0), 0, False, 90),
        ((0.0, 10.0, 0.0), 0, True, -270),
        ((10.0, 0.0, 0.0), 0, False, 360),
        ((10.0, 0.0, -3.0), 2, True, -1080),
        ((0.0, 10.0, -3.0), 1, False, 450),
    ],
)
def test_an_arc_turns_as_far_as_the_standard_says(
    end: tuple[float, float, float], turns: int, clockwise: bool, degrees: float
) -> None:
    """From (10, 0) about the origin; ending where it starts is a full circle (NISTIR 6556, section 3.5.3)."""
    arc = Motion(1, "arc", (10.0, 0.0, 0.0), end, (0.0, 0.0), clockwise, turns, 100.0)
    sweep = unpacked(packed_moves(of_motions(arc)))[0][9]
    assert sweep / 1e6 == pytest.approx(math.radians(degrees), abs=1e-6)


def test_an_absurd_word_still_gives_a_page() -> None:
    far = Motion(1, "rapid", (0.0, 0.0, 0.0), (1e12, 0.0, 0.0))
    assert len(unpacked(packed_moves(of_motions(far)))) == 1


def test_a_program_without_motions_is_packed_too() -> None:
    assert unpacked(packed_moves(of_motions())) == []


def test_the_same_result_gives_the_same_page(page: str) -> None:
    assert preview_html(bench(errors=ERRORS)) == page


def test_text_from_a_job_can_not_break_out(sound: Result) -> None:
    evil = "</script><script>alert(1)</script> @DATA@ <b>&"
    job = sound.job.model_copy(update={"title": evil})
    part = replace(sound.placed[2].part, name=evil)
    page = preview_html(replace(sound, job=job, placed=(replace(sound.placed[2], part=part),)))
    assert page.count("<script") == 2
    assert f"<h1>{html.escape(evil)}</h1>" in page
    assert given(page)["pieces"][0]["name"] == evil


def test_findings_name_the_move_the_place_and_the_piece(page: str, refused: Result) -> None:
    gouge = given(page)["findings"][0]
    motions = refused.programs[0].reading.motions
    assert motions[gouge["move"]].line == 350
    assert gouge["place"] == [1200.0, 200.0]
    assert gouge["extent"] == pytest.approx([1200.0, 20.0, 2350.0, 400.0])


def test_z_from_the_table_puts_the_sheets_top_at_its_thickness(sound: Result) -> None:
    machine = sound.job.machine.model_copy(update={"zero": "table"})
    job = sound.job.model_copy(update={"machine": machine})
    assert given(preview_html(sound))["programs"][0]["top"] == 0
    assert given(preview_html(replace(sound, job=job)))["programs"][0]["top"] == 17.6


def test_somebody_elses_program_keeps_its_own_name(sound: Result) -> None:
    program = replace(sound.programs[0], name="elsewhere/theirs.tap")
    page = preview_html(replace(sound, cuts=(), programs=(program,)))
    told = given(page)["programs"][0]
    assert told["name"] == "theirs.tap"
    cuts = told["cuts"]
    assert isinstance(cuts, list)
    assert cuts[0] | {"time_s": 0} == {
        "number": 1,
        "kind": "pocket",
        "name": "shelf",
        "first": 0,
        "time_s": 0,
    }


def opened(page: str, folder: pathlib.Path, address: str = "") -> str:
    """The page's elements after a browser has opened it from the disk; skips where there is no browser."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if browser is None:
        pytest.skip("no Chromium is installed to open the page with")
    place = folder / "preview.html"
    place.write_text(page, encoding="utf-8", newline="\n")
    flags = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}")
    return subprocess.run(
        [browser, *flags, "--virtual-time-budget=4000", "--dump-dom", place.as_uri() + address],
        capture_output=True, text=True, timeout=120, check=True,
    ).stdout  # fmt: skip


def test_a_browser_opens_it_and_counts_its_moves(page: str, refused: Result, tmp_path: pathlib.Path) -> None:
    shown = opened(page, tmp_path)
    count = len(refused.programs[0].reading.motions)
    assert f'role="status">ready: {count} moves in {len(refused.cuts)} cuts</span>' in shown
    assert between(shown, 'id="findings-count">', "<") == "5"
    assert between(shown, '<ol id="cuts">', "</ol>").count("<li>") == len(refused.cuts)
    assert between(shown, 'id="cutting">', "<") == f"cut {len(refused.cuts)} profile, tool peg 3"


def test_an_address_opens_it_at_a_line(page: str, refused: Result, tmp_path: pathlib.Path) -> None:
    shown = opened(page, tmp_path, "#line-350")
    x, y, _ = next(m.end for m in refused.programs[0].reading.motions if m.line == 350)
    assert between(shown, 'id="line">', "<") == "350"
    assert between(shown, 'id="x">', "<") == f"{x:.2f}"
    assert between(shown, 'id="y">', "<") == f"{y:.2f}"
    assert between(shown, 'id="deep">', "<") == "through"


def test_a_browser_says_what_it_can_not_show(page: str, tmp_path: pathlib.Path) -> None:
    packed = given(page)["programs"][0]["packed"]
    assert isinstance(packed, str)
    short = base64.b64encode(gzip.compress(b"\0" * 64, mtime=0)).decode()
    assert "cannot show this: the moves are not complete" in opened(page.replace(packed, short), tmp_path)
