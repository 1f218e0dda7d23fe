"""A mixed load with faults injected, on the real server, for as long as you like.

    python tests/service/soak.py --seconds 150

Knows sockets, processes, the service's addresses and the library. Three third-party joint types
are installed beside those that ship: one is slow or never answers, one lies (numbers that are none,
output on stdout, other forms than the contract's), one dies (ends its process, recurses, raises
SystemExit). A second service, without them, stands beside for comparison. Printed are what was
asked and answered, what was lost or wrong, how long others waited, and memory. Every answer of a
type that ships is held against the library's own.
"""

# ruff: noqa: S311  # chance decides only what is asked next
from __future__ import annotations

import argparse
import contextlib
import json
import os
import random
import re
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import attrs
import requests

import jointgeo
from jointgeo.fixtures.file import named_digest

NAME = str(Path(sys.executable).with_name("jointgeo"))
SERVE = (
    "import argparse, sys; from jointgeo_service.command import add; "
    "parser = argparse.ArgumentParser(prog='jointgeo'); add(parser.add_subparsers(required=True)); "
    "asked = parser.parse_args(); sys.exit(asked.run(asked))"
)
TYPE = """
import os, time
import attrs
from jointgeo.plugin import (
    Bar, Drawing, JointType, Notch, Plane, Vec, X, Y, Z, at_least, choice, mm
)

@attrs.frozen
class Odd(JointType):
    name = "NAME"
    summary = "A slot in an odd stick"
    wide_mm: float = mm("Width of the slot", 0.1, default=10.0)
    does: str = choice("What it does when it is drawn", DOES, default="nothing")

    def draw(self):
        does = self.does
        if does == "sleeps":
            time.sleep(3600)
        if does == "dawdles":
            time.sleep(3)
        while does == "turns":
            pass
        if does == "dies":
            os._exit(3)
        if does == "ends":
            raise SystemExit(0)
        if does == "recurses":
            return self.draw()
        if does == "prints":
            print("hello")
        if does == "writes":
            os.write(1, b"hello")
        if does == "is_none":
            return None
        stick = Bar("stick", 40, 20, 300, Z, -Y, -X, Vec(0.0, 0.0, 0.0))
        rail = Bar("rail", 40, 20, 300, Y, -X, -Z, Vec(0.0, -150.0, 20.0))
        slot = Notch("slot", stick, Plane(-Z, 0.0), X, [(-self.wide_mm / 2, self.wide_mm / 2, 15)])
        return Drawing((stick, rail), (slot,))

    def checks(self):
        bad = float("nan") if self.does == "nan" else 1.0
        return (at_least("own", bad, 0.0, "mm", "because"),)

    @classmethod
    def measure(cls, bar, mate):
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)
"""
THIRD_PARTY = {
    "slow": ("nothing", "sleeps", "dawdles", "turns"),
    "lying": ("nothing", "prints", "writes", "is_none", "nan"),
    "dying": ("nothing", "dies", "ends", "recurses"),
}
TYPES = ("angled_box_joint", "angled_tenon", "splayed_bridle")


def install(folder: Path) -> str:
    """The three third-party types as distributions; a PYTHONPATH with them on it."""
    for name, does in THIRD_PARTY.items():
        info = folder / f"{name}_joints-1.0.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(
            f"Metadata-Version: 2.1\nName: {name}-joints\nVersion: 1.0\n"
        )
        entry = f"[jointgeo.joint_types]\n{name} = {name}_joints:Odd\n"
        (info / "entry_points.txt").write_text(entry)
        source = TYPE.replace("NAME", name).replace("DOES", repr(does))
        (folder / f"{name}_joints.py").write_text(source)
    return os.pathsep.join([str(folder), *filter(None, [os.environ.get("PYTHONPATH")])])


@attrs.frozen
class Served:
    """A service in a process of its own."""

    process: subprocess.Popen[str]
    url: str

    @property
    def address(self) -> tuple[str, int]:
        host, port = self.url.removeprefix("http://").split(":")
        return host, int(port)

    def memory_mib(self, which: str = "VmHWM") -> float:
        """Of the service itself; VmHWM: the most it ever was, VmRSS: now."""
        text = Path(f"/proc/{self.process.pid}/status").read_text()
        found = re.search(rf"{which}:\s+(\d+) kB", text)
        return int(found[1]) / 1024 if found else 0.0


@contextlib.contextmanager
def served(log: Path, path: str | None) -> Iterator[Served]:
    env = {k: v for k, v in os.environ.items() if k != "JOINTGEO_TOKEN"}
    with log.open("w") as told:
        process = subprocess.Popen(
            [sys.executable, "-c", SERVE, "serve", "--port", "0"],
            stdout=subprocess.PIPE,
            stderr=told,
            text=True,
            env=env | ({"PYTHONPATH": path} if path else {}),
        )
    assert process.stdout is not None
    try:
        yield Served(process, process.stdout.readline().split()[4])
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


@attrs.define
class Figures:
    """What is counted, under one lock."""

    counts: Counter[str] = attrs.field(factory=Counter)
    waits: dict[str, list[float]] = attrs.field(factory=dict)
    faults: list[str] = attrs.field(factory=list)
    _lock: Any = attrs.field(factory=threading.Lock)

    def count(self, what: str, seconds: float | None = None) -> None:
        with self._lock:
            self.counts[what] += 1
            if seconds is not None:
                self.waits.setdefault(what.partition(":")[0], []).append(seconds)

    def fault(self, says: str) -> None:
        with self._lock:
            self.faults.append(says)


def session() -> requests.Session:
    made = requests.Session()
    made.trust_env = False
    return made


def question(turn: int) -> tuple[str, dict[str, Any]]:
    """A joint of a type that ships, seldom the same one twice."""
    name = TYPES[turn % len(TYPES)]
    joint = jointgeo.joint_type(name).examples()[turn % 2].to_dict()
    return name, joint | {"fit_mm": turn % 97 / 100}


def expected(name: str, joint: dict[str, Any]) -> Any:
    answer = jointgeo.solve(jointgeo.joint_type(name).from_dict(joint), "porch")
    told = json.loads(json.dumps(answer.settings_dict()))
    return told | {"edition": named_digest("porch")[:6]}


def ask_shipped(to: Served, turn: int, http: requests.Session, figures: Figures) -> None:
    """One joint, a small batch, or a sheet, and what comes must be the library's."""
    name, joint = question(turn)
    began = time.monotonic()
    if turn % 40 == 39:
        query = {"joint_type": name, "fixture": "porch"}
        got = http.get(f"{to.url}/sheet", params=query | joint, timeout=120)
        kind = "sheet" if got.status_code == 200 else "sheet, turned away"
        if got.status_code not in (200, 503):
            figures.fault(f"sheet of {name}: {got.status_code}")
    elif turn % 10 == 9:
        item = {"joint_type": name, "want": "settings", "joint": joint, "fixture": "porch"}
        strange = {**item, "joint_type": "dying", "joint": {"does": "dies"}}
        got = http.post(f"{to.url}/v1/batch", json={"items": [item, strange] * 5}, timeout=120)
        kind = "batch" if got.status_code == 200 else "batch, turned away"
        if got.status_code == 200:
            answers = got.json()["items"]
            if [a["status"] for a in answers] != [200, 500] * 5:
                told = [a["status"] for a in answers]
                if set(told[::2]) != {200} or not set(told[1::2]) <= {500, 503}:
                    figures.fault(f"batch: {told}")
            if any(a["settings"] != expected(name, joint) for a in answers[::2]):
                figures.fault(f"batch of {name}: another answer")
        elif got.status_code != 503:
            figures.fault(f"batch: {got.status_code}")
    else:
        url = f"{to.url}/v1/joint-types/{name}/settings"
        got = http.post(url, json={"joint": joint, "fixture": "porch"}, timeout=120)
        kind = "settings"
        if got.status_code != 200 or got.json() != expected(name, joint):
            figures.fault(f"{name}: {got.status_code}, another answer")
    figures.count(f"{kind}: {got.status_code}", time.monotonic() - began)


def ask_third_party(to: Served, http: requests.Session, figures: Figures) -> None:
    name = random.choice(tuple(THIRD_PARTY))
    does = random.choice(THIRD_PARTY[name])
    url = f"{to.url}/v1/joint-types/{name}/{random.choice(('settings', 'feasibility'))}"
    began = time.monotonic()
    got = http.post(url, json={"joint": {"does": does}, "fixture": "porch"}, timeout=120)
    seconds = time.monotonic() - began
    fair = {200, 503} if does in ("nothing", "dawdles", "writes") else {500, 503}
    fair |= {200} if does == "nan" and url.endswith("settings") else set()
    if got.status_code not in fair:
        figures.fault(f"{name} {does}: {got.status_code} {got.text[:200]}")
    if got.status_code == 500 and got.json().get("distribution") != f"{name}-joints 1.0":
        figures.fault(f"{name} {does}: {got.text[:200]}")
    if does != "nothing":
        figures.count("fault injected")
    figures.count(f"third-party type: {got.status_code}", seconds)


def be_clumsy(to: Served, figures: Figures) -> None:
    """One client that says half, reads nothing, hangs up, or tells its length twice."""
    name, joint = question(random.randrange(1000))
    item = {"joint_type": name, "want": "both", "joint": joint, "fixture": "porch"}
    body = json.dumps({"items": [item] * 100}).encode()
    head = "POST /v1/batch HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
    whole = f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body
    twice = f"{head}Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n".encode()
    sent, stays = random.choice(
        [(whole[:80], 3.0), (whole[:-100], 1.0), (whole, 2.0), (whole, 0.0), (twice, 0.1), (b"", 2)]
    )
    with (
        contextlib.suppress(ConnectionError),
        socket.create_connection(to.address, timeout=30) as opened,
    ):
        opened.sendall(sent)
        time.sleep(stays)
    figures.count("clumsy client")


def be_well(to: Served, http: requests.Session, figures: Figures) -> None:
    began = time.monotonic()
    got = http.get(f"{to.url}/healthz", timeout=120)
    figures.count(f"health: {got.status_code}", time.monotonic() - began)
    time.sleep(0.25)


def until(done: threading.Event, turn: Callable[[int], None], figures: Figures) -> threading.Thread:
    """Does the same again until told; what is lost is counted."""

    def run() -> None:
        number = random.randrange(1000)
        while not done.is_set():
            number += 1
            try:
                turn(number)
            except Exception as error:
                figures.fault(f"lost: {type(error).__name__}: {str(error)[:200]}")

    thread = threading.Thread(target=run)
    thread.start()
    return thread


def side_by_side(a: Served, b: Served, turns: int) -> tuple[float, float]:
    """Median time of a joint of a type that ships, in ms: both asked in turn."""
    found: tuple[list[float], list[float]] = ([], [])
    with session() as http:
        for turn in range(turns):
            name, joint = question(turn)
            # Not a question whose answer is kept.
            joint["fit_mm"] = random.random()
            order = ((a, found[0]), (b, found[1]))
            for to, waits in order if turn % 2 else order[::-1]:
                began = time.perf_counter()
                url = f"{to.url}/v1/joint-types/{name}/settings"
                http.post(url, json={"joint": joint, "fixture": "porch"}, timeout=60)
                waits.append((time.perf_counter() - began) * 1000)
    return statistics.median(found[0]), statistics.median(found[1])


def demo(path: str | None) -> str:
    env = os.environ | ({"PYTHONPATH": path} if path else {})
    command = [NAME, "solve", "porch-joints"]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=env).stdout


def soak(seconds: float, say: Callable[[str], None] = print) -> Figures:
    """Run it; what was counted."""
    figures = Figures()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = install(folder)
        if demo(None) != demo(path):
            figures.fault("the demo says something else beside the third-party types")
        log = folder / "log"
        with served(folder / "plain.log", None) as plain, served(log, path) as to:
            first = to.memory_mib("VmRSS")
            alone, beside = side_by_side(plain, to, 120)
            say(
                f"a joint, ms: {alone:.2f} without third-party types, {beside:.2f} beside them, "
                f"ratio {beside / alone:.2f}"
            )
            done = threading.Event()
            with contextlib.ExitStack() as stack:
                http = [stack.enter_context(session()) for _ in range(6)]
                turns: list[Callable[[int], None]] = [
                    lambda n: ask_shipped(to, n, http[0], figures),
                    lambda n: ask_shipped(to, n + 500, http[1], figures),
                    *(lambda _, own=h: ask_third_party(to, own, figures) for h in http[2:5]),
                    lambda _: be_clumsy(to, figures),
                    lambda _: be_clumsy(to, figures),
                    lambda _: be_well(to, http[5], figures),
                ]
                threads = [until(done, turn, figures) for turn in turns]
                time.sleep(seconds)
                done.set()
                for thread in threads:
                    thread.join()
            for what, count in sorted(figures.counts.items()):
                say(f"{what}: {count}")
            for what, waits in sorted(figures.waits.items()):
                middle = statistics.median(waits)
                say(f"{what}, s: median {middle:.3f}, longest {max(waits):.3f}")
            time.sleep(min(seconds, 12.0))  # what was left behind is hung up on or done
            alone, beside = side_by_side(plain, to, 120)
            say(f"a joint afterwards, ms: {alone:.2f} and {beside:.2f}, {beside / alone:.2f}")
            now, most = to.memory_mib("VmRSS"), to.memory_mib()
            say(f"memory, MiB: {first:.0f} at the start, {now:.0f} now, {most:.0f} at most")
            to.process.send_signal(signal.SIGTERM)
            code = to.process.wait(timeout=130)
            say(f"stopped with {code}")
            if code:
                figures.fault(f"stopped with {code}")
        events = Counter(json.loads(line)["event"] for line in log.read_text().splitlines())
        say(f"log: {dict(events)}")
        if set(events) - {"request", "fault"}:
            figures.fault(f"the log tells of {dict(events)}")
    say(f"lost or wrong: {len(figures.faults)}")
    for says, count in Counter(figures.faults).most_common(10):
        say(f"  {count} × {says}")
    return figures


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=150.0)
    sys.exit(1 if soak(parser.parse_args().seconds).faults else 0)
