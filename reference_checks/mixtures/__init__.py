"""Rules for mixtures against equilibrium theory, and that theory against a bed marched in time."""
