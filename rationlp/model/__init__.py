"""Stage 3: the linear programme as plain data, its solver behind one door, the energy requirement,
search and proof.
"""
