"""A part as a DXF file at full size, for whoever plots, laser-cuts or routs templates.

Knows parts and the library ezdxf (extra ``draw``). Millimetres; (0, 0) is the machine frame's own
place in the part's view. Arcs are arcs, about their own centres. What a line is for is its layer.
"""

from __future__ import annotations

from io import StringIO
from math import degrees
from pathlib import Path as File
from typing import TYPE_CHECKING, Any

from jointgeo.errors import MissingExtraError
from jointgeo.fixture_parts.drawing import PIN_MM, STYLE
from jointgeo.fixture_parts.model import FixturePart, Hole
from jointgeo.geometry.swept import Bow, Stroke
from jointgeo.output import write_whole

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

__all__ = ["BAR_LAYER", "WORDS_LAYER", "part_dxf", "write_part_dxf"]

BAR_LAYER, WORDS_LAYER = "check bar 100 mm", "words"
LETTER_MM = 3.5
_KIND = {"cut away": "DASHED", "ghost": "PHANTOM"}


def write_part_dxf(part: FixturePart, path: File) -> None:
    """Write ``part_dxf`` to ``path``, whole or not at all. MissingExtraError without ezdxf."""
    write_whole(path, part_dxf(part))


def part_dxf(part: FixturePart) -> bytes:
    """The file's content, the time of writing in it. MissingExtraError without ezdxf."""
    document = _new()
    space = document.modelspace()
    low = [0.0, 0.0]
    for shape in part.shapes:
        layer: dict[str, Any] = {"layer": shape.layer}
        if isinstance(shape, Hole):
            pin = PIN_MM if shape.layer == "trammel centre" else 0.0
            diameter = shape.diameter_mm or pin
            space.add_point(shape.centre, dxfattribs=layer)
            if diameter:
                space.add_circle(shape.centre, diameter / 2, dxfattribs=layer)
            continue
        for piece in shape.pieces:
            _piece(space, piece, layer)
            low = [min(a, b) for a, b in zip(low, piece.start, strict=True)]
    for note in part.notes:
        _words(space, note.words, note.at)
    for span in part.spans:
        (a, b), (c, d) = span.start, span.end
        _words(space, span.words, ((a + c) / 2, (b + d) / 2))
    y = low[1] - 30
    bar = {"layer": BAR_LAYER}
    space.add_line((0, y), (100, y), dxfattribs=bar)
    for x in (0, 100):
        space.add_line((x, y - 2), (x, y + 2), dxfattribs=bar)
    _words(space, f"{part.title}; seen {part.seen_from}; millimetres", (0, y - 10))
    stream = StringIO()
    document.write(stream)
    return document.encode(stream.getvalue())


def _piece(space: Modelspace, piece: Stroke | Bow, layer: dict[str, Any]) -> None:
    if isinstance(piece, Stroke):
        space.add_line(piece.start, piece.end, dxfattribs=layer)
        return
    low, high = sorted((degrees(piece.start_rad), degrees(piece.end_rad)))
    space.add_arc(piece.centre, piece.radius, low, high, dxfattribs=layer)


def _words(space: Modelspace, text: str, at: tuple[float, float]) -> None:
    entity = space.add_text(text, height=LETTER_MM, dxfattribs={"layer": WORDS_LAYER})
    entity.set_placement(at)


def _new() -> Drawing:
    try:
        from ezdxf import units
        from ezdxf.filemanagement import new
    except ImportError as error:
        raise MissingExtraError.of("DXF", "the library ezdxf", "draw") from error
    document = new("R2010", setup=["linetypes"])
    document.units = units.MM
    document.header["$MEASUREMENT"] = 1
    for name in (*STYLE, BAR_LAYER, WORDS_LAYER):
        document.layers.add(name, linetype=_KIND.get(name, "CONTINUOUS"))
    return document
