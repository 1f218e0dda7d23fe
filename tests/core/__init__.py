"""The library core held against published values, reference libraries and hand geometry.

What is tested of one joint type stands in ``test_type_<name>*.py`` and nowhere else, so
that a type can be taken out together with its own tests.
"""
