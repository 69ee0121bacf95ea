"""Docstrings say what the signature, the vocabulary and the source list say."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from types import ModuleType

import pytest

import respcalc
from respcalc.core.card import Model, all_models, model
from respcalc.core.sources import all_sources
from respcalc.core.vocabulary import term

PACKAGE_MODULES = [respcalc] + [
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages(respcalc.__path__, "respcalc.")
    if not found.name.endswith("__main__")
]
each_model = pytest.mark.parametrize("made", all_models().values(), ids=lambda m: m.__name__)


def sections(docstring: str) -> dict[str, list[str]]:
    """The numpydoc sections of a docstring, by title; the text above them is under ''."""
    lines = inspect.cleandoc(docstring).splitlines()
    found: dict[str, list[str]] = {"": []}
    title = ""
    for line, below in zip(lines, [*lines[1:], ""], strict=True):
        if line and re.fullmatch(r"-{3,}", below) and len(below) == len(line):
            title = line
            found[title] = []
        elif not (re.fullmatch(r"-{3,}", line) and not found[title]):
            found[title].append(line)
    return found


def entries(lines: list[str]) -> dict[str, str]:
    """Name -> description of a Parameters or Returns section."""
    found: dict[str, str] = {}
    name = ""
    for line in lines:
        if line and not line.startswith(" "):
            name = line.partition(" : ")[0].strip()
            found[name] = ""
        elif line.strip():
            found[name] += line.strip() + " "
    return found


def unit_faults(name: str, text: str) -> list[str]:
    """The [unit] of a description has to be the vocabulary's printed one; without a unit none is needed."""
    given, printed = re.findall(r"\[([^\]]*)\]", text), term(name).printed_unit
    if printed and given != [printed]:
        return [f"{name} is printed in [{printed}], the docstring says {given or 'nothing'}"]
    if not printed and given not in ([], ["-"], [""]):
        return [f"{name} has no unit, the docstring says {given}"]
    return []


def faults(made: Model) -> list[str]:
    """What is wrong with the docstring of a model."""
    parts = sections(made.__doc__ or "")
    wrong = [
        f"no {title} section"
        for title in ("Parameters", "Returns", "Raises", "Notes", "Examples")
        if title not in parts
    ]
    if wrong:
        return wrong
    parameters, returns = entries(parts["Parameters"]), entries(parts["Returns"])
    if list(parameters) != list(made.card.arguments):
        wrong.append(f"Parameters are {list(parameters)}, the signature has {list(made.card.arguments)}")
    if list(returns) != [made.card.returns]:
        wrong.append(f"Returns names {list(returns)}, the card {made.card.returns}")
    for name, text in {**parameters, **returns}.items():
        wrong += unit_faults(name, text) if name in made.card.arguments or name == made.card.returns else []
        if not text.strip():
            wrong.append(f"{name} is not described")
    notes = " ".join(parts["Notes"])
    cited = re.findall(r"``([^`]+)``", notes)
    if made.card.source not in cited:
        wrong.append(f"Notes cite {cited}, the card {made.card.source}")
    keys = [key for key in cited if re.fullmatch(r"[a-z]+(?:_[a-z0-9]+)+", key)]
    wrong += [f"source {key} has no record" for key in keys if key not in all_sources()]
    if not any(line.startswith(">>> ") for line in parts["Examples"]):
        wrong.append("Examples holds no example")
    if made.__name__ not in " ".join(parts["Examples"]):
        wrong.append("Examples does not call the model")
    if bool(made.card.ranges) != ("Warns" in parts):
        wrong.append("Warns and the source's range do not go together")
    if not parts[""][0].endswith("."):
        wrong.append("the first line is no sentence")
    return wrong


@each_model
def test_the_docstring_of_a_model_agrees_with_its_card(made):
    assert faults(made) == []


def public_objects():
    for module in PACKAGE_MODULES:
        for name in getattr(module, "__all__", []):
            value = getattr(module, name)
            if (inspect.isfunction(value) or inspect.isclass(value) or isinstance(value, Model)) and (
                value.__module__ == module.__name__
            ):
                yield f"{module.__name__}.{name}", value


PUBLIC = list(public_objects())


@pytest.mark.parametrize(("name", "value"), PUBLIC, ids=[n for n, _ in PUBLIC])
def test_every_public_name_has_a_docstring_of_its_own(name, value):
    own = value.__dict__.get("__doc__") if inspect.isclass(value) else value.__doc__
    assert own, f"{name} has no docstring"
    assert not own.startswith(f"{value.__name__}("), f"{name} has only the text that dataclass writes"


@pytest.mark.parametrize("module", PACKAGE_MODULES, ids=lambda m: m.__name__)
def test_every_module_has_a_docstring_and_says_what_is_public(module: ModuleType):
    if module.__name__ in ("respcalc.command",) and not module.__doc__:
        pytest.fail("an empty package file needs a line on what lives there")
    assert module.__doc__, f"{module.__name__} has no docstring"
    is_package = hasattr(module, "__path__")
    assert is_package or hasattr(module, "__all__"), f"{module.__name__} has no __all__"
    for name in getattr(module, "__all__", []):
        assert hasattr(module, name), f"{module.__name__}.__all__ names {name}, which is not there"


# --- the test itself can fail

GOOD = """Ratio of two things.

    Parameters
    ----------
    flow_rate
        Flow [L/min]. Scalar or array.
    affinity_coefficient
        Affinity. Scalar or array.

    Returns
    -------
    breakthrough_time
        [min], shape of the inputs.

    Raises
    ------
    UnitsError
        Bad unit.

    Notes
    -----
    Source: ``wheeler_jonas``.

    Examples
    --------
    >>> kernel(flow_rate="1 L/min")
    """


def described(docstring: str) -> list[str]:
    def kernel(*, flow_rate, affinity_coefficient):
        return flow_rate * affinity_coefficient

    kernel.__doc__ = docstring
    return faults(model(returns="breakthrough_time", equation="y", source="wheeler_jonas", locator="x")(kernel))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[L/min]", "[m3/h]", "flow_rate is printed in [L/min]"),
        ("Flow [L/min].", "Flow.", "the docstring says nothing"),
        ("Affinity.", "Affinity [g].", "affinity_coefficient has no unit"),
        ("[min],", "[h],", "breakthrough_time is printed in [min]"),
        ("    flow_rate\n", "    flow\n", "Parameters are"),
        ("    breakthrough_time\n", "    service_life\n", "Returns names"),
        ("``wheeler_jonas``", "``wood_2001``", "the card wheeler_jonas"),
        ("``wheeler_jonas``", "``wheeler_jonas``, ``nobody_1900``", "nobody_1900 has no record"),
        ("Examples\n    --------", "Example\n    -------", "no Examples section"),
        (">>> kernel", "kernel", "Examples holds no example"),
        (">>> kernel(", ">>> other(", "does not call the model"),
        ("    Raises\n", "    Warns\n    -----\n    X\n        y\n\n    Raises\n", "do not go together"),
    ],
)
def test_a_docstring_that_disagrees_is_found(monkeypatch, old, new, says):
    monkeypatch.setattr("respcalc.core.card._REGISTRY", {})
    assert described(GOOD) == []
    assert old in GOOD
    assert any(says in fault for fault in described(GOOD.replace(old, new, 1))), described(GOOD.replace(old, new, 1))
