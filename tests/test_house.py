"""The house keeps its own rules: imports, sizes, names at the top, pins, the test line."""

import ast
import graphlib
import json
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
PACKAGES = ("sim", "grader", "lessons")
FORBIDDEN = {"sim": {"grader", "lessons"}, "grader": {"lessons"}, "lessons": set()}
AT_THE_TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", *PACKAGES, "tests"}
LONGEST = 400  # lines a module; beyond it is probably two things
PIN = re.compile(
    r"(?P<name>[a-z0-9]+(-[a-z0-9]+)*)==(?P<version>[0-9][0-9a-z.]*)(?: ; (?P<marker>[^;]+))?"
)


# What the checks look at


def modules(top: Path) -> dict[str, Path]:
    """Give every module of the three packages below `top`: dotted name to file."""
    found = {}
    for package in PACKAGES:
        for path in sorted((top / package).rglob("*.py")):
            parts = path.relative_to(top).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imported(name: str, path: Path, known: dict[str, Path]) -> Iterator[str]:
    """Give what module `name` imports, anywhere in it; a name that is a module counts as one."""
    package = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(ast.parse(path.read_bytes(), filename=str(path))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) + 1 - node.level] if node.level else []
            source = ".".join([*above, *(node.module or "").split(".")]).strip(".")
            for alias in node.names:
                inner = f"{source}.{alias.name}"
                yield inner if inner in known else source


def wrong_ways(top: Path) -> list[str]:
    """Give every import that goes against sim <- grader <- lessons, as "module imports module"."""
    known = modules(top)
    return [
        f"{name} imports {target}"
        for name, path in known.items()
        for target in imported(name, path, known)
        if target.split(".")[0] in FORBIDDEN[name.split(".")[0]]
    ]


def cycle(top: Path) -> list[str]:
    """Give one import cycle as a list of modules, or an empty list."""
    known = modules(top)
    graph = {
        name: {target for target in imported(name, path, known) if target in known} - {name}
        for name, path in known.items()
    }
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        return list(error.args[1])
    return []


def files() -> list[Path]:
    """Give every file that git tracks or would take up, relative to the top."""
    git = shutil.which("git")
    assert git, "needs git on the PATH"
    listing = [git, "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    shown = subprocess.run(listing, cwd=TOP, check=True, capture_output=True, text=True).stdout
    return [Path(name) for name in shown.split("\0") if name and (TOP / name).exists()]


def pins() -> dict[str, str]:
    """Give the constraints file as name to version; a line that is no plain pin fails."""
    found = {}
    for line in (TOP / ".constraints.txt").read_text("utf-8").splitlines():
        if not line.startswith("#"):
            pin = PIN.fullmatch(line)
            assert pin, f".constraints.txt: not of the form name==version: {line!r}"
            assert pin["name"] not in found, f".constraints.txt: {pin['name']} is pinned twice"
            found[pin["name"]] = pin["version"]
    return found


def normal(requirement: str) -> str:
    """Give the name in a requirement as the constraints file writes it."""
    return re.sub(r"[-_.]+", "-", re.split(r"[^A-Za-z0-9._-]", requirement)[0]).lower()


def project() -> dict[str, dict]:
    """Give pyproject.toml."""
    return tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))


# The checks themselves see what they should


@pytest.fixture
def planted(tmp_path: Path) -> Path:
    """Give a top folder with the three packages, each holding one innocent module."""
    for package in PACKAGES:
        (tmp_path / package / "inner").mkdir(parents=True)
        (tmp_path / package / "__init__.py").write_text("")
        (tmp_path / package / "inner" / "__init__.py").write_text("")
        (tmp_path / package / "inner" / "plain.py").write_text("import math\n")
    return tmp_path


@pytest.mark.parametrize(
    "line",
    [
        "import grader",
        "import grader.inner.plain as plain",
        "from grader.inner import plain",
        "def late():\n    from lessons import inner",
    ],
)
def test_an_import_against_the_direction_is_seen(planted: Path, line: str) -> None:
    (planted / "grader" / "up.py").write_text("import sim.inner\nfrom sim import inner\n")
    assert wrong_ways(planted) == []
    (planted / "sim" / "inner" / "plain.py").write_text(line + "\n")
    assert len(wrong_ways(planted)) == 1


@pytest.mark.parametrize(
    "line", ["from ..two import x", "from .. import two", "import sim.two", "from sim import two"]
)
def test_a_cycle_is_seen(planted: Path, line: str) -> None:
    (planted / "sim" / "two.py").write_text("import sim.inner.plain\n")
    assert cycle(planted) == []
    (planted / "sim" / "inner" / "plain.py").write_text(line + "\n")
    assert set(cycle(planted)) == {"sim.two", "sim.inner.plain"}


# The rules


@pytest.mark.parametrize("package", PACKAGES)
def test_each_package_is_there(package: str) -> None:
    assert package in modules(TOP)


def test_imports_go_one_way() -> None:
    assert wrong_ways(TOP) == []


def test_no_module_imports_itself_by_a_detour() -> None:
    assert cycle(TOP) == []


def test_every_module_has_a_docstring() -> None:
    paths = [*modules(TOP).values(), *(TOP / "tests").rglob("*.py")]
    bare = [path for path in paths if not ast.get_docstring(ast.parse(path.read_bytes()))]
    assert [str(path.relative_to(TOP)) for path in bare] == []


def test_no_module_is_two_things() -> None:
    lengths = {name: len(path.read_bytes().splitlines()) for name, path in modules(TOP).items()}
    assert {name: n for name, n in lengths.items() if n > LONGEST} == {}


def test_the_top_level_holds_only_what_belongs_there() -> None:
    names = {path.parts[0] for path in files()}
    assert {name for name in names if not name.startswith(".")} <= AT_THE_TOP
    assert {"README.md", "pyproject.toml", "LICENSE", "tests"} <= names


def test_notebooks_are_stored_without_outputs() -> None:
    ran = [
        str(path)
        for path in files()
        if path.suffix == ".ipynb"
        for cell in json.loads((TOP / path).read_text("utf-8"))["cells"]
        if cell.get("outputs") or cell.get("execution_count") is not None
    ]
    assert ran == []


def test_the_readme_starts_with_the_job() -> None:
    title, first, *_ = (TOP / "README.md").read_text("utf-8").split("\n\n")
    assert title == "# halfsplit"
    assert re.match(r"[A-Z]\w* .*\.$", first, re.DOTALL), f"not a paragraph: {first!r}"


@pytest.mark.skipif(sys.platform == "win32", reason="the script is for Debian, and needs bash")
def test_ci_runs_the_line_that_the_readme_gives() -> None:
    readme = (TOP / "README.md").read_text("utf-8")
    found = re.findall(r"^<!-- test line -->\n```bash\n(.+)\n```$", readme, re.MULTILINE)
    assert len(found) == 1
    bash = shutil.which("bash")
    assert bash, "needs bash on the PATH"
    script = [bash, ".ci/run", "--print"]
    shown = subprocess.run(script, cwd=TOP, check=True, capture_output=True, text=True).stdout
    assert shown == found[0] + "\n"
    assert "-c .constraints.txt" in shown
    assert shown.endswith("-m pytest\n")


# Pins


def test_the_constraints_name_no_address_no_path_and_no_hash() -> None:
    text = (TOP / ".constraints.txt").read_text("utf-8")
    assert [mark for mark in ("://", "@", "--hash", "file:", "-i ", "index") if mark in text] == []


def test_every_dependency_is_pinned() -> None:
    asked = project()["project"]
    extras = asked["optional-dependencies"].values()
    wanted = {normal(one) for group in [asked["dependencies"], *extras] for one in group}
    assert wanted - pins().keys() == set()


def test_the_build_uses_the_pinned_setuptools() -> None:
    assert project()["build-system"]["requires"] == [f"setuptools=={pins()['setuptools']}"]


# Linter and types


@pytest.mark.parametrize(
    "tool",
    [("ruff", "check"), ("ruff", "format", "--check"), ("mypy",)],
    ids=" ".join,
)
def test_the_tool_finds_nothing(tool: tuple[str, ...]) -> None:
    command = [sys.executable, "-m", *tool]
    ran = subprocess.run(command, cwd=TOP, check=False, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
