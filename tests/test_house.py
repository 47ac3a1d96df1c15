"""The house stays as it was drawn: who may use whom, no circles, no oversized file, a light `--help`."""

from __future__ import annotations

import ast
import pathlib
import subprocess
import sys
from collections.abc import Iterable, Mapping

import pytest

ROOT = pathlib.Path(__file__).parent.parent
LONGEST_FILE = 400

# What each room may use besides itself and the bare version number. `program` is the writer,
# `program.read` the reader with the motions it gives: the judge may use the one and never the other.
MAY_USE: dict[str, set[str]] = {
    "errors": set(),
    "geometry": {"errors"},
    "part": {"geometry"},
    "cut": {"geometry"},
    "job": {"part", "errors"},
    "drawing": {"part", "geometry", "errors"},
    "joinery": {"job", "part", "geometry", "errors"},
    "layout": {"job", "part", "geometry", "errors"},
    "toolpath": {"job", "part", "cut", "geometry", "errors"},
    "program": {"job", "cut", "geometry", "errors"},
    "program.read": {"geometry", "errors"},
    "simulation": {"program.read", "job", "part", "geometry", "errors"},
}
_LINE = set(MAY_USE)
MAY_USE["pipeline"] = _LINE
MAY_USE["report"] = _LINE | {"pipeline"}
MAY_USE["cli"] = _LINE | {"pipeline", "report"}
MAY_USE["__main__"] = {"cli"}

# Libraries with one home: nobody else may lean on them.
ONLY_IN: dict[str, set[str]] = {
    "click": {"cli"},
    "ezdxf": {"drawing"},
    "pydantic": {"job"},
    "pydantic_core": {"job"},
    "pyclipper": {"geometry"},
    "fontTools": {"drawing"},
    "resvg_py": {"report"},
    "rich": {"cli", "report"},
}
NO_LIBRARIES = {"errors", "part", "cut"}  # the values that travel need nothing but Python
HEAVY = [
    *("ezdxf", "shapely", "numpy", "pydantic", "rich", "reportlab", "trimesh", "pyclipper"),
    *("svgelements", "resvg_py", "fontTools"),
]


def sources() -> dict[str, str]:
    """Every file of the package by its module's name."""
    found = {}
    for file in sorted((ROOT / "camkit").rglob("*.py")):
        steps = file.relative_to(ROOT).with_suffix("").parts
        name = ".".join(steps[:-1] if steps[-1] == "__init__" else steps)
        found[name] = file.read_text(encoding="utf-8")
    return found


def room(module: str) -> str:
    """The room of the house that a module belongs to; "" is the package's own front door."""
    steps = module.split(".")[1:]
    if steps[:1] == ["program"] and len(steps) > 1 and (steps[1].startswith("read") or steps[1] == "motion"):
        return "program.read"
    return steps[0] if steps else ""


def imported(source: str, module: str, known: Iterable[str]) -> set[str]:
    """Modules that a source imports, anywhere in it; a name taken from a package counts as its module."""
    modules = set(known)
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                around = module.split(".") if module in packages(modules) else module.split(".")[:-1]
                around = around[: len(around) - node.level + 1]
                base = ".".join([*around, *([node.module] if node.module else [])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                found.add(inner if inner in modules else base)
    return found


def packages(modules: Iterable[str]) -> set[str]:
    return {module.rpartition(".")[0] for module in modules}


def wrong_arrows(files: Mapping[str, str]) -> list[str]:
    """Imports that the table does not allow, as "importer uses imported"."""
    wrong = []
    for module, source in files.items():
        home = room(module)
        for used in sorted(imported(source, module, files)):
            top = used.split(".")[0]
            if top != "camkit":
                stranger = top in ONLY_IN and home not in ONLY_IN[top]
                heavy = home in NO_LIBRARIES and top not in sys.stdlib_module_names
                if stranger or heavy:
                    wrong.append(f"{module} uses {used}")
            elif room(used) not in {home, "", *MAY_USE.get(home, set())}:
                wrong.append(f"{module} uses {used}")
    return wrong


def unknown_rooms(files: Mapping[str, str]) -> list[str]:
    return sorted({room(module) for module in files} - {"", *MAY_USE})


def circle(files: Mapping[str, str]) -> list[str]:
    """The modules of one import circle, or nothing."""
    arrows = {name: sorted(imported(text, name, files) & set(files) - {name}) for name, text in files.items()}
    done: set[str] = set()

    def visit(module: str, trail: list[str]) -> list[str]:
        if module in trail:
            return [*trail[trail.index(module) :], module]
        if module in done:
            return []
        for used in arrows[module]:
            if found := visit(used, [*trail, module]):
                return found
        done.add(module)
        return []

    return next((found for module in arrows if (found := visit(module, []))), [])


def too_long(files: Mapping[str, str]) -> list[str]:
    return [name for name, source in files.items() if len(source.splitlines()) > LONGEST_FILE]


def test_every_room_is_in_the_table() -> None:
    assert unknown_rooms(sources()) == []


def test_arrows_point_only_where_the_table_allows() -> None:
    assert wrong_arrows(sources()) == []


def test_no_two_files_import_each_other_even_by_a_detour() -> None:
    assert circle(sources()) == []


def test_no_file_is_too_long() -> None:
    assert too_long(sources()) == []


def test_the_table_itself_points_one_way() -> None:
    """No room may use one that may use it, by whatever detour."""
    rooms = {f"camkit.{room.replace('program.read', 'reader')}": used for room, used in MAY_USE.items()}
    files = {
        name: "\n".join(f"import camkit.{room.replace('program.read', 'reader')}" for room in sorted(used))
        for name, used in rooms.items()
    }
    assert circle(files) == []


@pytest.mark.parametrize(
    ("module", "line"),
    [
        ("camkit.simulation.judge", "from camkit.toolpath.plan import plan"),
        ("camkit.simulation.judge", "from camkit.cut import Cut"),
        ("camkit.simulation.judge", "import camkit.program.write"),
        ("camkit.simulation.judge", "def f():\n    from camkit.program import write"),
        ("camkit.simulation.judge", "from ..program import write"),
        (
            "camkit.simulation.judge",
            "if TYPE_CHECKING:\n    import camkit.cut",
        ),
        ("camkit.program.write", "from camkit.program.read import read"),
        ("camkit.program.read_block", "from camkit.program.write import text"),
        ("camkit.geometry.offset", "from camkit.part import Part"),
        ("camkit.errors", "import camkit.geometry.path"),
        ("camkit.job.load", "from camkit.drawing import read"),
        ("camkit.pipeline", "import camkit.report.page"),
        ("camkit.part", "import shapely"),
        ("camkit.layout.place", "from ezdxf.math import Vec2"),
    ],
)
def test_the_arrow_check_sees_a_forbidden_import(module: str, line: str) -> None:
    files = {
        **dict.fromkeys(["camkit", "camkit.program", "camkit.program.write", "camkit.simulation"], ""),
        module: line,
    }
    assert len(wrong_arrows(files)) == 1


@pytest.mark.parametrize(
    ("module", "line"),
    [
        (
            "camkit.simulation.judge",
            "from camkit.program.read import read\nimport camkit.program.motion",
        ),
        ("camkit.simulation.judge", "import shapely\nfrom camkit import __version__"),
        ("camkit.joinery.fit", "from . import relief"),
    ],
)
def test_the_arrow_check_lets_an_allowed_import_pass(module: str, line: str) -> None:
    files = {"camkit": "", "camkit.joinery": "", "camkit.joinery.relief": "", module: line}
    assert wrong_arrows(files) == []


def test_the_room_check_sees_a_room_without_a_row() -> None:
    assert unknown_rooms({"camkit": "", "camkit.attic": "", "camkit.job.load": ""}) == ["attic"]


def test_the_circle_check_sees_a_detour_and_an_import_inside_a_function() -> None:
    files = {
        "camkit.a": "import camkit.b",
        "camkit.b": "def f():\n    from camkit import c",
        "camkit.c": "from camkit.a import x",
        "camkit": "",
    }
    assert circle(files) == ["camkit.a", "camkit.b", "camkit.c", "camkit.a"]
    assert circle({**files, "camkit.c": ""}) == []


def test_the_length_check_sees_one_line_too_many() -> None:
    assert too_long({"camkit.a": "x\n" * LONGEST_FILE, "camkit.b": "x\n" * (LONGEST_FILE + 1)}) == [
        "camkit.b"
    ]


def heavy_after(code: str) -> list[str]:
    """Heavy libraries loaded in a fresh interpreter that ran `code`."""
    ask = f"\nimport sys\nprint('LOADED', *sorted(set({HEAVY!r}) & set(sys.modules)))"
    ran = subprocess.run(
        [sys.executable, "-c", code + ask], capture_output=True, text=True, cwd=ROOT, check=True
    )
    return ran.stdout.splitlines()[-1].split()[1:]


def test_help_loads_no_heavy_library() -> None:
    assert heavy_after("from camkit.cli import main\nmain(['--help'], standalone_mode=False)") == []


def test_the_help_check_sees_a_heavy_library() -> None:
    assert heavy_after("import camkit.job.model") != []
