"""Furniture as a job file: members, ends and hands, solved and reported."""
