"""How old parts are in every measure, and the sun they have taken."""
