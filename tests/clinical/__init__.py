"""Visits without a clinical fault, and faults put into them, by somebody who never saw the rules.

Nothing here imports the package, its tables or its rules: what is clean and what is wrong is judged from publications
and from common practice of the trade alone, so that rules are held against something that they did not make themselves.
"""
