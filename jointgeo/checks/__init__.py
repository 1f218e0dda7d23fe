"""The library's own feasibility checks, one group a file; ``feasibility`` runs them all."""
