"""A whole piece of furniture: bars that stand in the room, joints between them, and what follows.

    >>> from jointgeo.pieces.solve import solve_piece

Knows joint types by their contract only, and solved ends; no job file, no page, no service.
"""
