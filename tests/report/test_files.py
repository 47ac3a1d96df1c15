"""What stands in the folder after a run is of that run, whole, and never a refused program."""

from __future__ import annotations

import json
import pathlib
from dataclasses import replace

import pytest

from camkit.errors import InputError
from camkit.pipeline import Result
from camkit.report.aside import put, put_new
from camkit.report.files import set_aside, write, write_page

SOUND = ["potting-bench-1.nc", "preview.html", "report.json", "sheet-1.png", "sheet-1.svg"]


def names(folder: pathlib.Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_a_sound_result_stands_beside_its_report(sound: Result, tmp_path: pathlib.Path) -> None:
    written = write(sound, tmp_path / "new" / "out")
    assert names(tmp_path / "new" / "out") == SOUND
    assert sorted(p.name for p in written) == SOUND
    assert written[-1].name.endswith(".nc"), "the program is written last"
    assert written[-1].read_bytes() == sound.programs[0].text.encode()
    rows = json.loads((tmp_path / "new" / "out" / "report.json").read_text("utf-8"))
    assert rows["programs"][0]["program"] == "potting-bench-1.nc"


def test_a_refused_result_leaves_no_program(refused: Result, tmp_path: pathlib.Path) -> None:
    write(refused, tmp_path)
    assert names(tmp_path) == [
        *("potting-bench-1.refused.txt", "preview.html", "report.json", "sheet-1.png", "sheet-1.svg"),
    ]


def test_an_error_before_the_judge_holds_a_sound_program_back(sound: Result, tmp_path: pathlib.Path) -> None:
    from camkit.errors import Finding

    write(replace(sound, findings=(Finding("error", "no-room", "does not fit"),)), tmp_path)
    assert not list(tmp_path.glob("*.nc"))
    assert (tmp_path / "potting-bench-1.refused.txt").exists()


def test_an_earlier_program_is_renamed_and_its_pages_go(sound: Result, tmp_path: pathlib.Path) -> None:
    write(sound, tmp_path)
    (tmp_path / "potting-bench-1.nc.old").write_text("older still")
    set_aside(tmp_path)
    assert names(tmp_path) == ["potting-bench-1.nc.old"]
    assert (tmp_path / "potting-bench-1.nc.old").read_bytes() == sound.programs[0].text.encode()


def test_after_a_refusal_a_sound_run_clears_the_refused_text(
    sound: Result, refused: Result, tmp_path: pathlib.Path
) -> None:
    write(refused, tmp_path)
    write(sound, tmp_path)
    assert names(tmp_path) == SOUND
    write(refused, tmp_path)
    assert "potting-bench-1.nc" not in names(tmp_path)
    assert "potting-bench-1.nc.old" in names(tmp_path)


def test_files_that_others_made_are_neither_removed_nor_overwritten(
    sound: Result, tmp_path: pathlib.Path
) -> None:
    mine = tmp_path / "sheet-1.svg"
    mine.write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    set_aside(tmp_path)
    assert mine.exists()
    with pytest.raises(InputError, match=r"sheet-1\.svg: was not made by camkit and is kept"):
        write(sound, tmp_path)
    assert names(tmp_path) == ["sheet-1.svg"]
    assert mine.read_text().startswith("<svg xmlns='")


def test_setting_aside_where_nothing_is_does_nothing(tmp_path: pathlib.Path) -> None:
    set_aside(tmp_path / "not yet")
    assert names(tmp_path) == []


def test_a_file_in_the_folders_place_is_said(sound: Result, tmp_path: pathlib.Path) -> None:
    place = tmp_path / "out"
    place.write_text("a file")
    with pytest.raises(InputError, match=r"out: is a file, not a folder\. Name another folder with --out\."):
        set_aside(place)
    with pytest.raises(InputError, match="cannot be written"):
        write(sound, place / "deeper")


def test_a_folder_that_may_not_be_changed_is_said(
    sound: Result, tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forbidden(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(pathlib.Path, "write_bytes", forbidden)
    with pytest.raises(InputError, match=r"cannot be written: Permission denied\. Name another folder"):
        write(sound, tmp_path)


def test_a_file_is_whole_or_as_it_was(tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = put(tmp_path / "a.txt", "before")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pathlib.Path, "replace", full)
    with pytest.raises(InputError, match="No space left on device"):
        put(place, "after")
    assert names(tmp_path) == ["a.txt"]
    assert place.read_text() == "before"


def test_a_new_file_never_takes_the_place_of_another(tmp_path: pathlib.Path) -> None:
    put_new(tmp_path / "deep" / "job.toml", "one")
    with pytest.raises(InputError, match=r"job\.toml: is there already and is kept"):
        put_new(tmp_path / "deep" / "job.toml", "two")
    assert (tmp_path / "deep" / "job.toml").read_text() == "one"


def test_two_runs_write_the_same_bytes(sound: Result, tmp_path: pathlib.Path) -> None:
    one, two = write(sound, tmp_path / "one"), write(sound, tmp_path / "two")
    assert [p.read_bytes() for p in one] == [p.read_bytes() for p in two]


def test_the_preview_alone_goes_where_it_is_wanted(sound: Result, tmp_path: pathlib.Path) -> None:
    place = write_page(sound, tmp_path / "pages" / "bench-preview.html")
    assert place.read_text("utf-8").startswith("<!doctype html>")


def test_programs_of_another_ending_are_written_and_set_aside_too(
    sound: Result, tmp_path: pathlib.Path
) -> None:
    """Only what camkit wrote: the maker's own file of that ending stays."""
    (tmp_path / "own.tap").write_text("(my own)\nM30\n")
    machine = sound.job.machine.model_copy(update={"extension": ".tap"})
    job = sound.job.model_copy(update={"machine": machine})
    programs = tuple(replace(p, text=f"(bench)\n(camkit 0.1.0)\n{p.text}") for p in sound.programs)
    write(replace(sound, job=job, programs=programs), tmp_path)
    assert "potting-bench-1.tap" in names(tmp_path)
    set_aside(tmp_path)
    assert names(tmp_path) == ["own.tap", "potting-bench-1.tap.old"]
