"""Keeps the plug-ins' own tests out of this run; they run beside the wheels."""

collect_ignore = ["porch-footstool", "porch-half-lap"]
