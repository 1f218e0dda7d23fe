"""A type that does not ship answers in a process that can be ended; nobody else waits for it.

Against the real server, with a distribution "shop-joints 2.1" beside the installed ones. Times are
upper bounds that a busy machine keeps (common practice, no published source).
"""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.errors import InputError, PluginError
from jointgeo_service import batches
from jointgeo_service.apart import Apart, KnownApart
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.plugins import Catalogue
from jointgeo_service.problems import RefusedError
from jointgeo_service.questions import Questions

SOURCE = """
import os, time
import attrs
from jointgeo.plugin import Bar, Drawing, JointType, Notch, Plane, Vec, X, Y, Z, choice, mm

DOES = ("nothing", "sleeps", "turns", "dies", "fails", "prints", "writes", "refuses", "is_none")

@attrs.frozen
class Odd(JointType):
    name = "odd"
    summary = "A slot in an odd stick"
    wide_mm: float = mm("Width of the slot", 0.1, default=10.0)
    does: str = choice("What it does when it is drawn", DOES, default="nothing")

    def draw(self):
        if self.does == "sleeps":
            time.sleep(3600)
        while self.does == "turns":
            pass
        if self.does == "dies":
            os._exit(3)
        if self.does == "fails":
            raise SystemExit(0)
        if self.does == "prints":
            print("hello")
        if self.does == "writes":
            os.write(1, b"hello")
        stick = Bar("stick", 40, 20, 300, Z, -Y, -X, Vec(0.0, 0.0, 0.0))
        rail = Bar("rail", 40, 20, 300, Y, -X, -Z, Vec(0.0, -150.0, 20.0))
        half = self.wide_mm / 2
        slot = Notch("slot", stick, Plane(-Z, 0.0), X, [(-half, half, 15)])
        return Drawing((stick, rail), (slot,))

    def notes(self):
        return None if self.does == "is_none" else ()

    @classmethod
    def measure(cls, bar, mate):
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)
"""


@pytest.fixture
def beside(tmp_path: Path) -> str:
    """A PYTHONPATH with the distribution on it."""
    info = tmp_path / "shop_joints-2.1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: shop-joints\nVersion: 2.1\n")
    (info / "entry_points.txt").write_text("[jointgeo.joint_types]\nodd = shop_joints:Odd\n")
    (tmp_path / "shop_joints.py").write_text(SOURCE)
    return os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH")])])


@pytest.fixture
def apart(beside: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Apart]]:
    """Makes processes of the type with limits of a test's own; all are ended."""
    monkeypatch.syspath_prepend(beside.partition(os.pathsep)[0])
    made: list[Apart] = []

    def make(**limits: Any) -> Apart:
        made.append(Apart("odd", "shop-joints 2.1", **limits))
        return made[-1]

    yield make
    for each in made:
        each.end()


def _solved(apart: Apart, does: str = "nothing") -> Any:
    fixture = jointgeo.load_fixture("porch")
    return apart.ask("solved", {"does": does}, fixture, "as_drawn", "settings")


def test_it_answers_as_it_would_in_the_library(apart: Callable[..., Apart]) -> None:
    one = apart()
    assert one.ask("examples") == [{"wide_mm": 10.0, "does": "nothing"}]
    (cut,) = _solved(one)["settings"]["parts"][0]["setups"][0]["cuts"]
    assert cut["right_mm"] - cut["left_mm"] == pytest.approx(10.0, abs=1e-9)  # rounding of floats
    with pytest.raises(InputError) as refused:
        one.ask("joint", {"wide_mm": -1, "deep_mm": 2})
    assert {p.field for p in refused.value.problems} == {"wide_mm", "deep_mm"}


@pytest.mark.parametrize(
    ("does", "says"),
    [
        ("sleeps", "it did not answer within 1 s and was ended"),
        ("turns", "it did not answer within 1 s and was ended"),
        ("dies", "its process ended with code 3"),
        ("fails", "SystemExit: 0"),
        ("prints", "it writes to standard output, which belongs to the answer"),
        ("is_none", "odd.notes must give a tuple of text"),
    ],
)
def test_what_it_does_is_its_own_fault_and_the_next_question_is_answered(
    apart: Callable[..., Apart], does: str, says: str
) -> None:
    one = apart(deadline=1.0)
    _solved(one)
    began = time.monotonic()
    with pytest.raises(PluginError) as caught:
        _solved(one, does)
    assert time.monotonic() - began < 5
    assert caught.value.reason.startswith(says)
    assert (caught.value.joint_type, caught.value.distribution) == ("odd", "shop-joints 2.1")
    assert _solved(one)["settings"]["joint_type"] == "odd"


def test_what_it_writes_by_the_back_door_gets_nowhere(apart: Callable[..., Apart]) -> None:
    assert _solved(apart(), "writes")["settings"]["joint_type"] == "odd"


def test_it_holds_no_more_than_its_share(apart: Callable[..., Apart]) -> None:
    one = apart(deadline=2.0, share=1)
    _solved(one)

    def sleep() -> None:
        with pytest.raises(PluginError):
            _solved(one, "sleeps")

    first = threading.Thread(target=sleep)
    first.start()
    time.sleep(0.5)
    began = time.monotonic()
    with pytest.raises(RefusedError) as busy:
        _solved(one)
    assert time.monotonic() - began < 0.5
    assert busy.value.status == 503
    assert busy.value.headers == {"Retry-After": "2"}
    first.join()


def test_a_batch_gives_it_so_much_time_and_no_more(
    apart: Callable[..., Apart], monkeypatch: pytest.MonkeyPatch, slotted: Any
) -> None:
    monkeypatch.setattr(batches, "BATCH_TYPE_SECONDS", 0.5)
    cls = slotted(name="odd")
    known = KnownApart(cls, "shop-joints 2.1", apart(deadline=1.0))
    plain = Catalogue.of({"slotted": slotted()})
    questions = Questions(attrs.evolve(plain, known={**plain.known, "odd": known}), Fixtures())
    slow = {
        "joint_type": "odd",
        "want": "settings",
        "joint": {"does": "sleeps"},
        "fixture": "porch",
    }
    items = [slow] * 50 + [{**slow, "joint_type": "slotted", "joint": {}}]
    began = time.monotonic()
    answers = [json.loads(a) for a in batches.answers(questions, items)]
    assert time.monotonic() - began < 20
    assert [a["status"] for a in answers] == [500] * 50 + [200]
    assert "has taken more than 0.5 s of this batch" in answers[49]["problem"]["detail"]


def test_one_that_sleeps_leaves_the_others_alone(
    start: Callable[..., Any], beside: str, examples: dict[str, Any]
) -> None:
    service = start(PYTHONPATH=beside)
    post, get = service.session.post, service.session.get
    odd = f"{service.url}/v1/joint-types/odd/settings"
    assert post(odd, json={"joint": {}, "fixture": "porch"}).status_code == 200
    assert get(f"{odd}?fixture=porch&wide_mm=12").status_code == 200
    assert get(f"{service.url}/sheet?joint_type=odd&fixture=porch").status_code == 200
    form = get(f"{service.url}/joint/odd?fixture=porch&wide_mm=12,5")
    assert form.status_code == 200
    assert "Feasible" in form.text
    assert "<svg" in form.text
    asked: list[Any] = []

    def sleep() -> None:
        import requests

        with requests.Session() as session:
            session.trust_env = False
            question = {"joint": {"does": "sleeps"}, "fixture": "porch"}
            asked.append(session.post(odd, json=question, timeout=60))

    threads = [threading.Thread(target=sleep) for _ in range(8)]
    for thread in threads:
        thread.start()
    time.sleep(0.5)
    name = min(examples)
    for _ in range(3):
        began = time.monotonic()
        assert get(f"{service.url}/healthz").status_code == 200
        question = {"joint": examples[name], "fixture": "porch"}
        url = f"{service.url}/v1/joint-types/{name}/settings"
        assert post(url, json=question).status_code == 200
        assert time.monotonic() - began < 5
    for thread in threads:
        thread.join()
    statuses = sorted(a.status_code for a in asked)
    assert set(statuses) == {500, 503}
    assert statuses.count(503) >= 5  # beyond its share of three
    late = next(a for a in asked if a.status_code == 500).json()
    assert late["detail"].startswith("The plug-in is at fault: odd from shop-joints 2.1: ")
    assert "did not answer within 10 s" in late["detail"]
    assert post(odd, json={"joint": {}, "fixture": "porch"}).status_code == 200
    assert service.stop() == 0


def test_a_service_starts_beside_one_whose_import_never_ends(
    start: Callable[..., Any], beside: str, examples: dict[str, Any]
) -> None:
    module = Path(beside.partition(os.pathsep)[0]) / "shop_joints.py"
    module.write_text("import time\ntime.sleep(3600)\n")
    began = time.monotonic()
    service = start(PYTHONPATH=beside)
    assert time.monotonic() - began < 40
    listed = service.session.get(f"{service.url}/v1/joint-types").json()
    assert {t["name"] for t in listed["joint_types"]} == set(examples)
    (refused,) = listed["refused"]
    assert refused["reason"] == "its import did not end within 10 s"
    assert service.stop() == 0
