"""The year as a wheel and as a list."""
