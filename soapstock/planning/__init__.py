"""What to pour and when: demand with its width, the plan as an integer program, filling cups.

Pure: it is told the day, the shop's limits and what was sold, and knows no ledger.
"""
