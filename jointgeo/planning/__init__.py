"""One end on one fixture: how it stands, how it is turned, where it is cut."""
