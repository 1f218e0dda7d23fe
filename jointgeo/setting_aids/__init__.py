"""Setting an angle better than a scale can: spacers, offsets, wedges, gauge blocks."""
