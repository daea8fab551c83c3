"""After a storm: what to look at first, what it did, what it taught, and the papers that show it."""
