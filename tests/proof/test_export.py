"""STL and glTF read back with trimesh, a general mesh library, and by the formats' own rules.

Single precision holds 1e-7 of a coordinate: volumes are compared to 1e-5 of themselves,
places to 1e-3 mm.
"""

from __future__ import annotations

import io
import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

import jointgeo
from jointgeo.errors import InputError
from jointgeo.proof import DryFit, Mesh, dry_fit, export, glb_bytes, stl_bytes

from .handmade import NOTHING, square_tenon
from .samples import solved

VOLUME_SHARE = 1e-5
PLACE_MM = 1e-3


@pytest.fixture(scope="module")
def fit() -> DryFit:
    return dry_fit(solved(jointgeo.joint_type("angled_box_joint").examples()[0]))


def read_stl(data: bytes) -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(data), file_type="stl")


def read_glb(data: bytes) -> trimesh.Scene:
    return trimesh.load_scene(io.BytesIO(data), file_type="glb")


def test_stl_of_each_part_in_millimetres_and_stock_frame(fit: DryFit) -> None:
    for name, mesh in fit.parts.items():
        read = read_stl(stl_bytes(mesh, name))
        assert read.is_watertight
        assert read.volume == pytest.approx(mesh.volume_mm3, rel=VOLUME_SHARE)
        assert np.asarray(read.bounds) == pytest.approx(mesh.extents_mm, abs=PLACE_MM)
        low, high = mesh.extents_mm
        # Stock frame: along the grain from the end, which is trimmed; 150 wide, 18 thick.
        assert low[2] > 0
        assert (high - low)[:2] == pytest.approx([150, 18], abs=PLACE_MM)


def test_stl_by_its_own_rules(fit: DryFit) -> None:
    mesh = fit.parts["a"]
    data = stl_bytes(mesh, "solid oak")
    assert not data.startswith(b"solid")
    assert b"millimetres" in data[:80]
    (count,) = struct.unpack("<I", data[80:84])
    assert count == len(mesh.triangles)
    assert len(data) == 84 + 50 * count
    facets = np.frombuffer(data[84:], np.dtype([("v", "<f4", (4, 3)), ("a", "<u2")]))
    normal, corners = facets["v"][:, 0], facets["v"][:, 1:].astype(float)
    right_hand = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    agree = (normal * right_hand).sum(-1)
    assert (agree >= 0).all()
    assert (facets["a"] == 0).all()


def test_glb_is_in_metres_with_y_up() -> None:
    """A block 20 wide, 30 deep and 500 tall standing on world Z = 100 mm."""
    block = dry_fit(square_tenon()).parts["post"]
    low, high = block.extents_mm
    scene = read_glb(glb_bytes([("post", block)]))
    bounds = np.asarray(scene.bounds)
    # (x, y, z) mm becomes (x, z, -y) / 1000.
    assert bounds[0] == pytest.approx([low[0] / 1e3, low[2] / 1e3, -high[1] / 1e3], abs=1e-6)
    assert bounds[1] == pytest.approx([high[0] / 1e3, high[2] / 1e3, -low[1] / 1e3], abs=1e-6)
    mesh = scene.to_mesh()
    assert mesh.volume * 1e9 == pytest.approx(block.volume_mm3, rel=VOLUME_SHARE)


def test_glb_of_the_assembly(fit: DryFit) -> None:
    bodies = [(p.part, p.mesh) for p in fit.assembly]
    scene = read_glb(glb_bytes(bodies))
    assert set(scene.geometry) == {"a", "b"}
    assert scene.to_mesh().volume * 1e9 == pytest.approx(
        sum(m.volume_mm3 for _, m in bodies), rel=VOLUME_SHARE
    )
    extents = np.stack([m.extents_mm for _, m in bodies])
    low, high = extents[:, 0].min(axis=0), extents[:, 1].max(axis=0)
    assert np.asarray(scene.bounds)[:, 1] * 1e3 == pytest.approx([low[2], high[2]], abs=PLACE_MM)


def chunks(data: bytes) -> tuple[dict[str, Any], bytes]:
    """The two chunks of a glTF binary, its frame checked by the standard's rules."""
    magic, version, length = struct.unpack("<4sII", data[:12])
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    assert size % 4 == 0
    document = json.loads(data[20 : 20 + size])
    rest = data[20 + size :]
    if not rest:
        return document, b""
    size, kind = struct.unpack("<I4s", rest[:8])
    assert kind == b"BIN\0"
    assert size % 4 == 0
    assert len(rest) == 8 + size
    return document, rest[8:]


def test_glb_by_its_own_rules(fit: DryFit) -> None:
    document, blob = chunks(glb_bytes([("a", fit.parts["a"]), ("b", fit.parts["b"])]))
    assert document["asset"]["version"] == "2.0"
    assert document["buffers"] == [{"byteLength": len(blob)}]
    root = document["nodes"][document["scenes"][0]["nodes"][0]]
    turn = np.array(root["matrix"]).reshape(4, 4).T  # the standard stores columns
    assert turn @ [1000, 0, 0, 1] == pytest.approx([1, 0, 0, 1])
    assert turn @ [0, 1000, 0, 1] == pytest.approx([0, 0, -1, 1])
    assert turn @ [0, 0, 1000, 1] == pytest.approx([0, 1, 0, 1])
    assert np.linalg.det(turn) > 0
    for view, accessor in zip(document["bufferViews"], document["accessors"], strict=True):
        assert view["byteOffset"] % 4 == 0
        part = blob[view["byteOffset"] : view["byteOffset"] + view["byteLength"]]
        if accessor["type"] == "VEC3":
            points = np.frombuffer(part, "<f4").reshape(-1, 3)
            assert accessor["count"] == len(points)
            assert points.min(axis=0).tolist() == accessor["min"]
            assert points.max(axis=0).tolist() == accessor["max"]
        else:
            assert accessor["count"] == len(part) // 4


def test_nothing_left_makes_an_empty_scene_and_an_empty_stl() -> None:
    nothing = Mesh.together([])
    document, blob = chunks(glb_bytes([("gone", nothing)]))
    assert blob == b""
    assert "meshes" not in document
    assert len(stl_bytes(nothing)) == 84


def test_export_writes_parts_and_assembly(fit: DryFit, tmp_path: Path) -> None:
    written = export(fit, tmp_path / "new" / "folder")
    names = {"a.stl", "a.glb", "b.stl", "b.glb", "assembly.stl", "assembly.glb"}
    assert {p.name for p in written} == names
    both = read_stl((tmp_path / "new" / "folder" / "assembly.stl").read_bytes())
    whole = sum(m.volume_mm3 for m in fit.parts.values())
    assert both.volume == pytest.approx(whole, rel=VOLUME_SHARE)
    export(fit, tmp_path / "new" / "folder")  # again, over the same files


def test_names_from_plug_ins_stay_inside_the_folder(tmp_path: Path) -> None:
    settings = square_tenon()
    settings["parts"][0]["part"] = "../../Rail \0 É"
    settings["parts"][1]["part"] = "assembly"
    fit = dry_fit(settings | {"assembly": [], "drawing": NOTHING})
    folder = tmp_path / "here"
    written = export(fit, folder)
    assert {p.parent for p in written} == {folder}
    stems = sorted({p.stem for p in written})
    assert stems == ["assembly", "assembly-2", "rail"]


def test_a_folder_that_cannot_be_made_is_the_callers_fault(fit: DryFit, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(InputError) as raised:
        export(fit, tmp_path / "file" / "folder")
    assert raised.value.problems[0].field == "export"
