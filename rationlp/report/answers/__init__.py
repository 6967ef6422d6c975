"""What each command answers, as one frozen record: the result with all that is told beside it.

`report/json_answer.py` writes any of them as JSON and makes the schema from the same records.
"""
