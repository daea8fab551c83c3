"""What of the program does not work, and who is told."""
