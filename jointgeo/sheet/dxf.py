"""The unrolled layout as a DXF file, for whoever prints or laser-cuts templates.

Knows developments and the library ezdxf (extra ``draw``); no joint type. Millimetres, one
drawing unit each; (0, 0) is the square end at the corner where the face side begins. What a
line is for stands in its layer's name.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from jointgeo.errors import MissingExtraError
from jointgeo.joints.sides import in_words
from jointgeo.output import write_whole
from jointgeo.planning.end_plan import LINE_WORDS
from jointgeo.sheet.develop import Development
from jointgeo.sheet.layout_drawing import BAR_MM
from jointgeo.sheet.plane import Array

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

__all__ = ["LAYERS", "write_dxf"]

#: Layer: line type. What each holds is its name.
LAYERS = {
    "square end": "CONTINUOUS",
    "folds at the long edges": "DASHED",
    LINE_WORDS["trim"][0]: "CONTINUOUS",
    LINE_WORDS["shoulder"][0]: "CENTER",
    LINE_WORDS["floor"][0]: "CENTER",
    "waste": "CONTINUOUS",
    "side names": "CONTINUOUS",
    "check bar 100 mm": "CONTINUOUS",
}
LETTER_MM = 3.5


def write_dxf(found: Development, path: Path) -> None:
    """Write one end's layout to ``path``. MissingExtraError without ezdxf."""
    document = _new()
    space = document.modelspace()
    top = found.height
    space.add_line((0, 0), (found.width, 0), dxfattribs={"layer": "square end"})
    for u in [*(p.u for p in found.panels), found.width]:
        fold = {"layer": "folds at the long edges"}
        space.add_line((u, 0), (u, top), dxfattribs=fold)
    for line in found.lines:
        _chain(space, line.points, LINE_WORDS[line.name][0], closed=False)
    for polygon in found.waste:
        _chain(space, polygon, "waste", closed=True)
    for panel in found.panels:
        _words(space, in_words(panel.side), panel.u + panel.width / 2, top + LETTER_MM)
    bar = {"layer": "check bar 100 mm"}
    space.add_line((0, -12), (BAR_MM, -12), dxfattribs=bar)
    for x in (0.0, BAR_MM):
        space.add_line((x, -14), (x, -10), dxfattribs=bar)
    text = io.StringIO()
    document.write(text)
    write_whole(path, document.encode(text.getvalue()))


def _new() -> Drawing:
    try:
        from ezdxf import units
        from ezdxf.filemanagement import new
    except ImportError as error:
        raise MissingExtraError.of("DXF", "the library ezdxf", "draw") from error
    document = new("R2010", setup=["linetypes"])
    document.units = units.MM
    document.header["$MEASUREMENT"] = 1
    for name, kind in LAYERS.items():
        document.layers.add(name, linetype=kind)
    return document


def _chain(space: Modelspace, points: Array, layer: str, *, closed: bool) -> None:
    pairs = [(float(u), float(v)) for u, v in points]
    space.add_lwpolyline(pairs, close=closed, dxfattribs={"layer": layer})


def _words(space: Modelspace, text: str, x: float, y: float) -> None:
    from ezdxf.enums import TextEntityAlignment

    entity = space.add_text(text, height=LETTER_MM, dxfattribs={"layer": "side names"})
    entity.set_placement((x, y), align=TextEntityAlignment.BOTTOM_CENTER)
