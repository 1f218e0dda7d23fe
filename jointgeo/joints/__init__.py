"""What a joint is: drawing, contract, checks of its own, and the registry of types."""
