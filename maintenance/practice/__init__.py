"""The upkeep of the trade: the routines a farm starts with, in English and Spanish."""
