"""Stage 5: questions that need a farm to be solved again, with something changed, and the answers
compared.
"""
