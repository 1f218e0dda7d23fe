"""The piece types that ship. Each enters through its entry point, like anybody else's."""
