"""The answer for one joint on one fixture."""
