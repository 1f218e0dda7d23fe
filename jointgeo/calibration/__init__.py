"""Check-ups, test cuts and limits that correct a fixture file."""
