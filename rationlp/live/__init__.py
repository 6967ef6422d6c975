"""The live page: a farm in the browser of its own machine, over the engine and the folder that
every command uses.
"""
