"""The linear programme as plain data, its solver behind one door, energy, search and proof."""
