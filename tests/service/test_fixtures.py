"""Fixtures of one's own: read when quiet and whole, by a name and never by a path.

Files are written and asked for as a person and a workbook would, by a clock of the test's own, so
that nothing waits; `test_serving` has the real one.
"""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.errors import FixtureError, InputError, UnknownNameError
from jointgeo_service import fixtures as module
from jointgeo_service.app import create_app
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.problems import RefusedError

PORCH = (Path(jointgeo.__path__[0]) / "data" / "fixtures" / "porch.toml").read_bytes()
NAME = "splayed_bridle"


class Clock:
    """Time that passes when it is told to; both the file system's and the service's."""

    def __init__(self) -> None:
        self.now = 1_000_000.0

    def time(self) -> float:
        return self.now

    monotonic = time

    def sleep(self, seconds: float) -> None:
        self.now += seconds


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[Clock]:
    """The service sees this clock; what a file's state says of its age is set by it, too."""
    clock = Clock()
    monkeypatch.setattr(module, "time", clock)
    real = module._Sight.of
    seen: dict[tuple[Any, ...], float] = {}

    def of(found: os.stat_result) -> Any:
        sight = real(found)
        # When a state of a file was first seen is when it was made, to the test.
        at = seen.setdefault((sight.file, sight.size, sight.changed_ns), clock.now)
        return module.attrs.evolve(sight, changed_ns=int(at * 1e9))

    monkeypatch.setattr(module._Sight, "of", of)
    return clock  # type: ignore[return-value]  # nothing is done afterwards


@pytest.fixture
def client(tmp_path: Path, clock: Clock) -> FlaskClient:  # noqa: ARG001  # it must come first
    """A service with a folder of fixtures."""
    return create_app(fixtures=Fixtures(tmp_path)).test_client()


@pytest.fixture
def ask(client: FlaskClient, examples: dict[str, dict[str, Any]]) -> Callable[..., Any]:
    def asked(fixture: str, pick: str = "leg.1.scale_tilt_deg", **more: Any) -> str:
        flat = {**examples[NAME], "fixture": fixture, "pick": pick, "cells": "1", **more}
        return client.get(f"/v1/joint-types/{NAME}/values", query_string=flat).text

    return asked


def changed(old: str, new: str) -> bytes:
    text = PORCH.decode()
    assert re.search(old, text)
    return re.sub(old, new, text, count=1).encode()


def edition(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:6]


def quiet(clock: Clock, ask: Callable[..., Any], name: str) -> None:
    """Let a file be seen as it is, and leave it alone for longer than a second."""
    ask(name)
    clock.now += 1.5


def test_a_file_is_asked_by_its_file_name_and_told_with_its_edition(
    tmp_path: Path, clock: Clock, ask: Any, client: FlaskClient, examples: dict[str, Any]
) -> None:
    data = changed(r"max_deg = 24", "max_deg = 10")
    (tmp_path / "low-tilt.toml").write_bytes(data)
    quiet(clock, ask, "low-tilt.toml")
    assert ask("low-tilt.toml", "status") == "fail"
    assert ask("porch", "status") == "caution"
    assert ask("low-tilt.toml", "fixture") == "low-tilt.toml"
    told = ask("low-tilt.toml", "edition").removeprefix("'")
    assert told == edition(data) != edition(PORCH)
    listed = {f["name"]: f for f in client.get("/v1/fixtures").json["fixtures"]}  # type: ignore[index]  # it is JSON
    assert (listed["low-tilt.toml"]["called"], listed["low-tilt.toml"]["edition"]) == (
        "porch",
        told,
    )
    flat = {**examples[NAME], "fixture": "low-tilt.toml"}
    url = f"/v1/joint-types/{NAME}"
    for below in ("settings", "feasibility", "paths"):
        answer = client.get(f"{url}/{below}", query_string=flat).json
        assert answer is not None
        assert (answer["fixture"], answer["edition"]) == ("low-tilt.toml", told)
    csv = client.get(f"{url}/settings", query_string={**flat, "shape": "csv"}).text
    assert csv.splitlines()[1].endswith(f",low_tilt.toml,sha256 {told}")
    page = client.get("/sheet", query_string={**flat, "joint_type": NAME}).text
    assert "low-tilt.toml" in page
    assert f"edition {told}" in page
    body = {"joint": examples[NAME], "fixture": "low-tilt.toml"}
    assert client.post(f"{url}/settings", json=body).json["edition"] == told  # type: ignore[index]  # it is JSON
    item = {**body, "joint_type": NAME, "want": "settings"}
    batch = client.post("/v1/batch", json={"items": [item]}).json
    assert batch is not None
    assert batch["items"][0]["settings"]["edition"] == told


def test_a_changed_file_gives_other_answers_and_never_kept_ones(
    tmp_path: Path, clock: Clock, ask: Any
) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(PORCH)
    quiet(clock, ask, "own.toml")
    first = ask("own.toml", "status"), ask("own.toml", "edition")
    path.write_bytes(changed(r"max_deg = 24", "max_deg = 10"))  # in place
    assert ask("own.toml", "status").startswith("# fixture is being changed")
    clock.now += 1.5
    second = ask("own.toml", "status"), ask("own.toml", "edition")
    assert (first[0], second[0]) == ("caution", "fail")
    assert first[1] != second[1]
    other = tmp_path / "other.part"
    other.write_bytes(PORCH + b"# as before\n")
    other.replace(path)  # by rename, as most editors save
    assert ask("own.toml", "status").startswith("# fixture is being changed")
    clock.now += 1.5
    assert ask("own.toml", "status") == "caution"
    assert ask("own.toml", "edition") not in (first[1], second[1])


def test_a_file_cut_short_is_not_taken_while_it_is_written(
    tmp_path: Path, clock: Clock, ask: Any
) -> None:
    """Cut off after its beams and before its bodies it reads as a whole one, and hides what
    fouls: so it is taken only when it has been left alone."""
    lines = PORCH.splitlines(keepends=True)
    path = tmp_path / "slow.toml"
    for n in range(1, len(lines) + 1, 7):
        path.write_bytes(b"".join(lines[:n]))
        assert ask("slow.toml").startswith("# fixture is being changed"), n
        clock.now += 0.9
    path.write_bytes(PORCH)
    assert ask("slow.toml").startswith("# fixture is being changed")
    clock.now += 1.5
    assert float(ask("slow.toml")) == pytest.approx(12.0, abs=1e-9)


def test_a_file_that_changes_while_it_is_read_is_not_taken(
    tmp_path: Path, clock: Clock, ask: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "torn.toml"
    path.write_bytes(PORCH)
    ask("torn.toml")
    clock.now += 1.5
    real, times = os.fdopen, [0]

    def torn(number: int, mode: str) -> Any:
        times[0] += 1
        with path.open("ab") as file:
            file.write(b"# more\n")
        return real(number, mode)

    with monkeypatch.context() as patch:
        patch.setattr("jointgeo_service.fixtures.os.fdopen", torn)
        assert ask("torn.toml").startswith("# fixture is being changed")
    assert times == [1]
    ask("torn.toml")
    clock.now += 1.5
    assert float(ask("torn.toml")) == pytest.approx(12.0, abs=1e-9)


@pytest.mark.parametrize(("known", "left"), [(True, 0), (True, 500), (False, 0)])
def test_a_file_emptied_or_cut_off_with_its_old_time_is_not_taken(
    tmp_path: Path, clock: Clock, ask: Any, monkeypatch: pytest.MonkeyPatch, known: bool, left: int
) -> None:
    """Measured on Linux 6.18: for up to a millisecond a file emptied for saving shows its new
    size with its old time. Cut off at another size the same is possible once it is known."""
    path = tmp_path / "own.toml"
    if known:
        path.write_bytes(PORCH)
        quiet(clock, ask, "own.toml")
    old = module._Sight.of

    def of(found: os.stat_result) -> Any:
        return module.attrs.evolve(old(found), changed_ns=7)

    monkeypatch.setattr(module._Sight, "of", of)
    if known:
        clock.now += 1.5
        ask("own.toml")
        clock.now += 1.5
        assert float(ask("own.toml"))
    path.write_bytes(PORCH[:left])
    assert ask("own.toml").startswith("# fixture is being changed")
    clock.now += 1.5
    assert ask("own.toml").startswith("# fixture cannot be used")


def test_a_broken_file_answers_why_and_not_with_its_last_numbers(
    tmp_path: Path, clock: Clock, ask: Any, client: FlaskClient
) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(PORCH)
    quiet(clock, ask, "own.toml")
    assert float(ask("own.toml"))
    for data, says in (
        (changed(r"max_deg = 24", "max_deg = 2400"), "max_deg is too large; given 2400"),
        (b"title = [", "cannot be read as a TOML file"),
        (changed(r"max_deg = 24.0", "max_deg = 24,5"), "write 24.5 with a point"),
        (b"\xff\xfe", "cannot be read as a TOML file"),
        (b"x" * 1_000_001, "larger than 1,000,000 bytes"),
    ):
        path.write_bytes(data)
        quiet(clock, ask, "own.toml")
        assert ask("own.toml").startswith("# fixture cannot be used: "), says
        (entry,) = (f for f in client.get("/v1/fixtures").json["fixtures"]  # type: ignore[index]  # it is JSON
                    if f["name"] == "own.toml")  # fmt: skip
        assert says in entry["reason"]
        assert "title" not in entry
        assert str(tmp_path) not in str(entry) + ask("own.toml")
    path.unlink()
    assert "cannot be found" in ask("own.toml")


def test_only_plain_files_of_the_folder_itself_are_read(
    tmp_path: Path, clock: Clock, ask: Any, client: FlaskClient
) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "secret.toml").write_bytes(PORCH)
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "link.toml").symlink_to(outside / "secret.toml")
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / ".hidden.toml").write_bytes(PORCH)
    (tmp_path / "notes.txt").write_bytes(PORCH)
    clock.now += 2
    for name in ("folder.toml", "link.toml", "pipe.toml"):
        assert "no regular file" in ask(name)
    for name in ("outside/secret.toml", "secret.toml", str(outside / "secret.toml"),
                 f"../{tmp_path.name}/x.toml", ".hidden.toml", "notes.txt", "link"):  # fmt: skip
        told = ask(name)
        assert told.startswith("# fixture is not the name of a known fixture")
    flat = {"fixture": "nothing"}
    answer = client.get(f"/v1/joint-types/{NAME}/settings", query_string=flat).json
    assert answer is not None
    (error,) = (e for e in answer["errors"] if e["field"] == "fixture")
    assert error["allowed"] == 'one of "porch", "folder.toml", "link.toml", "pipe.toml"'
    assert str(tmp_path) not in str(answer)


def test_the_first_hundred_files_by_name(tmp_path: Path, clock: Clock, ask: Any) -> None:
    for i in range(105):
        (tmp_path / f"f{i:03}.toml").write_bytes(PORCH)
    quiet(clock, ask, "f099.toml")
    assert float(ask("f099.toml"))
    assert ask("f100.toml").startswith("# fixture is not the name")


def test_a_calibrated_copy_reaches_the_cells(tmp_path: Path, clock: Clock, ask: Any) -> None:
    """A correction of -0.25° of the tilt's scale: set 12°, the scale shows 11.75°, by the rule
    that the scale's figure is the angle wanted plus the correction."""
    data = PORCH + b"\n[correction]\ntilt_zero_deg = -0.25\n"
    (tmp_path / "calibrated.toml").write_bytes(data)
    quiet(clock, ask, "calibrated.toml")
    assert float(ask("porch")) == pytest.approx(12.0, abs=1e-9)
    assert float(ask("calibrated.toml")) == pytest.approx(11.75, abs=1e-9)
    assert float(ask("calibrated.toml", "leg.1.tilt_deg")) == pytest.approx(12.0, abs=1e-9)


def test_what_was_calibrated_from_test_cuts_reaches_the_cells(
    tmp_path: Path, clock: Clock, ask: Any, examples: dict[str, Any]
) -> None:
    """The demo's invented test cuts, taken in by the command as a person would; the reference is
    the library with the same file."""
    path = tmp_path / "calibrated.toml"
    run = "import sys; from jointgeo.command import main; sys.exit(main())"
    command = [sys.executable, "-c", run, "calibrate", "porch-test-cuts", "--output", str(path)]
    subprocess.run(command, capture_output=True, check=False, timeout=60)
    quiet(clock, ask, "calibrated.toml")
    joint = jointgeo.joint_type(NAME).from_dict(examples[NAME])
    setup = jointgeo.solve(joint, jointgeo.load_fixture(path)).setups[0]
    assert float(ask("calibrated.toml")) == setup.scale_tilt_deg
    assert abs(setup.scale_tilt_deg - setup.tilt_deg) > 0.01


def test_a_single_file_takes_the_place_of_the_shipped_one_of_its_name(
    tmp_path: Path, clock: Clock
) -> None:
    path = tmp_path / "mine.txt"
    data = changed(r"max_deg = 24", "max_deg = 10")
    path.write_bytes(data)
    found = Fixtures(files=[path])
    chosen = found.get("porch")
    assert (chosen.fixture.tilt.max_deg, chosen.edition) == (10.0, edition(data))
    assert Fixtures().get("porch").fixture.tilt.max_deg == 24.0
    path.write_bytes(changed(r'name = "porch"', 'name = "barn"'))
    with pytest.raises(RefusedError):
        found.get("porch")
    clock.now += 1.5
    # The shipped one must not come back in its place unasked.
    with pytest.raises(InputError, match="called barn now"):
        found.get("porch")
    with pytest.raises(UnknownNameError):
        found.get("barn")


def test_single_files_that_cannot_be_used_keep_the_service_from_starting(
    tmp_path: Path,
    clock: Clock,  # noqa: ARG001  # by which the files are old
) -> None:
    one, two, bad = (tmp_path / f"{n}.toml" for n in ("one", "two", "bad"))
    one.write_bytes(PORCH)
    two.write_bytes(PORCH)
    bad.write_bytes(b"title = [")
    with pytest.raises(FixtureError, match="two files"):
        Fixtures(files=[one, two])
    for path in (bad, tmp_path / "none.toml"):
        with pytest.raises(FixtureError, match=path.name):
            Fixtures(files=[path])


def test_questions_while_a_file_changes_never_mix_two_editions(
    tmp_path: Path, clock: Clock, client: FlaskClient, examples: dict[str, Any]
) -> None:
    """Two editions whose tilt's scale stands 0.5° apart; each answer's number and edition agree."""
    texts = [PORCH + f"\n[correction]\ntilt_zero_deg = {c}\n".encode() for c in (-0.25, 0.25)]
    shows = {edition(t): 12 + c for t, c in zip(texts, (-0.25, 0.25), strict=True)}
    path = tmp_path / "own.toml"
    path.write_bytes(texts[0])
    url = f"/v1/joint-types/{NAME}/values"
    flat = {**examples[NAME], "fixture": "own.toml", "pick": ["edition", "leg.1.scale_tilt_deg"]}
    seen: list[tuple[str, float]] = []
    done = threading.Event()

    def keep_asking() -> None:
        other = client.application.test_client()
        while not done.is_set():
            answer = other.get(url, query_string=flat)
            if answer.status_code == 200:
                told, number = answer.text.split("\t")
                seen.append((told.removeprefix("'"), float(number)))
            else:
                assert answer.status_code == 503, answer.text

    askers = [threading.Thread(target=keep_asking) for _ in range(2)]
    for asker in askers:
        asker.start()
    for i in range(12):
        # Two saves within one tick of the system's clock have one time; here no second lies
        # between them, as it would there.
        time.sleep(0.02)
        path.write_bytes(texts[i % 2])
        client.get(url, query_string=flat)
        clock.now += 1.5
        client.get(url, query_string=flat)
    done.set()
    for asker in askers:
        asker.join()
    assert {told for told, _ in seen} == set(shows)
    for told, number in seen:
        assert number == pytest.approx(shows[told], abs=1e-9)
