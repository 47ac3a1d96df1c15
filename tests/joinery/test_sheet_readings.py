"""What readings of a sheet say, by published bands of sanded plywood."""

from __future__ import annotations

import pytest
from support.fitting import fit_one_sheet

from camkit.errors import InputError
from camkit.geometry.path import rectangle
from camkit.job.model import Sheet
from camkit.joinery.sheet_readings import cannot_fit, nominal_near, readings_told, sanded_band
from camkit.part import Part


def sheet(*readings: float, drawn: float | None = 18.0, **more: object) -> Sheet:
    return Sheet.model_validate({"measured_thickness": readings, "drawn_thickness": drawn, **more})


def told(board: Sheet) -> list[tuple[str, str]]:
    return [(finding.level, finding.rule) for finding in readings_told(board)]


@pytest.mark.parametrize(
    ("nominal", "over", "under"),
    [(12, 0.56, 0.76), (15, 0.65, 0.85), (18, 0.74, 0.94), (21, 0.83, 1.03), (24, 0.92, 1.12)],
)
def test_bands_of_sanded_panels_are_those_of_the_table(nominal, over, under):
    """GB/T 9846 table 2 (plywoodsupplier.cn), worked out for each thickness."""
    assert sanded_band(nominal) == pytest.approx((nominal - under, nominal + over))


@pytest.mark.parametrize(("nominal", "over", "under"), [(12, 0.5, 0.7), (18, 0.7, 0.9), (30, 1.1, 1.3)])
def test_a_birch_makers_table_is_the_band_cut_to_tenths(nominal, over, under):
    """plyterra.com, size and tolerances: the maker prints the band cut after one decimal."""
    low, high = sanded_band(nominal)
    assert int(round((high - nominal) * 1000) / 100) / 10 == over
    assert int(round((nominal - low) * 1000) / 100) / 10 == under


@pytest.mark.parametrize(
    ("nominal", "mean", "lower", "upper"),
    [
        (6.5, 6.4, 6.1, 6.9),
        (9, 9.2, 8.8, 9.5),
        (12, 12.0, 11.5, 12.5),
        (15, 14.9, 14.3, 15.3),
        (18, 17.7, 17.1, 18.1),
        (21, 20.5, 20.0, 20.9),
        (24, 23.4, 22.9, 23.7),
        (30, 29.4, 28.7, 29.9),
    ],
)
def test_real_birch_sheets_are_known_by_their_mean_and_limits(nominal, mean, lower, upper):
    """A birch maker's datasheet (vdocuments.site, average, lower and upper limit); printed to tenths."""
    low, high = sanded_band(nominal)
    assert low - 0.05 <= lower
    assert upper <= high + 0.05
    assert nominal_near(mean) == f"{nominal:g} mm"


def test_a_sheet_in_inches_is_known_by_its_category():
    """PS 1: performance category 3/4 in is 0.719 to 0.781 in; 19.05 lies in no metric band."""
    assert nominal_near(19.05) == "23/32 in"
    assert nominal_near(19.5) == "3/4 in"
    assert nominal_near(10.0) is None


def test_good_readings_raise_no_doubt():
    assert told(sheet(17.6, 17.7, 17.6, 17.5)) == []
    assert told(sheet(17.6, drawn=None)) == []


def test_a_wide_spread_is_more_than_one_panel_may_have():
    (said,) = readings_told(sheet(17.3, 17.6, 17.95))
    assert (said.level, said.rule, said.amount_mm) == ("warning", "sheet-spread", pytest.approx(0.65))
    assert "one end of the sheet" in said.remedy
    assert told(sheet(17.3, 17.6, 17.9)) == []


def test_few_readings_are_told():
    (one,) = readings_told(sheet(17.6))
    assert (one.level, one.rule) == ("warning", "sheet-readings")
    assert "spread is unknown, 0.6 mm is assumed" in one.message
    assert told(sheet(17.6, 17.7)) == [("note", "sheet-readings")]


def test_a_mean_outside_the_band_asks_for_another_thickness():
    (said,) = readings_told(sheet(17.0, 17.05, 17.04))
    assert (said.level, said.rule) == ("warning", "sheet-band")
    assert "17.06 to 18.74; another nominal thickness" in said.message
    (said,) = readings_told(sheet(10.0, drawn=None))
    assert "no nominal thickness" in said.message
    assert told(sheet(10.0, drawn=None, material="acrylic")) == []


def test_a_reading_in_inches_is_one_error_with_the_text_to_write(job):
    (said,) = fit_one_sheet([Part("end", rectangle(0, 0, 400, 300))], job(measured=0.75)).findings
    assert (said.level, said.rule, said.remedy) == (
        "error",
        "sheet-inches",
        'Write inches as text, "0.75 in"',
    )
    assert "a reading in inches?" in said.message
    with pytest.raises(InputError, match=r"0\.75 mm is thinner than any plywood, the drawing is for 18 mm"):
        readings_told(sheet(0.75))
    assert told(sheet(0.75, drawn=None)) == [("warning", "sheet-inches")]
    assert cannot_fit(sheet(0.75, 19)).rule == "sheet-inches"
    drawn = cannot_fit(sheet(17.6, drawn=0.75))
    assert drawn.message.startswith("sheet.drawn_thickness: 0.75 mm is thinner")


def test_a_sheet_of_another_nominal_thickness_is_named():
    said = cannot_fit(sheet(15.0))
    assert (said.level, said.rule) == ("error", "redraw")
    assert "as sheets sold as 15 mm do" in said.message
    assert cannot_fit(sheet(19.0)) is None
    assert told(sheet(15.0)) == []  # said once
