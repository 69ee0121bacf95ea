"""One direction, no way back: every import in the package points to a room on the left."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import respcalc

PACKAGE = Path(respcalc.__file__).parent

# room -> the rooms it may import from
LEFT = {
    "core": set(),
    "models": {"core"},
    "vapours": {"core", "models"},
    "prediction": {"core", "models", "vapours"},
    "cartridges": {"core", "models", "vapours", "prediction"},
    "workplace": {"core", "models", "vapours"},
    "estimate": {"core", "models", "vapours", "prediction", "cartridges", "workplace"},
    "schedule": {"core", "models", "vapours", "prediction", "cartridges", "workplace", "estimate"},
    "plots": {"core", "models", "vapours", "prediction", "cartridges", "workplace", "estimate", "schedule"},
    "command": {"core", "models", "vapours", "prediction", "cartridges", "workplace", "estimate", "schedule", "plots"},
}

# heavy imports belong inside the function that needs them
LAZY = {"matplotlib", "pandas", "scipy", "thermo", "chemicals", "fluids", "jinja2", "openpyxl"}
ONLY_IN = {"jinja2": "schedule", "matplotlib": "plots", "openpyxl": "core"}

# models are numpy (and the special functions it lacks) in SI floats; card and errors are all they need from core
MODEL_IMPORTS = {"__future__", "typing", "collections.abc", "dataclasses", "math", "numpy", "scipy.special"}
FILE_ACCESS = {"open", "exec", "eval", "__import__"}


class Import:
    """One imported module, and whether it is imported when its file is."""

    def __init__(self, target: str, line: int, at_import: bool) -> None:
        self.target, self.line, self.at_import = target, line, at_import


def imports(module: str, tree: ast.AST, is_package: bool, inside: bool = False) -> Iterator[Import]:
    """Every import of a module, also those inside functions and behind `if`."""
    for node in ast.iter_child_nodes(tree):
        typing_only = isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        later = inside or typing_only or isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda))
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(alias.name, node.lineno, not inside)
        elif isinstance(node, ast.ImportFrom):
            parts = module.split(".") if is_package else module.split(".")[:-1]
            start = parts[: len(parts) - node.level + 1] if node.level else []
            base = ".".join([*start, *([node.module] if node.module else [])])
            for alias in node.names:  # "from respcalc import models" imports respcalc.models
                yield Import(f"{base}.{alias.name}", node.lineno, not inside)
        yield from imports(module, node, is_package, later)


def room_of(dotted: str) -> str:
    """`respcalc.models.rate` is in models; `respcalc` itself and `respcalc.__main__` stand at the far right."""
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 and parts[1] in LEFT else "respcalc"


def faults(module: str, source: str, is_package: bool = False) -> list[str]:
    """What the imports of one module break."""
    room, found = room_of(module), []
    for item in imports(module, ast.parse(source), is_package):
        top = item.target.split(".")[0]
        where = f"{module}, line {item.line}: imports {item.target}"
        if top == "respcalc" and room != "respcalc":
            target = room_of(item.target)
            if target == "respcalc":
                found.append(f"{where}: the package itself imports every room")
            elif target != room and target not in LEFT[room]:
                found.append(f"{where}: {target} is not to the left of {room}")
        if top in LAZY and item.at_import:
            found.append(f"{where}: {top} is heavy, import it inside the function that needs it")
        if top in ONLY_IN and room != ONLY_IN[top]:
            found.append(f"{where}: {top} belongs to {ONLY_IN[top]} only")
        if room == "models" and not allowed_in_models(module, item):
            found.append(f"{where}: models are numpy in SI floats, nothing else")
    if room == "models":
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FILE_ACCESS:
                found.append(f"{module}, line {node.lineno}: {node.func.id}() in models")
    return found


def allowed_in_models(module: str, item: Import) -> bool:
    target = item.target
    if target.startswith(("respcalc.core.card.", "respcalc.core.errors.", "respcalc.models.")):
        return True
    if module == "respcalc.models" and target == "pandas" and not item.at_import:
        return True  # the table of cards
    return any(target == name or target.startswith(f"{name}.") for name in MODEL_IMPORTS)


def modules() -> Iterator[tuple[str, Path]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = ["respcalc", *path.relative_to(PACKAGE).with_suffix("").parts]
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), path


MODULES = list(modules())


@pytest.mark.parametrize(("module", "path"), MODULES, ids=[m for m, _ in MODULES])
def test_imports_point_to_the_left(module, path):
    assert faults(module, path.read_text(encoding="utf-8"), path.name == "__init__.py") == []


def test_every_folder_is_a_room_with_a_place():
    rooms = {p.name for p in PACKAGE.iterdir() if p.is_dir() and any(p.rglob("*.py"))}
    files = {p.stem for p in PACKAGE.glob("*.py")} - {"__init__", "__main__", "_version", "py"}
    assert rooms | files <= set(LEFT)
    assert {"core", "models"} <= rooms


def test_the_order_has_no_way_back():
    for room, left in LEFT.items():
        assert room not in left
        assert all(LEFT[other] < left or LEFT[other] == set() for other in left), room
    assert "workplace" not in LEFT["cartridges"]
    assert "cartridges" not in LEFT["workplace"]


# --- the test itself can fail


@pytest.mark.parametrize(
    ("module", "source"),
    [
        ("respcalc.core.units", "from respcalc.models import rate"),
        ("respcalc.core.units", "import respcalc.models.rate"),
        ("respcalc.core.units", "from respcalc import models"),
        ("respcalc.core.units", "from respcalc import Quantity"),
        ("respcalc.core.units", "import respcalc"),
        ("respcalc.core.units", "def f():\n    from respcalc.vapours.limits import idlh"),
        ("respcalc.core.units", "if TYPE_CHECKING:\n    from respcalc.models.rate import x"),
        ("respcalc.core.units", "from ..models import rate"),
        ("respcalc.core.units", "from ..models.rate import x"),
        ("respcalc.core.units", "from .. import models"),
        ("respcalc.core.units", "try:\n    import respcalc.plots\nexcept ImportError:\n    pass"),
        ("respcalc.vapours.limits", "from respcalc.workplace.air import Air"),
        ("respcalc.cartridges.bed", "from respcalc.workplace.air import Air"),
        ("respcalc.workplace.air", "from respcalc.cartridges.bed import Bed"),
        ("respcalc.prediction.chain", "from respcalc.schedule.plan import Plan"),
        ("respcalc.prediction.chain", "from respcalc.plots import curve"),
        ("respcalc.schedule.plan", "from respcalc.plots import curve"),
        ("respcalc.schedule.plan", "from respcalc.command.main import main"),
        ("respcalc.core.tables", "import pandas as pd"),
        ("respcalc.core.tables", "from pandas import DataFrame"),
        ("respcalc.prediction.chain", "from scipy.optimize import brentq"),
        ("respcalc.vapours.properties", "class A:\n    import chemicals"),
        ("respcalc.vapours.properties", "if True:\n    import thermo"),
        ("respcalc.schedule.page", "import jinja2"),
        ("respcalc.prediction.chain", "def f():\n    import jinja2"),
        ("respcalc.prediction.chain", "def f():\n    import matplotlib.pyplot"),
        ("respcalc.models.rate", "import pint"),
        ("respcalc.models.rate", "def f():\n    import pandas"),
        ("respcalc.models.rate", "def f():\n    from scipy.optimize import brentq"),
        ("respcalc.models.rate", "from pathlib import Path"),
        ("respcalc.models.rate", "from importlib import resources"),
        ("respcalc.models.rate", "from respcalc.core.tables import shipped_table"),
        ("respcalc.models.rate", "from respcalc.core.units import Quantity"),
        ("respcalc.models.rate", "def f():\n    return open('x').read()"),
        ("respcalc.models.rate", "from math_extra import x"),
        ("respcalc", "import pandas"),
        ("respcalc.schedule.page", "def f():\n    from respcalc import __version__"),
    ],
)
def test_a_wrong_arrow_is_found(module, source):
    assert faults(module, source), f"{module}: {source!r} was let through"


@pytest.mark.parametrize(
    ("module", "source", "is_package"),
    [
        ("respcalc", "from respcalc.schedule.plan import Plan\nfrom respcalc.core.units import Quantity", True),
        (
            "respcalc.core.units",
            "import pint\nfrom respcalc.core.errors import DomainError\nfrom .errors import X",
            False,
        ),
        ("respcalc.core", "from .errors import DomainError\nfrom . import errors", True),
        ("respcalc.workplace.air", "from respcalc.models.rate import x\nfrom ..vapours.limits import idlh", False),
        ("respcalc.prediction.chain", "def f():\n    from scipy.optimize import brentq", False),
        ("respcalc.prediction.chain", "if TYPE_CHECKING:\n    import pandas as pd", False),
        ("respcalc.schedule.page", "def f():\n    import jinja2", False),
        ("respcalc.plots.curves", "def f():\n    import matplotlib.pyplot as plt", False),
        ("respcalc.command.main", "from respcalc.plots import curve\nfrom respcalc.schedule.plan import Plan", False),
        (
            "respcalc.models.rate",
            "import numpy as np\nfrom respcalc.core.card import model\nfrom typing import Any",
            False,
        ),
        ("respcalc.models.rate", "from respcalc.models.constants import GAS_CONSTANT", False),
    ],
)
def test_a_right_arrow_is_let_through(module, source, is_package):
    assert faults(module, source, is_package) == []


def test_importing_the_package_loads_nothing_heavy():
    # pint itself loads the bare scipy package, so its parts are looked for
    heavy = ["pandas", "matplotlib", "jinja2", "chemicals", "thermo", "openpyxl", "scipy.optimize", "scipy.special"]
    script = f"import sys, respcalc; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(PACKAGE.parent)},
        check=True,
    )
    assert done.stdout.strip() == "[]"
