"""How a piece is put together: the fewest joints closed at one stroke, and which way all goes.

``contacts`` finds where two bars of a drawing bear on each other, which leaves the directions in
which the joint comes apart; ``strokes`` finds the steps by scipy's mixed-integer solver, from the
extra ``assembly``, and is loaded when ``PieceAnswer.assembly`` is asked for; ``answer`` is what
comes of it, ``words`` says it.
"""
