"""A door on paper: elevation, section, turning bar, marks."""
