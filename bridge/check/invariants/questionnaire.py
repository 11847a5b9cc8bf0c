"""V: constraints, to come."""
