"""The house keeps its shape: imports flow one way, without cycles, and only listed files touch disk, paper or clock."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = ("planner.units", "planner.clock", "planner.faults", "planner.model", "planner.rules", "planner.runs",
         "planner.search", "planner.desk", "planner.sheets", "maps", "cli")  # each imports only from those before it
FOUNDATION = ("planner.faults", "planner.units", "planner.clock")
MAY_TOUCH_DISK = ("cli/", "maps/", "planner/desk/day_book/")
MAY_PRINT_OR_READ_CLOCK = ("cli/",)
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "planner", "maps", "cli", "tests", "demo_data", "LICENSE",
             "CHANGELOG.md"}


def sources() -> dict[str, Path]:
    files = [path for top in ("planner", "maps", "cli") for path in (ROOT / top).rglob("*.py")]
    return {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in files}


SOURCES = sources()


def imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{alias.name}" if f"{node.module}.{alias.name}" in SOURCES else node.module for alias in node.names}
    return {name for name in found if name.split(".")[0] in ("planner", "maps", "cli")}


def room(module: str) -> int:
    return max((rank for rank, name in enumerate(ROOMS) if module == name or module.startswith(name + ".")), default=-1)


def test_imports_flow_from_cli_to_maps_to_planner():
    wrong = [f"{module} imports {other}" for module, path in SOURCES.items() for other in imports(path)
             if room(other) > room(module) and module not in FOUNDATION]
    assert wrong == []


def test_no_import_cycles():
    import networkx as nx

    graph = nx.DiGraph([(module, other) for module, path in SOURCES.items() for other in imports(path)])
    assert [part for part in nx.strongly_connected_components(graph) if len(part) > 1] == []


def test_the_referee_shares_no_code_with_what_it_checks():
    forbidden = ("planner.runs.timing", "planner.runs.costing", "planner.search", "planner.rules.timetable",
                 "planner.rules.hours_clock", "planner.rules.load_plan", "planner.runs.errands", "planner.runs.crew_fit",
                 "planner.runs.driven_legs", "planner.runs.leg_prices", "planner.runs.shift", "planner.runs.sharing")
    wrong = [f"{module} imports {other}" for module, path in SOURCES.items() if module.startswith("planner.runs.referee")
             for other in imports(path) if other.startswith(forbidden)]
    assert wrong == []


def calls(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            names.add(ast.unparse(node.func))
        if isinstance(node, ast.Import | ast.ImportFrom):
            names |= {f"import {alias.name}" for alias in node.names}
            names.add(f"import {getattr(node, 'module', '')}")
    return names


@pytest.mark.parametrize(("what", "allowed"), [
    (("open", "import sqlite3", "import sqlalchemy"), MAY_TOUCH_DISK),
    (("print", "datetime.now", "date.today", "datetime.today", "time.time", "datetime.utcnow"), MAY_PRINT_OR_READ_CLOCK),
])
def test_disk_paper_and_clock_stay_in_their_rooms(what, allowed):
    wrong = [f"{path.relative_to(ROOT)}: {name}" for path in SOURCES.values() for name in calls(path)
             if name in what and not str(path.relative_to(ROOT)).startswith(allowed)]
    assert wrong == []


def test_every_module_opens_with_a_defining_sentence():
    bare = [module for module, path in SOURCES.items() if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))]
    assert bare == []


def test_the_top_level_is_fixed():
    import subprocess

    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()
    if not listed:
        pytest.skip("not a git checkout")
    assert {name.split("/")[0] for name in listed if not name.startswith(".")} <= TOP_LEVEL
