"""What of a fixture to change, and what that brings."""
