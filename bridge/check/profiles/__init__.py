"""P: resources held against profiles."""
