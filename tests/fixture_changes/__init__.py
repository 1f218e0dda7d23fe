"""Whole fixture changes: bars in a room, their joints, marks and members, and the dry fit of them all."""
