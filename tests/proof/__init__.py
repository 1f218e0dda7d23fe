"""Tests of the dry fit: joints cut and put together, right ones and wrong ones."""
