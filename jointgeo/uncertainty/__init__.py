"""How far off a cut may be: error model, budget and tolerances."""
