"""The joint type that is broken in one way at a time: that of the plug-in under tests/plugin.

Loaded from its file, so that nothing needs to be installed. ``HalfLap`` is the same with its
first example only: nearly all broken types are made from it, and each is put through every
check.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import attrs

__all__ = ["CornerHalfLap", "HalfLap"]

_FILE = Path(__file__).parent.parent / "plugin" / "porch-half-lap" / "porch_half_lap.py"


def _load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("porch_half_lap", _FILE)
    if spec is None or spec.loader is None:
        raise ImportError(str(_FILE))
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # attrs looks annotations up there
    spec.loader.exec_module(module)
    return module


CornerHalfLap: Any = _load().CornerHalfLap


@attrs.frozen
class HalfLap(CornerHalfLap):
    @classmethod
    def examples(cls) -> tuple[Any, ...]:
        return (cls(**CornerHalfLap.examples()[0].to_dict()),)
