"""Every table of the program, one function a table: from result objects to plain rows, the same
for screen and file.
"""
