"""FHIRPath: expressions of profiles, evaluated."""
