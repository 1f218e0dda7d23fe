"""The operation sheet: what is drawn is held against geometry, paper and a browser."""
