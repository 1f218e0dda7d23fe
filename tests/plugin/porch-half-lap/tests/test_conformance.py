"""The kit of jointgeo on the joint type of this distribution."""

from porch_half_lap import CornerHalfLap

from jointgeo.conformance import every_check


@every_check(CornerHalfLap)
def test_conforms(case):
    case()
