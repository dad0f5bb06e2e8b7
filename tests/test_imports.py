"""The map of the house, held: who may import whom, and where third parties live."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import pacerail

PACKAGE = Path(pacerail.__file__).parent
STAGES = (
    "sheet",
    "capture",
    "detect",
    "stats",
    "align",
    "moments",
    "sharpness",
    "draw",
    "compose",
    "export",
)
VOCABULARY = tuple(path.stem for path in PACKAGE.glob("*.py") if path.stem != "__init__")
# Third parties and where they live; numpy is everywhere.
HOMES = {
    "av": ("capture", "compose"),
    "skia": ("draw",),
    "fontpkg_ibm_plex_sans_condensed": ("draw",),
    "opentimelineio": ("export",),
    "distributed": ("pipeline",),
    "click": ("cli",),
}
# What each of the two outer layers may reach besides itself and the vocabulary.
REACH = {"pipeline": STAGES, "cli": ("pipeline",)}
MODULES = sorted(PACKAGE.rglob("*.py"))


def home(module: Path) -> str:
    """The stage that a module belongs to; ``vocabulary`` at the top of the package."""
    parts = module.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else "vocabulary"


def imported(module: Path) -> Iterator[str]:
    """Full names of everything that a module imports, inside functions too."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: imports are written in full"
            yield node.module or ""


def loaded_by(statement: str) -> set[str]:
    """Top-level modules in a fresh interpreter after a statement."""
    code = f"{statement}\nimport sys; print(*{{name.split('.')[0] for name in sys.modules}})"
    result = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    return set(result.stdout.split())


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_go_the_right_way(module: Path) -> None:
    own = home(module)
    for name in imported(module):
        top, _, rest = name.partition(".")
        if top != "pacerail":
            allowed = top in sys.stdlib_module_names or top == "numpy" or own in HOMES.get(top, ())
            assert allowed, f"{top} has no place in {own}"
            continue
        target = rest.split(".")[0]
        assert target in ("", own, *VOCABULARY, *REACH.get(own, ())), f"{own} imports {name}"


def test_every_folder_has_a_place_on_the_map() -> None:
    folders = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert folders == {*STAGES, "pipeline", "cli"}


@pytest.mark.parametrize("name", ["", *(f".{name}" for name in (*STAGES, "pipeline", *VOCABULARY))])
def test_importing_a_package_or_the_vocabulary_loads_no_library(name: str) -> None:
    assert not loaded_by(f"import pacerail{name}") & HOMES.keys()


def test_help_and_completion_load_neither_codecs_nor_drawing() -> None:
    loaded = loaded_by("import pacerail.cli.main")
    assert "click" in loaded
    assert not loaded & {"av", "skia", "numpy"}
