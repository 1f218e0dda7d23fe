"""The DXF of the layout, read back by ezdxf."""

from __future__ import annotations

import builtins
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from jointgeo.errors import MissingExtraError
from jointgeo.sheet.develop import develop
from jointgeo.sheet.dxf import LAYERS, write_dxf

from .samples import sheet_of


@pytest.mark.parametrize(("job", "number"), [("bench", 1), ("chair", 1), ("planter-six", 2)])
def test_what_is_read_back_is_the_layout(job: str, number: int, tmp_path: Path) -> None:
    found = develop(sheet_of(job).ends[number - 1].solution.plan)
    path = tmp_path / "layout.dxf"
    write_dxf(found, path)
    document = ezdxf.readfile(path)  # type: ignore[attr-defined]  # re-exported without a mark
    assert not document.audit().errors
    assert document.units == 4  # $INSUNITS: millimetres
    space = document.modelspace()
    assert {e.dxf.layer for e in space} <= set(LAYERS)
    layers = {"trim": "trim line", "shoulder": "shoulder line", "floor": "bottom of the cuts"}
    for line in found.lines:
        drawn = [
            np.array(list(e.get_points("xy")))
            for e in space.query(f'LWPOLYLINE[layer=="{layers[line.name]}"]')
        ]
        assert any(np.allclose(d, line.points, atol=1e-9) for d in drawn)
    waste = space.query('LWPOLYLINE[layer=="waste"]')
    assert len(waste) == len(found.waste)
    assert all(e.closed for e in waste)
    (end,) = space.query('LINE[layer=="square end"]')
    assert end.dxf.end.x - end.dxf.start.x == pytest.approx(found.width)
    folds = sorted(e.dxf.start.x for e in space.query('LINE[layer=="folds at the long edges"]'))
    np.testing.assert_allclose(folds, [*(p.u for p in found.panels), found.width])
    bar = max(
        space.query('LINE[layer=="check bar 100 mm"]'), key=lambda e: e.dxf.end.x - e.dxf.start.x
    )
    assert bar.dxf.end.x - bar.dxf.start.x == pytest.approx(100.0)
    names = [e.dxf.text for e in space.query("TEXT")]
    assert names == [p.side.replace("_", " ") for p in found.panels]


def test_without_ezdxf_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def missing(name: str, *args: Any, **kwargs: Any) -> Any:
        if name.startswith("ezdxf"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", missing)
    found = develop(sheet_of("bench").ends[0].solution.plan)
    with pytest.raises(MissingExtraError, match=r"pip install '\.\[draw\]'"):
        write_dxf(found, tmp_path / "x.dxf")
    assert not list(tmp_path.iterdir())
