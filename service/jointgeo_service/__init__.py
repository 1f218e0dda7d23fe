"""The HTTP service of jointgeo: ``jointgeo_service.app.create_app`` makes it, ``jointgeo serve``
runs it.

Imports nothing, so that ``jointgeo_service.command`` can be loaded for its help where the
extra ``service`` is not installed.
"""
