"""The conformance kit, held against a broken joint type for each of its checks."""
