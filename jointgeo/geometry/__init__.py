"""Vectors, planes, clearances and searches: numbers only, nothing of wood."""
