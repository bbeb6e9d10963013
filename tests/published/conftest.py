"""How the tags beside published values are meant.

[R] recomputed with an independent library, named; [P] printed in the source named;
[M] from memory, not held against the printed source.
"""
