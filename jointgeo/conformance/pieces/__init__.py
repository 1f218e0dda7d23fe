"""The kit for piece types: every check, on every type, as for joint types.

    report = jointgeo.conformance.check_piece_type(MyStool)
    print(report)

or, in the plug-in's own tests, one test for each check:

    @jointgeo.conformance.every_piece_check(MyStool)
    def test_conforms(case):
        case()

Knows pieces, their solver and the dry fit, and no piece type by name.
"""
