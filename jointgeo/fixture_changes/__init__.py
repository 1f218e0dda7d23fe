"""A fixture as something to be changed: the smallest change that lets more be cut, and versions.

Knows all below it; nothing of pages and commands but its own.
"""

from jointgeo.fixture_changes.changes import KINDS, Allowed, allowed, usual
from jointgeo.fixture_changes.found import Curve, Found, Margin, Option
from jointgeo.fixture_changes.search import what_would_do

__all__ = [
    "KINDS",
    "Allowed",
    "Curve",
    "Found",
    "Margin",
    "Option",
    "allowed",
    "usual",
    "what_would_do",
]
