"""Parts, jobs, repairs and storms for other programs."""
