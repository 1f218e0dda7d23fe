"""Proof by cutting: rebuild every part from the settings alone, assemble, hold the laws of joints.

    fit = dry_fit(jointgeo.solve(joint, fixture).settings_dict())
    fit.verdict, fit.overlap_mm3, fit.gap_mm

Knows the settings JSON, numpy, attrs and the boolean kernel manifold3d; of jointgeo its
errors only, so that no formula is held against itself. ``command`` alone may know more.
Importing needs no kernel; the first dry fit does (extra ``proof``).
"""

from jointgeo.proof.export import export, glb_bytes, stl_bytes
from jointgeo.proof.finding import Finding
from jointgeo.proof.fit import DryFit, Placed, dry_fit
from jointgeo.proof.laws import Pair
from jointgeo.proof.mesh import Mesh
from jointgeo.proof.piece import PieceFit, fit_piece

__all__ = [
    "DryFit",
    "Finding",
    "Mesh",
    "Pair",
    "PieceFit",
    "Placed",
    "dry_fit",
    "export",
    "fit_piece",
    "glb_bytes",
    "stl_bytes",
]
