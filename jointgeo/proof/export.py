"""Parts as cut and the assembly as files: STL for a slicer or a gauge, glTF for the eye.

Knows meshes and the dry fit's answer; numpy and struct only. Both formats are written
here, by hand: a binary STL is a counted list of triangles and a glTF binary one JSON
chunk and one block of numbers. A library for either would be a heavier dependency than
the forty lines it replaces, and the tests read the files back with one.

Units and axes. STL carries neither: numbers are **millimetres**, a part in its **stock
frame** (z = 0 at the blank's square end, z along the grain, y from the face side to the
back), the assembly in the joint's world frame. glTF is **metres, Y up, right-handed** by
its standard; meshes keep millimetres, and the scene's one root node turns and scales
them: (x, y, z) mm becomes (x, z, -y) / 1000 m. World Z is shown upwards; a joint type
whose world Z points down (see its own text) therefore stands on its head.

Traps. A binary STL must not begin with the word ``solid``, or readers take it for text.
Both formats hold single precision, 6e-5 mm at a metre: measure on the meshes, not on
the files. STL shares no corners: a reader must weld them before it calls a body closed.
"""

from __future__ import annotations

import json
import re
import struct
from pathlib import Path
from typing import Any

import numpy as np

from jointgeo.errors import InputError, Problem
from jointgeo.output import NO_ROOM, write_whole
from jointgeo.proof.fit import DryFit
from jointgeo.proof.mesh import Mesh
from jointgeo.proof.piece import PieceFit

__all__ = ["export", "file_names", "glb_bytes", "stl_bytes"]

#: Columns of the root node's matrix: where x, y, z and the origin of a millimetre frame go.
ROOT = (0.001, 0, 0, 0, 0, 0, -0.001, 0, 0, 0.001, 0, 0, 0, 0, 0, 1)
COLOURS = ((0.80, 0.62, 0.42), (0.55, 0.36, 0.22), (0.88, 0.78, 0.58), (0.45, 0.45, 0.40))
FLOAT, UNSIGNED_INT = 5126, 5125  # glTF's component types
VERTICES, INDICES = 34962, 34963  # glTF's buffer targets


def stl_bytes(mesh: Mesh, title: str = "part") -> bytes:
    """A binary STL in the mesh's own frame and unit, millimetres."""
    header = f"jointgeo, millimetres: {title}".encode("ascii", "replace")[:80].ljust(80)
    corners = mesh.corners
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    long = np.sqrt((normal**2).sum(-1, keepdims=True))
    normal = np.divide(normal, long, out=np.zeros_like(normal), where=long > 0)
    facet = np.dtype([("numbers", "<f4", (4, 3)), ("attribute", "<u2")])
    facets = np.zeros(len(corners), dtype=facet)
    facets["numbers"] = np.concatenate([normal[:, None], corners], axis=1)
    return header + struct.pack("<I", len(facets)) + facets.tobytes()


def glb_bytes(bodies: list[tuple[str, Mesh]]) -> bytes:
    """A glTF 2.0 binary of (name, mesh in millimetres), each a node under the root."""
    blob = b""
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    for name, mesh in bodies:
        if len(mesh.triangles) == 0:
            continue  # glTF has no empty mesh
        points = mesh.vertices.astype("<f4")
        low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        for data, target in ((points, VERTICES), (mesh.triangles.astype("<u4"), INDICES)):
            raw = data.tobytes()
            view = {"buffer": 0, "byteOffset": len(blob), "byteLength": len(raw)}
            views.append(view | {"target": target})
            blob += raw
        at = len(accessors)
        accessors += [
            {"bufferView": at, "componentType": FLOAT, "count": len(points), "type": "VEC3"}
            | {"min": low, "max": high},
            {"bufferView": at + 1, "componentType": UNSIGNED_INT, "type": "SCALAR"}
            | {"count": mesh.triangles.size},
        ]
        primitive = {"attributes": {"POSITION": at}, "indices": at + 1}
        primitive["material"] = len(meshes) % len(COLOURS)
        meshes.append({"name": name, "primitives": [primitive]})
    nodes: list[dict[str, Any]] = [{"name": "millimetres, Z up", "matrix": list(ROOT)}]
    nodes += [{"name": m["name"], "mesh": i} for i, m in enumerate(meshes)]
    document: dict[str, Any] = {
        "asset": {"version": "2.0", "generator": "jointgeo"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes,
    }
    if meshes:
        nodes[0]["children"] = list(range(1, len(nodes)))
        document |= {
            "meshes": meshes,
            "materials": [_material(c) for c in COLOURS],
            "accessors": accessors,
            "bufferViews": views,
            "buffers": [{"byteLength": len(blob)}],
        }
    text = json.dumps(document, allow_nan=False).encode()
    chunks = [(b"JSON", text.ljust(-(-len(text) // 4) * 4))]
    if blob:
        chunks.append((b"BIN\0", blob))
    body = b"".join(struct.pack("<I", len(data)) + kind + data for kind, data in chunks)
    return b"glTF" + struct.pack("<II", 2, 12 + len(body)) + body


def _material(colour: tuple[float, float, float]) -> dict[str, Any]:
    surface = {"baseColorFactor": [*colour, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.9}
    return {"pbrMetallicRoughness": surface}


def export(fit: DryFit | PieceFit, folder: str | Path) -> tuple[Path, ...]:
    """Write every part as cut and the assembly, each as .stl and .glb; the paths written.

    The folder is made; files of the same names are replaced. InputError if it cannot be
    written to.
    """
    bodies = {name: [(name, mesh)] for name, mesh in fit.parts.items()}
    names = file_names([*bodies, "assembly"])
    jobs = [*bodies.values(), [(p.part, p.mesh) for p in fit.assembly]]
    out: list[Path] = []
    where = Path(folder)
    try:
        where.mkdir(parents=True, exist_ok=True)
        for name, job in zip(names, jobs, strict=True):
            whole = Mesh.together([mesh for _, mesh in job])
            for path, data in (
                (where / f"{name}.stl", stl_bytes(whole, name)),
                (where / f"{name}.glb", glb_bytes(job)),
            ):
                write_whole(path, data)
                out.append(path)
    except OSError as error:
        if error.errno in NO_ROOM:
            raise
        reason = error.strerror or str(error)
        problem = Problem("export", f"cannot be written to: {reason}", str(where), "a folder")
        raise InputError(problem) from None
    return tuple(out)


def file_names(names: list[str]) -> list[str]:
    """Names fit for any file system, one for each; a part's name comes from a plug-in."""
    out: list[str] = []
    for name in names:
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or "part"
        number, free = 2, plain
        while free in out:
            number, free = number + 1, f"{plain}-{number}"
        out.append(free)
    return out
