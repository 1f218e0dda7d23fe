"""Parameters: unit, range and help said once; tables and lengths read from text."""
