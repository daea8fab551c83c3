"""Numbers in Spanish as they are written in Mexico, Central America and the United States: with a decimal point."""

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
