"""Tests of the service's clients."""
