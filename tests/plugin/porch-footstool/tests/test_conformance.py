"""The kit of jointgeo on the piece type of this distribution."""

from porch_footstool import Footstool

from jointgeo.conformance import every_piece_check


@every_piece_check(Footstool)
def test_conforms(case):
    case()
