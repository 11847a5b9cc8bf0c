"""The consistency audit: is the same thing always coded the same way, by everyone, on the right side?"""
