"""The cupboard of terminology: which codes a value set holds, from tables at hand or from a terminology server."""
