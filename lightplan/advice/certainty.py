"""How sure an order is: one scale of odds, the design's own steps (judgement)."""

SURE, LIKELY, TOLD = 0.8, 0.5, 0.2  # under the last nothing is ordered
