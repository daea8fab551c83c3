"""The calculation sheet: every quantity of a door in the wind with symbol, formula, source, inputs and result."""
