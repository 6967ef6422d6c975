"""What other published standards ask for, beside AFRC (1993), by which the rations are worked out.

cattle_equations.py, sheep_equations.py   one published equation a function tables.py
                 printed tables, read between their rows and never beyond
them opinion.py                                one figure beside ours, and what of ours it is set
beside cattle.py, sheep.py                       which figures hold for which class and stage
"""
