"""One builder for each kind of answer: from what was solved to its story."""
