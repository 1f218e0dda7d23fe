"""A third-party joint type beside jointgeo, both from wheels, in a fresh environment.

Nothing but the two wheels is installed, and still the type is in the library, on the
command line, in the service and in its OpenAPI document. Distributions that cannot be
used are reported with their name and the reason, and stop nothing else.

Expected angles are geometry by hand: a rail whose end is cut parallel to its neighbour's
outer edge at an inside angle of 84° is cut 90° - 84° = 6° off square, all of it tilt,
since the edge lies on the plate.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from jointgeo.conformance import CHECKS

from .shop import PLUGIN, ROOT, Shop, hand_made_wheel

ANGLE_DEG = 1e-9  # rounding of an arctangent is 1e-14°
JOB = """
title = "Porch frame"
fixture = "porch"

[[joint]]
name = "corner"
type = "corner_half_lap"

[joint.parameters]
width_a_in = "2 3/8"
width_b_mm = 50
thickness_mm = 22
length_a_mm = 420
length_b_mm = 380
corner_deg = 84
fit_mm = 0.1
"""
SERVICE = """
import json
from jointgeo_service.app import create_app
client = create_app().test_client()
joint = client.get("/v1/joint-types/corner_half_lap").get_json()
answers = {
    "joint": joint,
    "listing": client.get("/v1/joint-types").get_json(),
    "openapi": client.get("/openapi.json").get_json(),
}
for what in ("settings", "feasibility"):
    reply = client.post(
        f"/v1/joint-types/corner_half_lap/{what}",
        json={"joint": joint["examples"][0], "fixture": "porch"},
    )
    answers[what] = [reply.status_code, reply.get_json()]
bad = joint["examples"][0] | {"corner_deg": 10}
reply = client.post(
    "/v1/joint-types/corner_half_lap/settings", json={"joint": bad, "fixture": "porch"}
)
answers["refused"] = [reply.status_code, reply.get_json()]
print(json.dumps(answers))
"""


@pytest.fixture(scope="module")
def service(shop: Shop) -> Any:
    return shop.tell(SERVICE)


def test_everything_comes_from_the_wheels(shop: Shop) -> None:
    program = (
        "import json, jointgeo, jointgeo_service, porch_half_lap\n"
        "print(json.dumps([m.__file__ for m in (jointgeo, jointgeo_service, porch_half_lap)]))"
    )
    places = [Path(p) for p in shop.tell(program)]
    assert all(p.is_relative_to(shop.folder) for p in places), places
    assert not any(p.is_relative_to(ROOT) for p in places), places


def test_in_the_library(shop: Shop) -> None:
    answer = shop.tell(
        "import json, jointgeo\n"
        "joint = jointgeo.joint_type('corner_half_lap').examples()[0]\n"
        "porch = jointgeo.load_fixture('porch')\n"
        "print(json.dumps([list(jointgeo.joint_types()), list(jointgeo.failures()),\n"
        "    jointgeo.solve(joint, porch).settings_dict(),\n"
        "    jointgeo.solve(joint, porch).feasibility_dict()]))"
    )
    names, failures, settings, feasibility = answer
    assert "corner_half_lap" in names
    assert len(names) > 1
    assert failures == []
    assert [p["part"] for p in settings["parts"]] == ["rail a", "rail b"]
    for part in settings["parts"]:
        (setup,) = part["setups"]
        assert abs(setup["tilt_deg"]) == pytest.approx(6.0, abs=ANGLE_DEG)
        assert setup["swivel_deg"] == pytest.approx(0.0, abs=ANGLE_DEG)
        assert setup["against_plate"] in ("face_edge", "back_edge")
    assert "lapped_half" in [c["name"] for c in feasibility["checks"]]


def test_its_own_tests_pass(shop: Shop, tmp_path: Path) -> None:
    shutil.copytree(PLUGIN / "tests", tmp_path / "tests")
    done = shop.run("python", "-m", "pytest", "-q", "-p", "no:cacheprovider", cwd=tmp_path)
    assert done.returncode == 0, done.stdout
    assert f"{len(CHECKS)} passed" in done.stdout


def test_on_the_command_line(shop: Shop, tmp_path: Path) -> None:
    listing = shop.run("jointgeo", "types")
    assert listing.returncode == 0, listing.stderr
    assert "Two rails of a frame halved across each other's ends" in listing.stdout
    assert "refused" not in listing.stdout
    one = shop.run("jointgeo", "types", "corner_half_lap")
    assert "corner_deg: a number at least 30 deg and at most 150 deg" in one.stdout
    job = tmp_path / "frame.toml"
    job.write_text(JOB, "utf-8")
    solved = shop.run("jointgeo", "solve", str(job))
    assert solved.returncode == 0, solved.stdout + solved.stderr
    assert "tilt 6.000°" in solved.stdout
    data = json.loads(shop.run("jointgeo", "solve", "--json", str(job)).stdout)
    # 2 3/8 in = 60.325 mm exactly, the inch being 25.4 mm since 1959.
    widths = {s["stock"]["width_mm"] for s in data[0]["settings"]}
    assert widths == {60.325, 50.0}


def test_in_the_service(service: Any) -> None:
    joint = service["joint"]
    assert joint["name"] == "corner_half_lap"
    parameters = {p["name"]: p for p in joint["parameters"]}
    assert parameters["corner_deg"]["minimum"] == 30
    assert parameters["width_a_mm"]["inches"]["name"] == "width_a_in"
    assert "corner_half_lap" in [t["name"] for t in service["listing"]["joint_types"]]
    assert service["listing"]["refused"] == []
    status, settings = service["settings"]
    assert status == 200
    assert abs(settings["parts"][0]["setups"][0]["tilt_deg"]) == pytest.approx(6, abs=ANGLE_DEG)
    status, feasibility = service["feasibility"]
    assert status == 200
    assert feasibility["joint_type"] == "corner_half_lap"
    status, problem = service["refused"]
    assert 400 <= status < 500
    assert "corner_deg" in problem["errors"][0]["field"]


def test_in_the_openapi_document(service: Any) -> None:
    text = json.dumps(service["openapi"])
    assert "corner_half_lap" in text
    for parameter in service["joint"]["parameters"]:
        assert f'"{parameter["name"]}"' in text
    assert "Inside angle between the rails" in text


# Distributions that cannot be used ----------------------------------------------------


RAISES = "raise RuntimeError('the glue has not set')\n"
TAKEN = """
import attrs
from porch_half_lap import CornerHalfLap
@attrs.frozen
class Twin(CornerHalfLap):
    name = {name!r}
"""
OTHER_EDITION = """
import attrs
from porch_half_lap import CornerHalfLap
@attrs.frozen
class Newer(CornerHalfLap):
    name = "newer_lap"
    edition = 3
"""
LIES = """
import attrs
from porch_half_lap import CornerHalfLap
__version__ = "2.1"
@attrs.frozen
class Liar(CornerHalfLap):
    name = "liar_lap"
"""


@pytest.fixture(scope="module")
def taken(shop: Shop) -> str:
    """The name of a joint type that ships, whichever it is."""
    names = shop.tell("import json, jointgeo; print(json.dumps(list(jointgeo.joint_types())))")
    return str(next(n for n in names if n != "corner_half_lap"))


@pytest.fixture(scope="module")
def crowded(shop: Shop, taken: str, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    folder = tmp_path_factory.mktemp("crowded")
    bad = [
        ("porch-glue", "0.3", "glue_lap = porch_glue:GlueLap", "porch_glue", RAISES),
        ("porch-twin", "1.0", f"{taken} = porch_twin:Twin", "porch_twin", TAKEN.format(name=taken)),
        ("porch-newer", "4.0", "newer_lap = porch_newer:Newer", "porch_newer", OTHER_EDITION),
        ("porch-liar", "1.0", "liar_lap = porch_liar:Liar", "porch_liar", LIES),
    ]
    wheels = [hand_made_wheel(folder, *wheel) for wheel in bad]
    return shop.with_wheels(folder / "installed", *wheels)


@pytest.fixture(scope="module")
def refused(crowded: Shop) -> dict[str, list[dict[str, str]]]:
    """Distribution → what the library says of it."""
    listed = crowded.tell(
        "import json, attrs, jointgeo\n"
        "print(json.dumps([attrs.asdict(f) for f in jointgeo.failures()]))"
    )
    out: dict[str, list[dict[str, str]]] = {}
    for failure in listed:
        out.setdefault(failure["distribution"], []).append(failure)
    return out


def test_one_that_raises_on_import(refused: Any) -> None:
    (failure,) = refused["porch-glue"]
    assert failure["name"] == "glue_lap"
    assert failure["version"] == "0.3"
    assert failure["reason"] == "RuntimeError: the glue has not set (porch_glue.py:1)"


def test_one_whose_name_ships(refused: Any, taken: str) -> None:
    """The name is reserved: the newcomer alone is refused, and told to rename."""
    (mine,) = refused["porch-twin"]
    assert mine["name"] == taken
    assert "porch-twin must give its own another name" in mine["reason"]


def test_one_that_was_written_for_another_contract(refused: Any) -> None:
    (failure,) = refused["porch-newer"]
    assert failure["version"] == "4.0"
    assert "edition 3 of the contract" in failure["reason"]
    assert "understands 2" in failure["reason"]


def test_one_that_lies_about_its_version(refused: Any) -> None:
    (failure,) = refused["porch-liar"]
    assert failure["version"] == "1.0"
    assert "says version 1.0" in failure["reason"]
    assert "porch_liar says 2.1" in failure["reason"]


def test_the_rest_works_beside_them(crowded: Shop, refused: Any, taken: str) -> None:
    assert sorted(refused) == ["porch-glue", "porch-liar", "porch-newer", "porch-twin"]
    names, tilt = crowded.tell(
        "import json, jointgeo\n"
        "joint = jointgeo.joint_type('corner_half_lap').examples()[0]\n"
        "settings = jointgeo.solve(joint, jointgeo.load_fixture('porch')).settings_dict()\n"
        "print(json.dumps([list(jointgeo.joint_types()),\n"
        "    settings['parts'][0]['setups'][0]['tilt_deg']]))"
    )
    assert abs(tilt) == pytest.approx(6.0, abs=ANGLE_DEG)
    assert "corner_half_lap" in names
    assert len(names) > 1
    assert not {"glue_lap", "liar_lap", "newer_lap"} & set(names)
    assert taken in names


def test_the_command_line_lists_them(crowded: Shop) -> None:
    listing = crowded.run("jointgeo", "types")
    assert listing.returncode == 0, listing.stderr
    lines = [line for line in listing.stdout.splitlines() if line.startswith("refused: ")]
    assert len(lines) == 4
    for name in ("porch-glue 0.3", "porch-twin 1.0", "porch-newer 4.0", "porch-liar 1.0"):
        assert any(f"(from {name})" in line for line in lines), name
    asked = crowded.run("jointgeo", "types", "glue_lap")
    assert asked.returncode == 3
    assert "porch-glue 0.3" in asked.stderr
    assert "the glue has not set" in asked.stderr


def test_the_service_lists_them_and_says_whose_fault_it_is(crowded: Shop) -> None:
    listing, status, problem, works = crowded.tell(
        "import json\n"
        "from jointgeo_service.app import create_app\n"
        "client = create_app().test_client()\n"
        "listing = client.get('/v1/joint-types').get_json()\n"
        "reply = client.post('/v1/joint-types/glue_lap/settings',\n"
        "    json={'joint': {}, 'fixture': 'porch'})\n"
        "works = client.get('/v1/joint-types/corner_half_lap').status_code\n"
        "print(json.dumps([listing, reply.status_code, reply.get_json(), works]))"
    )
    assert works == 200
    found = {f["distribution"]: f for f in listing["refused"]}
    assert found["porch-glue"]["reason"] == "RuntimeError: the glue has not set (porch_glue.py:1)"
    assert len(listing["refused"]) == 4
    assert status == 500
    assert "porch-glue" in json.dumps(problem)
