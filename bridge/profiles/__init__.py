"""The cupboard of profiles: what definitions ask for beyond the standard, from packages to compiled tables."""
