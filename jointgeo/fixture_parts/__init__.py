"""The fixture as a design: parts worked out from its file, to mark out, rout and check.

    >>> import jointgeo
    >>> from jointgeo.fixture_parts import Wanted, fixture_part
    >>> quadrant = fixture_part(jointgeo.load_fixture("porch"), "tilt_quadrant", Wanted(screw_mm=8))
    >>> round(quadrant["slot_chord_mm"], 4), quadrant.figure("wall_mm").source
    (99.5622, 'assumed')

From below: ``model`` is what a part is, ``wanted`` what is asked of it, ``axis`` and ``bodies``
the fixture as a person sees it turn, ``slots`` and ``locking`` what every slot shares; ``swivel``,
``quadrant``, ``hinge``, ``beam``, ``spacer``, ``wedge`` and ``sweeps`` are the parts, ``catalogue``
all of them; ``drawing``, ``tiles``, ``page`` and ``dxf`` put them on paper, ``command`` is the way
in.
"""

from jointgeo.fixture_parts.catalogue import PARTS, Parts, fixture_part, fixture_parts
from jointgeo.fixture_parts.model import Figure, FixturePart
from jointgeo.fixture_parts.wanted import Drilled, Wanted

__all__ = [
    "PARTS",
    "Drilled",
    "Figure",
    "FixturePart",
    "Parts",
    "Wanted",
    "fixture_part",
    "fixture_parts",
]
