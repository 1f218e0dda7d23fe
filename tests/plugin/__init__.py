"""A third party's joint type, installed as its author would ship it.

The distribution under ``porch-half-lap`` is no part of jointgeo: its tests run where it is
installed, in the virtual environment that ``shop`` sets up, and not from here.
"""
