"""The registry: a plug-in that cannot be used stops nobody, and its author learns why.

Distributions are made in a folder of their own: a module and the dist-info that an installer
would write, found by importlib.metadata like any other.
"""

from __future__ import annotations

import importlib.metadata
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from jointgeo.errors import InputError, PluginError, UnknownNameError
from jointgeo.fixtures.file import load_fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import GROUP, Registry, joint_type, joint_types
from jointgeo.solution.solution import solve

GOOD = """
from typing import ClassVar
import attrs
from jointgeo.plugin import Bar, Drawing, JointType, Notch, Plane, Vec, X, Y, Z, mm

@attrs.frozen
class Slot(JointType):
    name: ClassVar[str] = "slot"
    summary: ClassVar[str] = "A slot in a stick"
    wide_mm: float = mm("Width of the slot", 0.1, default=10.0)

    def draw(self):
        stick = Bar("stick", 40, 20, 300, Z, -Y, -X, Vec(0.0, 0.0, 0.0))
        rail = Bar("rail", 40, 20, 300, Y, -X, -Z, Vec(0.0, -150.0, 20.0))
        half = self.wide_mm / 2
        cut = Notch("slot", stick, Plane(-Z, 0.0), X, [(-half, half, 15)])
        return Drawing((stick, rail), (cut,))

    @classmethod
    def measure(cls, bar, mate):
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)
"""

# Asked before anything else is put on the path: the library remembers its first look.
SHIPPED = set(joint_types())
SHIPPED_ENTRIES = list(importlib.metadata.entry_points(group=GROUP))

Install = Callable[..., list[importlib.metadata.EntryPoint]]


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Install]:
    """Put distributions on the path; gives their entry points. Modules are forgotten afterwards."""
    before = set(sys.modules)

    def put(
        distribution: str,
        source: str,
        entries: dict[str, str],
        version: str = "1.2",
        metadata: str | None = None,
    ) -> list[importlib.metadata.EntryPoint]:
        folder = tmp_path / distribution
        info = folder / f"{distribution}-{version}.dist-info"
        info.mkdir(parents=True)
        (folder / f"{distribution}_module.py").write_text(source, "utf-8")
        text = f"Metadata-Version: 2.1\nName: {distribution}\nVersion: {version}\n"
        (info / "METADATA").write_text(text if metadata is None else metadata, "utf-8")
        lines = [
            f"{n} = {v.replace('MODULE', f'{distribution}_module')}" for n, v in entries.items()
        ]
        (info / "entry_points.txt").write_text(f"[{GROUP}]\n" + "\n".join(lines), "utf-8")
        monkeypatch.syspath_prepend(str(folder))
        found = importlib.metadata.Distribution.at(info).entry_points
        return list(found.select(group=GROUP))

    yield put
    for name in set(sys.modules) - before:
        if name.endswith("_module"):
            del sys.modules[name]


def only_failure(registry: Registry, name: str) -> str:
    """The reason of the one failure; whatever ships still works beside it."""
    assert set(registry.types) == SHIPPED
    (failure,) = registry.failures
    assert failure.name == name
    assert failure.distribution == "sticks"
    assert failure.version == "1.2"
    with pytest.raises(PluginError) as caught:
        registry.get(name)
    for part in (name, "sticks", "1.2", failure.reason):
        assert part in str(caught.value)
    return failure.reason


def test_a_new_type_comes_in_by_its_entry_point(install) -> None:
    install("sticks", GOOD, {"slot": "MODULE:Slot"})
    registry = Registry.of(importlib.metadata.entry_points(group=GROUP))
    assert registry.failures == ()
    assert set(registry.types) == {"slot", *SHIPPED}
    joint = registry.get("slot").from_dict({"wide_in": "1/2"})
    assert issubclass(registry.get("slot"), JointType)
    (cut,) = solve(joint, load_fixture("porch")).setups[0].cuts
    assert cut.right_mm - cut.left_mm == pytest.approx(12.7, abs=1e-9)


IMPORTS_BADLY = {
    "syntax": ("def broken(:\n", "SyntaxError"),
    "missing import": ("import no_such_module_anywhere\n", "no_such_module_anywhere"),
    "raises": ("raise RuntimeError('not today')\n", "not today"),
    "exits": ("raise SystemExit('bye')\n", "bye"),
    "recursion": ("def f(): f()\nf()\n", "RecursionError"),
    "nothing there": ("", "Slot"),
    "an odd error": ("class Odd(Exception):\n    pass\nraise Odd\n", "Odd"),
    "an error that cannot be printed": (
        "class Odd(Exception):\n    def __str__(self):\n        raise ValueError\nraise Odd\n",
        "Odd",
    ),
    "ends the program": ("import sys\nsys.exit(0)\n", "SystemExit: 0 (sticks_module.py:2)"),
    "stops like a person": (
        "raise KeyboardInterrupt\n",
        "KeyboardInterrupt:  (sticks_module.py:1)",
    ),
    "prints": (
        "print('hello')\n",
        "standard output, which belongs to the answer (sticks_module.py:1)",
    ),
    "many lines": ("raise ValueError('one\\ntwo\\nthree')\n", "one"),
}


@pytest.mark.parametrize("name", IMPORTS_BADLY)
def test_a_module_that_cannot_be_imported(install, name) -> None:
    source, said = IMPORTS_BADLY[name]
    entries = install("sticks", source, {"slot": "MODULE:Slot"})
    assert said in only_failure(Registry.of([*entries, *SHIPPED_ENTRIES]), "slot")


NOT_A_TYPE = {
    "a function": (GOOD + "\ndef slot(): pass\n", "MODULE:slot", "JointType"),
    "an instance": (GOOD + "\nslot = Slot()\n", "MODULE:slot", "JointType"),
    "another class": ("class Slot: pass\n", "MODULE:Slot", "JointType"),
    "the base class": (
        "from jointgeo.joints.joint_type import JointType\n",
        "MODULE:JointType",
        "JointType",
    ),
    "no attrs class": (
        "from jointgeo import JointType\nclass Slot(JointType):\n    name = 'slot'\n",
        "MODULE:Slot",
        "attrs",
    ),
    "methods missing": (
        GOOD.replace("def draw", "def forgotten").replace("def measure", "def other"),
        "MODULE:Slot",
        "draw, measure",
    ),
    "the first edition": (GOOD.replace("def draw", "def parts"), "MODULE:Slot", "edition 1 "),
    "another name": (GOOD.replace('"slot"', '"groove"'), "MODULE:Slot", "groove"),
    "no name": (GOOD.replace('    name: ClassVar[str] = "slot"\n', ""), "MODULE:Slot", "slot"),
    "no summary": (
        GOOD.replace('    summary: ClassVar[str] = "A slot in a stick"\n', ""),
        "MODULE:Slot",
        "summary",
    ),
    "an empty summary": (GOOD.replace("A slot in a stick", ""), "MODULE:Slot", "summary"),
    "no parameters": (
        GOOD.replace(
            '    wide_mm: float = mm("Width of the slot", 0.1, default=10.0)\n',
            "    wide_mm: float = 10.0\n",
        ),
        "MODULE:Slot",
        "parameters",
    ),
    "another edition": (
        GOOD.replace("    def draw", "    edition: ClassVar[int] = 99\n\n    def draw"),
        "MODULE:Slot",
        "99",
    ),
    "no edition": (
        GOOD.replace("    def draw", "    edition: ClassVar[object] = True\n\n    def draw"),
        "MODULE:Slot",
        "True",
    ),
    "a bare default": (
        GOOD.replace("    def draw", "    deep_mm: float = 4.0\n\n    def draw"),
        "MODULE:Slot",
        "deep_mm: a bare default",
    ),
    "no unit": (
        GOOD.replace(
            "    def draw", '    n: int = number("", "How many there are")\n\n    def draw'
        ).replace("\n@attrs", "\nfrom jointgeo.schema.fields import number\n@attrs"),
        "MODULE:Slot",
        "n: a number needs a unit",
    ),
    "another unit than the name's": (
        GOOD.replace("wide_mm", "wide_deg"),
        "MODULE:Slot",
        "wide_deg: a name ends in _mm where its unit is 'mm'",
    ),
    "no help": (
        GOOD.replace("Width of the slot", ""),
        "MODULE:Slot",
        "wide_mm: help must be a line of 3 words",
    ),
    "a default out of range": (
        GOOD.replace("default=10.0", "default=0.01"),
        "MODULE:Slot",
        "its default is not in its own range",
    ),
    "another version": ('__version__ = "0.9"\n' + GOOD, "MODULE:Slot", "0.9"),
}


@pytest.mark.parametrize("case", NOT_A_TYPE)
def test_what_is_no_joint_type(install, case) -> None:
    source, value, said = NOT_A_TYPE[case]
    entries = install("sticks", source, {"slot": value})
    assert said in only_failure(Registry.of([*entries, *SHIPPED_ENTRIES]), "slot")


@pytest.mark.parametrize(
    "name", ["Slot", "slot-two", "2slot", "slot_", "_slot", "slot__a", "schlitß"]
)
def test_a_name_that_is_no_name(install, name) -> None:
    entries = install("sticks", GOOD.replace('"slot"', repr(name)), {name: "MODULE:Slot"})
    assert "lower snake case" in only_failure(Registry.of([*entries, *SHIPPED_ENTRIES]), name)


def test_two_claims_to_one_name_are_both_refused_and_both_named(install) -> None:
    entries = install("sticks", GOOD, {"slot": "MODULE:Slot"})
    entries += install("twigs", GOOD, {"slot": "MODULE:Slot"}, version="3.0")
    for order in (entries, entries[::-1]):
        registry = Registry.of([*order, *SHIPPED_ENTRIES])
        assert "slot" not in registry.types
        assert {f.distribution for f in registry.failures} == {"sticks", "twigs"}
        for failure in registry.failures:
            assert "sticks 1.2" in failure.reason
            assert "twigs 3.0" in failure.reason
        with pytest.raises(PluginError, match=r"sticks 1.2 and twigs 3.0"):
            registry.get("slot")


def test_two_distributions_that_name_the_very_same_class_are_refused_as_well(install) -> None:
    """Which of the two a joint came from would depend on the order of a directory listing."""
    entries = install("sticks", GOOD, {"slot": "MODULE:Slot"})
    entries += install("twigs", "", {"slot": "sticks_module:Slot"}, version="3.0")
    registry = Registry.of(entries)
    assert registry.types == {}
    assert {f.distribution for f in registry.failures} == {"sticks", "twigs"}


def test_one_distribution_found_twice_is_one(install) -> None:
    entries = install("sticks", GOOD, {"slot": "MODULE:Slot"})
    registry = Registry.of([*entries, *entries])
    assert set(registry.types) == {"slot"}


def test_a_name_that_ships_is_reserved_and_the_newcomer_alone_refused(install) -> None:
    taken = min(SHIPPED)
    entries = install("sticks", GOOD.replace('"slot"', repr(taken)), {taken: "MODULE:Slot"})
    for order in ([*entries, *SHIPPED_ENTRIES], [*SHIPPED_ENTRIES, *entries]):
        registry = Registry.of(order)
        assert set(registry.types) == SHIPPED
        assert registry.get(taken).__module__.startswith("jointgeo.types.")
        (failure,) = registry.failures
        assert (failure.name, failure.distribution) == (taken, "sticks")
        assert "sticks must give its own another name" in failure.reason
    assert "sticks_module" not in sys.modules  # a type that is refused by its name is not run


def test_one_name_twice_in_one_distribution(install) -> None:
    entries = install("sticks", GOOD + "\nOther = Slot\n", {"slot": "MODULE:Slot"})
    twin = importlib.metadata.EntryPoint("slot", "sticks_module:Other", GROUP)
    registry = Registry.of([*entries, twin])
    assert registry.types == {}
    assert len(registry.failures) == 2


def test_one_good_and_one_bad_of_the_same_distribution(install) -> None:
    entries = install("sticks", GOOD, {"slot": "MODULE:Slot", "groove": "MODULE:Groove"})
    registry = Registry.of(entries)
    assert set(registry.types) == {"slot"}
    assert [f.name for f in registry.failures] == ["groove"]


def test_an_entry_point_of_no_distribution() -> None:
    lone = importlib.metadata.EntryPoint("slot", "no_such_module_anywhere:Slot", GROUP)
    (failure,) = Registry.of([lone]).failures
    assert failure.distribution
    assert "no_such_module_anywhere" in str(failure)


@pytest.mark.parametrize("metadata", ["", "Metadata-Version: 2.1\n", "\x00\x01"])
def test_a_distribution_that_cannot_be_read(install, metadata) -> None:
    entries = install("sticks", "", {"slot": "MODULE:Slot"}, metadata=metadata)
    (failure,) = Registry.of(entries).failures
    assert failure.distribution
    assert failure.version


def test_an_unknown_name_is_the_callers_and_gets_the_known_ones() -> None:
    with pytest.raises(UnknownNameError) as caught:
        joint_type("no_such_joint")
    assert isinstance(caught.value, InputError)
    (problem,) = caught.value.problems
    assert problem.field == "joint_type"
    for name in joint_types():
        assert name in problem.allowed


def test_the_list_is_a_copy_in_alphabetical_order() -> None:
    listed = joint_types()
    assert list(listed) == sorted(listed)
    listed.clear()
    assert joint_types()
