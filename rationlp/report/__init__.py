"""Stage 6: answers into tables, text, JSON and CSV. Made from result objects alone; nothing here
decides anything.
"""
