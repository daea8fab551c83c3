"""Core: from a forecast, the structures' limits and the open work to levels, a deadline, a start and an order."""
