"""Time on paper: the life of a part, the year, the film."""
