"""Keeps the plug-in's own tests out of this run; ``test_wheels`` runs them beside the wheel."""

collect_ignore = ["porch-half-lap"]
