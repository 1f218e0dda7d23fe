"""Whatever a third-party type does ends as one PluginError with distribution, type, file, line."""

from __future__ import annotations

import contextlib
import importlib.metadata
import io
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from jointgeo.errors import InputError, PluginError
from jointgeo.fixtures.file import load_fixture
from jointgeo.joints.faults import answers
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import GROUP, Registry, joint_types
from jointgeo.solution.solution import solve

from .test_registry import GOOD

Make = Callable[[str], type[JointType]]


@pytest.fixture
def make(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Make]:
    """The type of a distribution "sticks 1.2" whose methods begin with the given lines."""

    def made(source: str) -> type[JointType]:
        info = tmp_path / "sticks-1.2.dist-info"
        info.mkdir()
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sticks\nVersion: 1.2\n")
        (info / "entry_points.txt").write_text(f"[{GROUP}]\nslot = faulty_sticks:Slot\n")
        (tmp_path / "faulty_sticks.py").write_text(source, "utf-8")
        monkeypatch.syspath_prepend(str(tmp_path))
        entries = importlib.metadata.Distribution.at(info).entry_points
        return Registry.of(entries).get("slot")

    yield made
    sys.modules.pop("faulty_sticks", None)


FAULTS = {
    "an ordinary one": ("raise ValueError('not today')", "ValueError: not today"),
    "the end of the program": ("raise SystemExit(0)", "SystemExit: 0"),
    "a person's signal": ("raise KeyboardInterrupt", "KeyboardInterrupt: "),
    "itself without end": ("(f := lambda: f())()", "RecursionError: "),
    "output": ("print('hello')", "it writes to standard output"),
    "output by the back door": (
        "__import__('sys').stdout.buffer.write(b'x')",
        "it writes to standard output",
    ),
}


def _used(cls: type[JointType], method: str) -> None:
    if method == "examples":
        cls.examples()
    solve(cls.from_dict({}), load_fixture("porch")).to_dict()


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("method", ["draw", "checks", "notes", "examples", "__attrs_post_init__"])
def test_a_fault_is_named_with_type_distribution_file_and_line(
    make: Make, method: str, fault: str
) -> None:
    statement, says = FAULTS[fault]
    head = (
        "    @classmethod\n    def examples(cls"
        if method == "examples"
        else f"    def {method}(self"
    )
    body = f"{head}):\n        {statement}\n"
    source = (
        GOOD.replace("    @classmethod\n    def examples(cls):\n", body)
        if method == "examples"
        else (
            GOOD.replace("    def draw(self):\n", body) if method == "draw" else GOOD + f"\n{body}"
        )
    )
    cls = make(source)
    line = source[: source.index(statement)].count("\n") + 1
    with pytest.raises(PluginError) as caught:
        _used(cls, method)
    error = caught.value
    assert error.reason.startswith(says)
    assert (error.joint_type, error.distribution) == ("slot", "sticks 1.2")
    assert error.where == f"faulty_sticks.py:{line}"
    assert f"(faulty_sticks.py:{line})" in str(error)


def test_output_that_the_type_swallows_is_told_all_the_same(make: Make) -> None:
    statement = "try:\n            print(1)\n        except Exception:\n            pass\n"
    source = GOOD.replace("    def draw(self):\n", f"    def draw(self):\n        {statement}")
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        joint = make(source)()
        with pytest.raises(PluginError, match="standard output"):
            _ = joint.drawing
        assert sys.stdout is out
    assert out.getvalue() == ""


def test_an_input_error_stays_the_callers(make: Make) -> None:
    body = "    def draw(self):\n        raise InputError.of('wide_mm', 'is odd')\n"
    source = "from jointgeo.plugin import InputError\n" + GOOD.replace(
        "    def draw(self):\n", body
    )
    with pytest.raises(InputError, match="is odd"):
        _ = make(source)().drawing


def test_a_call_with_a_misspelt_name_is_the_callers_as_in_all_of_python(make: Make) -> None:
    with pytest.raises(TypeError):
        make(GOOD)(wied_mm=3.0)  # type: ignore[call-arg]  # the fault that is tried


def test_a_persons_own_stop_passes() -> None:
    """It arrives in the middle of a plug-in's code, and is none of its faults."""
    if threading.current_thread() is not threading.main_thread():
        pytest.fail("a signal arrives in the main thread only")
    # A run in the background is started with this signal ignored.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(KeyboardInterrupt), answers("slot", "sticks 1.2", __name__):
            signal.raise_signal(signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, before)


def test_other_threads_may_write_while_a_type_runs(capsys: pytest.CaptureFixture[str]) -> None:
    with answers("slot", "sticks 1.2", __name__):
        other = threading.Thread(target=print, args=("of the service",))
        other.start()
        other.join()
    assert capsys.readouterr().out == "of the service\n"


def test_the_types_that_ship_are_not_wrapped() -> None:
    """What is for third parties costs them nothing."""
    for cls in joint_types().values():
        methods = [getattr(cls, name) for name in ("draw", "checks", "from_dict")]
        assert not any(hasattr(method, "__wrapped__") for method in methods)
