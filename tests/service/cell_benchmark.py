"""How fast a cell's GET of one number is answered, against a constant of a plain Flask application.

Not a test: it measures, and judges nothing by itself. Run it from the project's folder on a quiet
machine, with the extra ``service`` installed:

    python tests/service/cell_benchmark.py
    python tests/service/cell_benchmark.py --types splayed_bridle --rounds 10

Both run on the same server and are asked by one kept connection each, in turn and a slice at a
time, so that the ratios mean something where the machine has other work: the median of all rounds
is told.
On a busy machine read the second figure: the same from the processor's time of server and client
alone, which with one connection take turns (Linux counts it).
"the same joint" was asked for another number just before; "a new joint" never. A block is one list
of 500 joints with five numbers each, as ``JG_LIST`` posts it, and told as a part of 500 echoes.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from benchmark import (
    ECHO,
    FIXTURE,
    SERVICE,
    Connection,
    Server,
    get,
    load,
    questions,
    request,
    serving,
)

import jointgeo

SLICE = 100
ROWS = 500
QUANTITIES = ("swivel_deg", "tilt_deg", "trim_mm", "overhang_mm", "against_plate")


def rounds(options: argparse.Namespace, name: str, echo: Server, service: Server) -> None:
    """Print the ratios of one joint type."""
    part = jointgeo.solve(
        jointgeo.joint_type(name).examples()[0], jointgeo.load_fixture(FIXTURE)
    ).setups[0].part  # fmt: skip
    joints = questions(name, SLICE * (options.rounds + 1) + ROWS)
    url = f"/v1/joint-types/{name}/values?cells=1&fixture={FIXTURE}&pick={part}.1."
    same = [get(f"{url}{q}&{query(joints[0])}") for q in QUANTITIES] * (SLICE // 5)
    for question in same[: len(QUANTITIES)]:
        answered(service, question)
    ratios: dict[str, list[tuple[float, float]]] = {
        "the same joint": [],
        "a new joint": [],
        "a block": [],
    }
    wanted = [f"{part}.1.{q}" for q in QUANTITIES]
    names = list(joints[0])
    for number in range(options.rounds + 1):
        new = joints[SLICE * number : SLICE * (number + 1)]
        asked = [get(f"{url}swivel_deg&{query(joint)}") for joint in new]
        rows = [[j[n] for n in names] for j in joints[number : number + ROWS]]
        common = {"joint_type": name, "fixture": FIXTURE}
        body = {"names": names, "rows": rows, "wanted": wanted, "common": common}
        block = request("/v1/list?cells=1", body)
        bare = timed(echo, asked, SLICE)
        kept, fresh = timed(service, same, SLICE), timed(service, asked, SLICE)
        listed = timed(service, [block], 1)
        if number:  # the first round warms up
            ratios["the same joint"].append(each(bare, kept))
            ratios["a new joint"].append(each(bare, fresh))
            of_echoes = each(listed, bare)
            ratios["a block"].append((of_echoes[0] * SLICE / ROWS, of_echoes[1] * SLICE / ROWS))
    for what, found in ratios.items():
        clock, processor = (statistics.median(one) for one in zip(*found, strict=True))
        says = f"of the time of {ROWS} echoes" if what == "a block" else "of the echo's rate"
        print(f"{name:20} {what:16} {clock:6.2f} {processor:6.2f}  {says}", flush=True)


def query(joint: dict[str, Any]) -> str:
    """A joint as a cell's macro writes it: what is left open is not in the URL."""
    flags = {True: "true", False: "false"}
    given = {k: flags[v] if isinstance(v, bool) else v for k, v in joint.items() if v is not None}
    return urlencode(given)


def answered(server: Server, question: bytes) -> None:
    """Raise RuntimeError where the answer is none but a reason, which has status 200 in a cell."""
    connection = Connection(server.address)
    connection.ask(question)
    while not connection.read():
        pass
    connection.socket.close()
    body = connection.got.partition(b"\r\n\r\n")[2]
    if not connection.got.startswith(b"HTTP/1.1 200") or body.startswith(b"#"):
        raise RuntimeError(f"{question[:200]!r} has no answer: {body[:200]!r}")


def timed(server: Server, asked: list[bytes], count: int) -> tuple[float, float]:
    """Seconds by the clock, and of the processor in server and client."""
    before = processor_seconds(server)
    found = load(server.kind, server, asked, 1, count, 60.0)
    if found.failed:
        raise RuntimeError(f"{found.failed} answers were none")
    return found.seconds, processor_seconds(server) - before


def processor_seconds(server: Server) -> float:
    """Of all threads of a server, and of this process; not a number where the system is another."""
    tasks = list(Path(f"/proc/{server.process.pid}/task").glob("*/schedstat"))
    if not tasks:
        return float("nan")
    return sum(int(t.read_text().split()[0]) for t in tasks) / 1e9 + time.process_time()


def each(of: tuple[float, float], to: tuple[float, float]) -> tuple[float, float]:
    return of[0] / to[0], of[1] / to[1]


def main() -> int:
    names = sorted(jointgeo.joint_types())
    parser = argparse.ArgumentParser(description="Measure single cells against a bare constant.")
    parser.add_argument("--types", nargs="+", choices=names, default=names)
    parser.add_argument("--rounds", type=int, default=15)
    options = parser.parse_args()
    with serving(ECHO) as echo, serving(SERVICE) as service:
        for name in options.types:
            rounds(options, name, echo, service)
    return 0


if __name__ == "__main__":
    sys.exit(main())
