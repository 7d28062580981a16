"""The readings as equations: where each stands in the system, and what its doubt is made of."""
