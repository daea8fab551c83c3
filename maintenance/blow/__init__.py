"""Before the wind: a farm's rows and forecast in, its storm with levels, deadline, start and work out."""
