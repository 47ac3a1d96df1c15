"""The reference page is what the model gives, and its example is a job."""

from __future__ import annotations

import pathlib
import subprocess
import sys
import tomllib
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from camkit.job.describe import reference_page
from camkit.job.example import EXAMPLE, TWO_SHEETS
from camkit.job.load import load, parse
from camkit.job.model import Feature, Job, Measured

ROOT = pathlib.Path(__file__).parent.parent.parent


def tables() -> dict[str, type[BaseModel]]:
    """Every table of the job file by its key."""
    found: dict[str, type[BaseModel]] = {"": Job, "layers.x": Feature, "fit.measured": Measured}
    for name, field in Job.model_fields.items():
        models: list[Any] = [field.annotation, *get_args(field.annotation)]
        for model in models:
            if isinstance(model, type) and issubclass(model, BaseModel):
                found[name] = model
    return found


EXAMPLES = [
    (table, key, example)
    for table, model in tables().items()
    for key, field in model.model_fields.items()
    if (table, key) != ("", "layers")
    for example in field.examples or ()
]


def test_the_committed_page_is_what_the_model_gives() -> None:
    page = (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8")
    assert page == reference_page(), "run: python -m camkit.job.describe > docs/job-file.md"


def test_the_module_prints_the_page() -> None:
    command = [sys.executable, "-m", "camkit.job.describe"]
    ran = subprocess.run(command, capture_output=True, cwd=ROOT, check=True)
    assert ran.stdout.decode("utf-8").replace("\r\n", "\n") == reference_page()


def test_every_key_is_on_the_page_with_a_description() -> None:
    page = reference_page()
    for table, model in tables().items():
        for key, field in model.model_fields.items():
            assert field.description, f"{table}.{key}"
            written = f"[{key}]" if table == "" and key != "title" else f"| `{key}` |"
            assert written in page


def test_the_example_is_a_job_and_uses_every_table() -> None:
    job = parse(EXAMPLE, "job.toml")
    assert f"```toml\n{EXAMPLE}```" in reference_page()
    assert set(tomllib.loads(EXAMPLE)) == set(Job.model_fields)
    assert job.sheet[0].thickness == pytest.approx(17.6)
    assert job.machine.ranges() == ((0.0, 2500.0), (0.0, 1300.0), (-60.0, 60.0))


def test_the_example_of_two_sheets_is_a_job_in_place_of_the_one_sheet() -> None:
    rest = EXAMPLE[EXAMPLE.index("[machine]") :]
    job = parse(TWO_SHEETS + rest, "job.toml")
    assert f"```toml\n{TWO_SHEETS}```" in reference_page()
    assert [job.sheet_of(row).name for row in job.part] == ["birch 12", *["birch 18"] * 3]


@pytest.mark.parametrize(("table", "key", "example"), EXAMPLES)
def test_every_example_of_a_key_loads(table: str, key: str, example: str) -> None:
    data: dict[str, Any] = {
        "sheet": {"measured_thickness": 17.6},
        "cutter": [{"number": 1, "diameter": 6}],
        "layers": {"x": {}},
    }
    wanted: dict[str, dict[str, Any]] = {
        "part": {"name": "shelf"},
        "joint": {"tenon": "shelf", "mortise": "end"},
        "glue_up": {"name": "end", "layers": ["a", "b"]},
        "keep_out": {"kind": "clamp", "at": [50, 50], "diameter": 20, "height": 5},
    }
    if key == "box":
        del wanted["keep_out"]["at"], wanted["keep_out"]["diameter"]
    row = tomllib.loads(f"{key} = {example}")
    if table == "":
        data |= row
    elif table == "layers.x":
        data["layers"]["x"] = row
    elif table == "fit.measured":
        data["fit"] = {"measured": {"cut_for": 17.6, "cutter": 6, **row}}
    elif isinstance(data.get(table), list) or table in wanted:
        data[table] = [{**wanted.get(table, {}), **data.get(table, [{}])[0], **row}]
    else:
        data[table] = {**data.get(table, {}), **row}
    if table != "layers.x":
        del data["layers"]
    Job.model_validate(data)


def test_the_potting_bench_of_the_fixtures_is_a_job() -> None:
    job = load(ROOT / "fixtures" / "potting-bench" / "job.toml")
    assert job.title == "Potting bench"
    assert [glue_up.name for glue_up in job.glue_up] == ["left end", "right end"]
