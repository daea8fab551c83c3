"""A whole farm in one file of open formats, and its way into another server."""
