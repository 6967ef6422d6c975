"""Lab sheets and price lists as they come: read line by line, understood, shown, written into the
farm's files. Nothing is guessed in silence: what may be read in two ways is asked.
"""
