"""Does a piece close: what the errors of its settings do round every closed frame of it.

Imports numpy, so nothing that solves a piece may import it; ``PieceAnswer.closing`` does when it is
asked for. ``ties`` reads joints and settings, ``frames`` finds the closed frames, ``sums`` adds up,
``spread`` knows the uncertainties, ``answer`` is what comes of it.
"""
