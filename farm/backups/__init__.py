"""Copies of everything a farm has written down, and the way back from them."""
