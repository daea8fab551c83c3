"""What wind, weight and time do to a hung door; the core's public names."""
